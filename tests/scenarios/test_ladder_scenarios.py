"""What the ladder says of screens, as small stories. Common practice, no source.

The stories' degrees and all thresholds are ours: no published cut-off for any rung was found.
"""

from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from typing import Any

import pytest

from chordline.application.findings import Findings
from chordline.application.findings_json import findings_to_json
from chordline.application.training.climb import Climbed, ClimbedRung, climb
from chordline.application.training.climb_known import Known, known_of_screen
from chordline.application.training.climb_words import (
    WHOSE_THRESHOLDS,
    missing_in_words,
    next_in_words,
    open_in_words,
    standing_in_words,
)
from chordline.application.training.records import SkillRecord
from chordline.catalogue.training import load_training
from chordline.core.body.measurement import Measure, Measurement
from chordline.core.planning.ladder import Standing
from screen_stories import CATALOGUE, AtLeast, judge, story

TRAINING = load_training(CATALOGUE)
DAY = date(2025, 9, 1)
#: A screen of somebody aligned, every capacity tested.
ALIGNED: dict[str, Any] = {
    "prone_sides": {},
    "prone_rounded": {"upper_back": -30},
    "prone_overhead": {},
    "prone_raised": {},
    "prone_active": {},
    "supine_sides": {"seam": 8},
    "supine_braced": {"seam": 0},
    "supine_overhead": {"seam": 8},
    "handstand": {"ear": 20, "off_vertical": 1, "seam": 2},
    "dish_back": {"ear": 20},
    "dish_overhead": {"neck": 30},
}
STRONG: dict[str, Any] = {"hold_front": AtLeast(90), "hold_back": AtLeast(90)}
#: Everything below the free handstand.
BELOW = ("wall-push", "kick-up", "dish-supported", "dish-back", "support-tall")


def climbed(
    *,
    holds: dict[str, Any] | None = None,
    had: Sequence[str] = (),
    signs: tuple[str, ...] = (),
    age_y: int | None = 12,
    bow_pct: float = 1.5,
    **tests: Any,
) -> Climbed:
    screen = story(holds=holds, flags=signs, **tests)
    found: Findings = judge(screen)
    known = known_of_screen(
        findings_to_json(found),
        measurements=[with_bow(one, bow_pct) for one in screen.measurements],
        held=screen.held,
        day=DAY,
        catalogue=CATALOGUE,
        training=TRAINING,
    )
    her = Known(
        gymnast_id=1,
        name="Ada",
        age_y=age_y,
        screened_on=DAY,
        capacities=known.capacities,
        measures=known.measures,
        put_aside=known.put_aside,
        holds=known.holds,
        signs=signs,
        skills={rung: SkillRecord(1, rung, DAY, "Coach") for rung in had},
    )
    return climb(her, catalogue=CATALOGUE, training=TRAINING)


def with_bow(measurement: Measurement, bow_pct: float) -> Measurement:
    """The story's handstand with the bow that its photo shows; the capacity model has no row."""
    if measurement.test != "handstand":
        return measurement
    bow = Measure(value=bow_pct, sd=0.8, unit="pct", systematic={})
    return replace(measurement, measures={**measurement.measures, "bow_max_pct": bow})


def rung(ladder: Climbed, id: str) -> ClimbedRung:
    return next(one for one in ladder.rungs if one.id == id)


def standing(ladder: Climbed, id: str) -> Standing:
    return rung(ladder, id).standing


def missing(ladder: Climbed, id: str) -> str:
    one = rung(ladder, id)
    return " ".join(missing_in_words(one, ladder, catalogue=CATALOGUE, training=TRAINING))


def test_aligned_and_strong_is_ready_up_to_the_handstand() -> None:
    ladder = climbed(holds=STRONG, had=BELOW, **ALIGNED)
    up_to = [one for one in ladder.rungs if one.entry.place <= 180]
    assert {one.standing for one in up_to} == {"had", "ready"}
    assert standing(ladder, "handstand-free") == "ready"
    assert next_in_words(ladder) == "Next: Handstand, free (ready)."


def test_without_a_coachs_word_only_what_leans_on_no_other_rung_is_ready() -> None:
    ladder = climbed(holds=STRONG, **ALIGNED)
    for one in ladder.rungs:
        if one.entry.place <= 180:
            assert one.standing == ("ready" if not one.entry.rungs else "close"), one.id
    assert "First: Handstand at the wall, pushed tall" in missing(ladder, "handstand-free")


def test_short_hip_flexors_hold_back_the_giant_and_are_named() -> None:
    tests = {**ALIGNED, "prone_sides": {"hip": -20}, "supine_sides": {"seam": 34}}
    tests["supine_braced"] = {"seam": 24}
    had = ("giant-straps", "cast-handstand")
    ladder = climbed(holds=STRONG, had=had, **tests)
    giant = rung(ladder, "giant-backward")
    assert giant.standing == "not_yet"
    assert "Hip flexors: short by" in missing(ladder, "giant-backward")
    assert "asked: short by at most 9°" in missing(ladder, "giant-backward")
    assert giant.judged.p is not None
    assert giant.judged.p < 0.05
    assert "kneeling-lunge-tucked" in giant.meanwhile
    # The same girl with hips that open is not held back.
    assert standing(climbed(holds=STRONG, had=had, **ALIGNED), "giant-backward") in (
        "ready",
        "close",
    )


def test_closed_shoulders_mean_tripods_instead_of_handstands() -> None:
    closed = {"shoulder": -24}
    tests = {**ALIGNED, "prone_overhead": closed, "prone_raised": closed, "prone_active": closed}
    tests["supine_overhead"] = {"seam": 18, **closed}
    tests["handstand"] = {"ear": 20, "off_vertical": 3, "seam": 12, **closed}
    tests["dish_overhead"] = {"neck": 30, **closed}
    ladder = climbed(holds=STRONG, **tests)
    assert standing(ladder, "tripod") == "ready"
    wall = rung(ladder, "wall-handstand")
    assert wall.standing == "not_yet"
    assert "Shoulders, passive: closed by" in missing(ladder, "wall-handstand")
    assert {one for one in wall.meanwhile if one.startswith("tripod")}
    assert not {one for one in wall.meanwhile if "handstand" in one}
    assert "shoulder_flexion_deg" in TRAINING.exercises[wall.meanwhile[0]].feeds


def test_wrist_pain_bars_everything_on_the_hands_and_defers_to_a_clinician() -> None:
    ladder = climbed(holds=STRONG, had=("tripod", *BELOW), signs=("wrist_pain",), **ALIGNED)
    for one in ladder.rungs:
        if "weight_on_hands" in one.entry.loads:
            assert one.standing == "barred", one.id
            assert standing_in_words(one, CATALOGUE) == "not while: wrist pain"
    assert rung(ladder, "tripod").said is not None
    barred = set(TRAINING.bars["wrist_pain"].loads)
    for one in ladder.rungs:
        for exercise in one.meanwhile:
            assert not barred & set(TRAINING.exercises[exercise].loads), (one.id, exercise)
    assert standing(ladder, "line-prone") == "ready"


def test_a_sign_that_stops_a_rungs_test_bars_the_rung_whatever_it_loads() -> None:
    ladder = climbed(holds=STRONG, had=("dish-overhead",), signs=("wrist_pain",), **ALIGNED)
    swing = rung(ladder, "small-swing")
    assert not set(TRAINING.bars["wrist_pain"].loads) & set(swing.entry.loads)
    assert "hold-front" in CATALOGUE.referrals["wrist_pain"].stops
    assert swing.standing == "barred"


@pytest.mark.parametrize("sign", list(CATALOGUE.referrals))
def test_no_sign_leaves_the_giant_or_the_handstand_open(sign: str) -> None:
    ladder = climbed(holds=STRONG, had=("giant-straps", *BELOW), signs=(sign,), **ALIGNED)
    assert standing(ladder, "giant-backward") == "barred"
    assert standing(ladder, "handstand-free") == "barred"


def test_pain_or_numbness_bars_the_whole_ladder() -> None:
    for sign in ("pain", "numbness"):
        ladder = climbed(holds=STRONG, signs=(sign,), **ALIGNED)
        assert {one.standing for one in ladder.rungs} == {"barred"}
        assert "licensed clinician" in next_in_words(ladder)


def test_a_value_that_clears_but_not_with_its_error_is_close_not_ready() -> None:
    tests = {**ALIGNED, "prone_sides": {"hip": -8}}
    ladder = climbed(holds=STRONG, **tests)
    line = rung(ladder, "line-prone")
    gate = line.asked[0].judged
    assert gate.gate.value is not None
    assert gate.gate.least is not None
    assert gate.gate.value.value > gate.gate.least
    assert gate.gate.value.value - 1.645 * gate.gate.value.sd < gate.gate.least
    assert line.standing == "close"
    told = missing(ladder, "line-prone")
    assert "hips: closed by 8° ± " in told
    assert "asked: closed by at most 10°, clear but not with its ±." in told


def test_a_handstand_that_bows_is_not_ready_whichever_way_it_bows() -> None:
    def free(bow_pct: float) -> Standing:
        return standing(
            climbed(holds=STRONG, had=BELOW, bow_pct=bow_pct, **ALIGNED), "handstand-free"
        )

    assert free(1.5) == "ready"
    assert free(4.5) == free(-4.5) == "close"
    assert free(9.0) == free(-9.0) == "not_yet"


def test_a_hold_must_clear_with_a_childs_form_of_the_day() -> None:
    def hold(seconds: float) -> Standing:
        holds = {"hold_front": seconds, "hold_back": AtLeast(90)}
        return standing(climbed(holds=holds, **ALIGNED), "held-face-down")

    assert hold(15 * 1.5) == "ready"
    assert hold(15 * 1.2) == "close"
    assert hold(9) == "not_yet"


def test_a_hold_that_was_stopped_too_early_cannot_tell_and_says_how_long() -> None:
    ladder = climbed(holds={"hold_front": AtLeast(16)}, **ALIGNED)
    held = rung(ladder, "held-face-down")
    assert held.standing == "cannot_tell"
    (told,) = open_in_words(held, CATALOGUE)
    assert "stopped in shape too early to tell; let it go on until 22 s" in told


def test_untested_cannot_tell_and_asks_for_the_test_that_would() -> None:
    ladder = climbed(prone_sides={})
    assert standing(ladder, "line-prone") == "ready"
    dish = rung(ladder, "dish-overhead")
    assert dish.standing == "cannot_tell"
    told = " ".join(open_in_words(dish, CATALOGUE))
    assert "Shoulders, passive: not tested yet. To decide: on the stomach, arms lifted" in told
    assert "Neck: not tested yet. To decide: dish, arms over the ears" in told
    held = " ".join(open_in_words(rung(ladder, "held-face-down"), CATALOGUE))
    assert "Hold face down: no seconds taken yet; asked: at least 15 s." in held


def test_nobody_screened_is_told_nothing_but_what_to_test() -> None:
    ladder = climbed()
    assert {one.standing for one in ladder.rungs} <= {"cannot_tell", "not_yet"}
    assert {one.standing for one in ladder.rungs if not one.entry.rungs} == {"cannot_tell"}
    assert ladder.next is None
    assert next_in_words(ladder).startswith("Next: the tests")


def test_hips_or_pelvis_undecided_is_not_called_close() -> None:
    ladder = climbed(prone_sides={"hip": -9})
    (told,) = open_in_words(rung(ladder, "pelvis-tucked"), CATALOGUE)
    assert standing(ladder, "pelvis-tucked") == "cannot_tell"
    assert "To decide: on the back, stomach drawn in" in told


def test_an_open_sign_asks_for_no_test_that_it_stops() -> None:
    tests = {name: shown for name, shown in ALIGNED.items() if name != "handstand"}
    ladder = climbed(holds={}, signs=("back_pain_arching",), **tests)
    for one in ladder.rungs:
        for asked in one.unknown:
            assert asked.ask_test not in ("hold-front", "hold-back", "handstand"), one.id
    assert "Not to be tested while a reported sign is open" in " ".join(
        open_in_words(rung(ladder, "held-face-down"), CATALOGUE)
    )


def test_age_is_asked_for_and_said() -> None:
    young = climbed(holds=STRONG, had=BELOW, age_y=6, **ALIGNED)
    assert standing(young, "handstand-free") == "not_yet"
    assert "From 7 years on; she is 6." in missing(young, "handstand-free")
    unknown = climbed(holds=STRONG, had=BELOW, age_y=None, **ALIGNED)
    assert standing(unknown, "handstand-free") == "cannot_tell"
    told = open_in_words(rung(unknown, "handstand-free"), CATALOGUE)
    assert told == ("From 7 years on; her birth date is not known.",)


def test_what_she_has_stays_hers_and_what_her_shape_lacks_is_told_beside_it() -> None:
    closed = {"shoulder": -24}
    tests = {**ALIGNED, "prone_overhead": closed, "prone_raised": closed, "prone_active": closed}
    ladder = climbed(holds=STRONG, had=("wall-handstand",), **tests)
    assert standing(ladder, "wall-handstand") == "had"
    assert "Shoulders, passive: closed by" in missing(ladder, "wall-handstand")


def test_the_thresholds_are_said_to_be_the_clubs_own() -> None:
    assert "No published cut-off" in WHOSE_THRESHOLDS
    assert "club's own" in WHOSE_THRESHOLDS


def test_no_sentence_speaks_of_the_person() -> None:
    closed = {"shoulder": -24}
    tests = {**ALIGNED, "prone_raised": closed, "prone_overhead": closed}
    for ladder in (climbed(holds=STRONG, **ALIGNED), climbed(**tests), climbed()):
        for one in ladder.rungs:
            told = " ".join(
                (
                    *missing_in_words(one, ladder, catalogue=CATALOGUE, training=TRAINING),
                    *open_in_words(one, CATALOGUE),
                )
            ).lower()
            for word in ("fail", "bad", "weak", "poor", "score", "rank", "best", "worst", "stiff"):
                assert word not in told.split(), (one.id, word)
