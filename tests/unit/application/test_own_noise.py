"""A club's own errors: shrunk to our defaults, laid over the catalogue, and told."""

from dataclasses import replace
from datetime import UTC, datetime

import numpy as np
import pytest

from chordline.application.find_limits import FindLimits
from chordline.application.repeatability.lay_noise import SOURCE, lay_noise, renew_marking
from chordline.application.repeatability.noise_json import noise_from_json, noise_to_json
from chordline.application.repeatability.own_noise import (
    DEFAULT_FREEDOM,
    OwnError,
    OwnNoise,
    propose_noise,
)
from chordline.application.repeatability.records import NoiseRecord, Reading, Study, Task
from chordline.application.repeatability.study_results import StudyResults, find_results
from chordline.application.repeatability.study_words import (
    abstained_in_words,
    again_sd,
    anybody_sd,
    error_in_words,
    measure_in_words,
    takes_wanted,
)
from chordline.application.repeatability.takes import TakeFigures, TakesOfTest
from chordline.catalogue.segments import our_segments
from chordline.core.progress.abstained import Abstained
from chordline.core.progress.repeatability_pooled import pool_within_sd
from screen_stories import CATALOGUE, judge, photo, story
from screen_stories import FIND as OURS

HIP = "hip_opening_deg"
NOW = datetime(2025, 9, 1, 8, tzinfo=UTC)
ROW = CATALOGUE.model["prone-overhead"][HIP]


def study(photos: int, *, twice: bool = True) -> Study:
    return Study(1, 1, 7, twice, tuple(range(photos)), "Kim", NOW)


def tasks(coaches: dict[str, float], *, photos: int, sd_deg: float, seed: int) -> list[Task]:
    """Coaches with offsets [deg] who mark every photo twice, each time a little differently."""
    rng = np.random.default_rng(seed)
    true = rng.normal(-10.0, 8.0, photos)
    return [
        Task(
            id=0,
            study_id=1,
            photo_id=number,
            coach=coach,
            place=1,
            turn=turn,
            marks={},
            readings={
                HIP: Reading(true[number] + offset + rng.normal(0.0, sd_deg), 2.0, 0.8, "deg")
            },
            done_at=NOW,
        )
        for coach, offset in coaches.items()
        for number in range(photos)
        for turn in (1, 2)
    ]


def results(**how: object) -> StudyResults:
    said = {"coaches": {"Kim": 0.0, "Lea": 0.0}, "photos": 20, "sd_deg": 2.0, "seed": 1, **how}
    return find_results(study(int(said["photos"])), tasks(**said), CATALOGUE)  # type: ignore[arg-type]


def pairs(sd_deg: float, *, count: int, seed: int, mark_sd: float = 0.0) -> tuple[TakesOfTest, ...]:
    """A test taken twice by `count` gymnasts who change by `sd_deg` each time."""
    rng = np.random.default_rng(seed)
    true = rng.normal(-10.0, 8.0, count)
    first, second = (true + rng.normal(0.0, np.hypot(sd_deg, mark_sd), count) for _ in range(2))
    figures = TakeFigures(
        test="prone-overhead",
        measure=HIP,
        label="Hips",
        unit="deg",
        firsts=first,
        seconds=second,
        pooled=pool_within_sd(first, second),
        hand_mark_sd=mark_sd,
        auto_mark_sd=0.0,
    )
    title = CATALOGUE.tests["prone-overhead"].title
    return (TakesOfTest("prone-overhead", title, count, max(0, 10 - count), (figures,)),)


def only(noise: OwnNoise, kind: str) -> OwnError:
    (one,) = [one for one in noise.errors if one.kind == kind]
    return one


def recorded(noise: OwnNoise) -> NoiseRecord:
    return NoiseRecord(1, 1, noise_to_json(noise), True, "Kim", NOW)


# --- what a study says --------------------------------------------------------------------------


def test_hands_twice_as_unsteady_as_we_assume_widen_the_error_of_a_mark() -> None:
    noise = propose_noise(results(sd_deg=4.0, photos=60), (), CATALOGUE)
    marking = only(noise, "marking")
    assert marking.default_sd == CATALOGUE.setting("hand_mark_sd_px")
    assert marking.own_sd == pytest.approx(2.0 * marking.default_sd, rel=0.15)
    assert marking.default_sd < marking.sd < marking.own_sd


def test_steadier_hands_narrow_it_but_never_below_what_the_default_still_weighs() -> None:
    marking = only(propose_noise(results(sd_deg=0.0), (), CATALOGUE), "marking")
    assert marking.own_sd == 0.0
    assert marking.sd == pytest.approx(marking.default_sd * np.sqrt(1.0 - marking.own_share))
    assert marking.low < marking.sd < marking.high
    assert marking.sd > 0.0


def test_coaches_who_agree_do_not_narrow_where_a_joint_is() -> None:
    noise = propose_noise(results(), (), CATALOGUE)
    for kind in ("definition", "offset"):
        one = only(noise, kind)
        assert one.sd == one.default_sd
        assert "may all err alike" in error_in_words(one)


def test_coaches_who_differ_throughout_widen_where_a_joint_is() -> None:
    six = dict(zip("ABCDEF", (-9, -5, -1, 1, 5, 9), strict=True))
    noise = propose_noise(results(coaches=six), (), CATALOGUE)
    offset = only(noise, "offset")
    assert (offset.name, offset.default_sd) == (
        "hip_offset_deg",
        CATALOGUE.nuisances["hip_offset_deg"].hand_sd,
    )
    assert offset.own_sd == pytest.approx(np.std([-9, -5, -1, 1, 5, 9], ddof=1), rel=0.1)
    assert offset.sd > 2.0 * offset.default_sd
    assert only(noise, "definition").sd > CATALOGUE.setting("hand_definition_pct")


def test_ten_pairs_weigh_about_as_much_as_the_default() -> None:
    one = only(propose_noise(None, pairs(3.0, count=10, seed=2), CATALOGUE), "take")
    assert one.default_sd == ROW.repeat_sd
    assert one.own_share == pytest.approx(9.0 / (9.0 + DEFAULT_FREEDOM - 2.0))


def test_what_the_marks_scatter_is_no_change_of_hers() -> None:
    takes = pairs(3.0, count=400, seed=2, mark_sd=4.0)
    one = only(propose_noise(None, takes, CATALOGUE), "take")
    assert one.own_sd == pytest.approx(3.0, rel=0.2)
    # Where the club's hands scatter more than our default, more is taken off.
    both = propose_noise(results(sd_deg=4.0), takes, CATALOGUE)
    assert only(both, "take").own_sd < one.own_sd


@pytest.mark.parametrize("count", [2, 9])
def test_too_few_pairs_change_nothing_and_say_what_it_takes(count: int) -> None:
    takes = pairs(3.0, count=count, seed=2)
    assert propose_noise(None, takes, CATALOGUE).errors == ()
    wanted = takes_wanted(takes, first="prone-overhead")
    assert ("eight more gymnasts" if count == 2 else "one more gymnast") in wanted


def test_nobody_taken_twice_is_told_where_to_begin() -> None:
    none = replace(pairs(3.0, count=2, seed=2)[0], pairs=0, missing=10, measures=())
    assert takes_wanted([none], first="prone-overhead") == (
        "Photograph ten gymnasts twice in “On the stomach, arms over the ears on the floor”: "
        "4 minutes."
    )


# --- too few, left out --------------------------------------------------------------------------


def test_nine_photos_say_nothing_and_say_so() -> None:
    few = results(photos=9)
    assert not few.says_something
    assert propose_noise(few, (), CATALOGUE).errors == ()
    (one,) = few.measures
    assert measure_in_words(one) == ("Cannot tell yet: too few data: no coaches; need one.",)
    assert not any(coach.counts for coach in few.coaches)


def test_a_coach_who_stopped_early_does_not_spoil_what_the_others_say() -> None:
    done = tasks({"Kim": 0.0, "Lea": 0.0}, photos=20, sd_deg=2.0, seed=1)
    early = [replace(one, coach="Jo") for one in done[:6]]
    alone, with_her = (find_results(study(20), which, CATALOGUE) for which in (done, done + early))
    assert with_her.measures[0].sources == alone.measures[0].sources
    assert {one.coach: one.counts for one in with_her.coaches} == {
        "Jo": False,
        "Kim": True,
        "Lea": True,
    }


def test_a_coach_who_left_counts_until_she_is_left_out() -> None:
    done = tasks({"Kim": 0.0, "Lea": 8.0}, photos=20, sd_deg=2.0, seed=1)
    both = find_results(study(20), done, CATALOGUE)
    (pair, *_) = both.measures[0].pairs
    assert "Kim reads" in " ".join(measure_in_words(both.measures[0]))
    assert (pair.first, pair.second) == ("Kim", "Lea")
    alone = find_results(study(20), done, CATALOGUE, without=["lea"])
    assert all(one.by_one for one in alone.measures[0].pairs)
    assert propose_noise(alone, (), CATALOGUE).without == ("Lea",)


def test_a_photo_that_one_coach_has_not_marked_is_left_out_and_counted() -> None:
    done = tasks({"Kim": 0.0, "Lea": 0.0}, photos=20, sd_deg=2.0, seed=1)
    some = [one for one in done if not (one.coach == "Lea" and one.photo_id in (3, 4))]
    between = find_results(study(20), some, CATALOGUE).measures[0].between
    assert not isinstance(between, Abstained)
    assert (between.agreement.left_out, between.agreement.mean_squares.subjects) == (2, 18)


@pytest.mark.parametrize("seed", range(8))
def test_another_coach_is_never_told_to_be_surer_than_the_same_one(seed: int) -> None:
    (one,) = results(seed=seed, photos=12).measures
    assert not isinstance(one.sources, Abstained)
    again, anybody = again_sd(one.sources), anybody_sd(one.sources)
    assert again is not None
    assert anybody is not None
    assert again <= anybody
    alone = results(coaches={"Kim": 0.0}).measures[0]
    assert not any("Whoever" in said for said in measure_in_words(alone))
    assert "Two readings by one coach" in measure_in_words(alone)[-1]


@pytest.mark.parametrize(
    ("why", "sentence"),
    [
        (Abstained("too-few-pairs", have=1, need=10), "too few data: one pair; need ten"),
        (Abstained("one-coach", have=1, need=2), "too few data: one coach; need two"),
        (Abstained("no-spread"), "the photos do not differ, so nothing can be told apart by them"),
    ],
)
def test_what_is_missing_is_a_sentence(why: Abstained, sentence: str) -> None:
    assert abstained_in_words(why) == sentence


# --- in use -------------------------------------------------------------------------------------


def noise_of(*errors: OwnError) -> OwnNoise:
    return OwnNoise(errors)


def error(kind: str, name: str, sd: float, *, test: str = "") -> OwnError:
    return OwnError(kind, name, test, name, "deg", 1.0, sd, 30.0, sd, sd / 2, sd * 2, 0.75)  # type: ignore[arg-type]


def test_errors_go_through_json_and_back() -> None:
    noise = propose_noise(results(), pairs(3.0, count=12, seed=2), CATALOGUE)
    again = noise_from_json(noise_to_json(noise))
    assert noise_to_json(again) == noise_to_json(noise)
    assert [one.name for one in again.errors] == [one.name for one in noise.errors]
    with pytest.raises(ValueError, match="schema"):
        noise_from_json({"schema": "chordline.noise/9", "errors": [], "study": None, "without": []})


def test_own_errors_are_laid_over_the_catalogue_with_their_reason_and_another_version() -> None:
    laid = lay_noise(
        CATALOGUE,
        recorded(
            noise_of(
                error("marking", "hand_mark_sd_px", 5.5),
                error("offset", "hip_offset_deg", 2.5),
                error("take", HIP, 4.5, test="prone-overhead"),
                error("take", HIP, 4.5, test="a test that is gone"),
            )
        ),
    )
    assert laid.setting("hand_mark_sd_px") == 5.5
    assert laid.settings["hand_mark_sd_px"].source == SOURCE
    assert "Kim, 1 Sep 2025" in laid.settings["hand_mark_sd_px"].reason
    assert laid.nuisances["hip_offset_deg"].hand_sd == 2.5
    assert laid.nuisances["hip_offset_deg"].sd == CATALOGUE.nuisances["hip_offset_deg"].sd
    assert laid.model["prone-overhead"][HIP].repeat_sd == 4.5
    assert laid.version.startswith(f"{CATALOGUE.version}+own-")
    same = lay_noise(CATALOGUE, recorded(noise_of(error("definition", "hand_definition_pct", 1.0))))
    assert same.settings == CATALOGUE.settings
    other = lay_noise(CATALOGUE, recorded(noise_of(error("marking", "hand_mark_sd_px", 5.6))))
    assert other.version != laid.version
    assert lay_noise(CATALOGUE, None) is CATALOGUE


SHORT = story(prone_overhead={"hip": -12, "shoulder": -15})


@pytest.mark.parametrize(("repeat_sd", "wider"), [(8.0, True), (0.1, False)])
def test_take_to_take_error_in_use_widens_and_narrows_what_is_found(
    repeat_sd: float, wider: bool
) -> None:
    laid = lay_noise(
        CATALOGUE, recorded(noise_of(error("take", HIP, repeat_sd, test="prone-overhead")))
    )
    ours, own = judge(SHORT), FindLimits(laid, our_segments())(SHORT)
    sd = {
        one.name: (one.sd, other.sd)
        for one, other in zip(ours.capacities, own.capacities, strict=True)
    }
    before, after = sd["hip_extension_deg"]
    assert (after > before) is wider
    assert after != before
    assert sd["hand_balance_deg"][0] == sd["hand_balance_deg"][1]
    assert own.catalogue_version != ours.catalogue_version


def test_a_hand_s_error_in_use_rescales_what_was_marked_with_our_default() -> None:
    in_use = lay_noise(CATALOGUE, recorded(noise_of(error("marking", "hand_mark_sd_px", 8.0))))
    default_px = CATALOGUE.setting("hand_mark_sd_px")
    marked = photo("prone-overhead", {"hip": -12, "shoulder": -15})
    ours = replace(
        marked,
        landmarks={
            n: replace(m, sd_px=default_px, origin="hand") for n, m in marked.landmarks.items()
        },
    )
    renewed = renew_marking(ours, ours=CATALOGUE, in_use=in_use)
    assert renewed.measures[HIP].sd == pytest.approx(ours.measures[HIP].sd * 8.0 / default_px)
    np.testing.assert_allclose(renewed.covariance, ours.covariance * (8.0 / default_px) ** 2)
    assert {m.sd_px for m in renewed.landmarks.values()} == {8.0}
    assert renewed.measures[HIP].value == ours.measures[HIP].value
    automatic = replace(
        ours, landmarks={n: replace(m, origin="auto") for n, m in ours.landmarks.items()}
    )
    assert renew_marking(automatic, ours=CATALOGUE, in_use=in_use) == automatic
    own_error = replace(
        ours, landmarks={n: replace(m, sd_px=2.5) for n, m in ours.landmarks.items()}
    )
    assert renew_marking(own_error, ours=CATALOGUE, in_use=in_use) == own_error
    # Renewed once, it carries another error and is not renewed again.
    assert renew_marking(renewed, ours=CATALOGUE, in_use=in_use) == renewed


def test_the_judge_of_our_own_numbers_is_left_as_it_was() -> None:
    lay_noise(CATALOGUE, recorded(noise_of(error("take", HIP, 9.0, test="prone-overhead"))))
    assert OURS.model.by_measure["prone-overhead", HIP][1].repeat_sd == ROW.repeat_sd
