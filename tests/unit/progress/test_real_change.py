import numpy as np
import pytest

from chordline.core.capacity.observed import Held, Observed, gather
from chordline.core.progress.change import Answer, Change, answer, find_changes, judge_change
from chordline.core.progress.change_measured import compare_measures
from chordline.core.progress.timeline import (
    Marker,
    ProgressModel,
    ScreenAt,
    Step,
    Timeline,
    plain_timeline,
)
from progress_squads import CHANGE_RULES, HAND, MODEL, K, N, place

HIP = place("hip_extension_deg")
SHOULDER = place("shoulder_flexion_deg")
HIP_TESTS = ("prone-sides", "prone-out", "prone-overhead", "prone-raised")


def hips(day: int, value_deg: float, marker: Marker = HAND, sd_deg: float = 2.0) -> ScreenAt:
    """All lying tests show the same hip opening."""
    observed = [
        Observed(
            f"{test}.jpg", test, ("hip_opening_deg",), np.array([value_deg]), np.eye(1) * sd_deg**2
        )
        for test in HIP_TESTS
    ]
    return ScreenAt(day, gather(MODEL.capacities, observed), marker)


def of(changes: tuple[Change, ...], capacity: int) -> Change:
    return changes[capacity]


def changes_of(*screens: ScreenAt) -> tuple[Change, ...]:
    return find_changes(MODEL, plain_timeline(MODEL, screens), CHANGE_RULES).since_first


def test_one_screen_has_no_change_and_says_so() -> None:
    found = find_changes(MODEL, plain_timeline(MODEL, (hips(0, -10.0),)), CHANGE_RULES)
    assert found.since_last == found.since_first == ()
    assert "needs two" in found.note


def test_hips_that_open_by_25_degrees_are_really_better_and_not_worse() -> None:
    change = of(changes_of(hips(0, -30.0), hips(60, -5.0)), HIP)
    assert change.better is Answer.YES
    assert change.worse is Answer.NO
    assert change.gain > CHANGE_RULES.worth[HIP]
    assert (change.from_day, change.to_day) == (0, 60)


def test_the_same_change_backwards_is_really_worse() -> None:
    back = of(changes_of(hips(0, -5.0), hips(60, -30.0)), HIP)
    assert back.worse is Answer.YES
    assert back.better is Answer.NO
    assert back.gain < -CHANGE_RULES.worth[HIP]
    assert back.p_worse_by_worth > 0.9 > 0.1 > back.p_better_by_worth


def test_a_change_within_error_is_not_yet_known() -> None:
    change = of(changes_of(hips(0, -15.0), hips(60, -12.0)), HIP)
    assert change.told
    assert change.better is Answer.NOT_YET_KNOWN


def test_what_was_not_measured_is_not_yet_known_however_short_the_time() -> None:
    """Within a week hardly anything can change; but nobody looked."""
    for days in (7, 60):
        change = of(changes_of(hips(0, -15.0), hips(days, 0.0)), SHOULDER)
        assert not change.told
        assert change.better is change.worse is Answer.NOT_YET_KNOWN


def test_hard_work_without_a_measured_change_is_no_change() -> None:
    """Training tells what to expect, only measures tell what happened."""
    drift = np.zeros(N)
    drift[HIP] = -30.0
    heavy = Timeline((hips(0, -15.0), hips(60, -15.0)), (Step(drift, np.full(N, 1.0)),))
    change = of(find_changes(MODEL, heavy, CHANGE_RULES).since_last, HIP)
    assert change.better is not Answer.YES
    assert change.gain == pytest.approx(0.0, abs=1.0)


def test_hard_work_and_nobody_looked_is_not_yet_known() -> None:
    drift = np.full(N, -30.0)
    nothing = ScreenAt(60, gather(MODEL.capacities, []), HAND)
    heavy = Timeline((hips(0, -15.0), nothing), (Step(drift, np.full(N, 1.0)),))
    change = of(find_changes(MODEL, heavy, CHANGE_RULES).since_last, HIP)
    assert change.better is Answer.NOT_YET_KNOWN
    assert change.p_better == pytest.approx(0.5)


def test_work_that_was_expected_to_help_does_not_hide_a_loss() -> None:
    drift = np.zeros(N)
    drift[HIP] = -10.0
    lost = Timeline((hips(0, -5.0), hips(60, -30.0)), (Step(drift, np.full(N, 1.0)),))
    assert of(find_changes(MODEL, lost, CHANGE_RULES).since_last, HIP).worse is Answer.YES


def test_since_last_and_since_first_look_at_different_screens() -> None:
    timeline = plain_timeline(MODEL, (hips(0, -30.0), hips(60, -5.0), hips(120, -5.0)))
    found = find_changes(MODEL, timeline, CHANGE_RULES)
    first, last = of(found.since_first, HIP), of(found.since_last, HIP)
    assert (first.from_day, last.from_day) == (0, 60)
    assert first.better is Answer.YES
    assert last.better is not Answer.YES
    between = of(judge_change(MODEL, timeline, CHANGE_RULES, earlier=0, later=1), HIP)
    assert between.to_day == 60
    assert first.gain == pytest.approx(between.gain + last.gain)


@pytest.mark.parametrize(("earlier", "later"), [(1, 0), (0, 0), (0, 2), (-1, 1)])
def test_a_change_needs_an_earlier_and_a_later_screen(earlier: int, later: int) -> None:
    timeline = plain_timeline(MODEL, (hips(0, -30.0), hips(60, -5.0)))
    with pytest.raises(ValueError, match="earlier and a later"):
        judge_change(MODEL, timeline, CHANGE_RULES, earlier=earlier, later=later)


def test_a_capacity_that_cannot_wander_has_not_changed() -> None:
    fixed = ProgressModel(MODEL.capacities, np.zeros(N), MODEL.misfit_share)
    found = find_changes(
        fixed, plain_timeline(fixed, (hips(0, -30.0), hips(60, -5.0))), CHANGE_RULES
    )
    assert all(abs(one.gain) < 1e-9 and one.sd < 1e-6 for one in found.since_last)


@pytest.mark.parametrize(
    ("p_any", "p_by_worth", "expected"),
    [
        (0.95, 0.1, Answer.YES),
        (0.94, 0.5, Answer.NOT_YET_KNOWN),
        (0.5, 0.06, Answer.NOT_YET_KNOWN),
        (0.5, 0.04, Answer.NO),
    ],
)
def test_the_answer_follows_the_two_probabilities(
    p_any: float, p_by_worth: float, expected: Answer
) -> None:
    assert answer(p_any, p_by_worth, sure=0.95) is expected


def one_test(day: int, value_deg: float, marker: Marker = HAND) -> ScreenAt:
    take = Observed(
        "a.jpg", "prone-sides", ("hip_opening_deg",), np.array([value_deg]), np.eye(1) * 4.0
    )
    return ScreenAt(day, gather(MODEL.capacities, [take]), marker)


def test_the_raw_change_has_the_error_of_measuring_twice_without_the_models() -> None:
    marker = Marker("hand", np.array([0.0, 3.0, 0.0]), np.full(K, 0.75))
    pair = (one_test(0, -20.0, marker), one_test(9, -12.0, marker))
    (change,) = compare_measures(MODEL, *pair, confidence=0.95)
    repeat_sd = MODEL.capacities.by_measure["prone-sides", "hip_opening_deg"][1].repeat_sd
    expected = np.sqrt(2.0 * (4.0 + repeat_sd**2 + 0.25 * 9.0))
    assert change.change == pytest.approx(8.0)
    assert change.sd == pytest.approx(expected)
    assert change.detectable == pytest.approx(1.959964 * expected)
    assert change.beyond_error == (change.detectable < 8.0)


def test_nothing_of_an_offset_lasts_between_two_markers() -> None:
    same = compare_measures(MODEL, one_test(0, 0.0), one_test(9, 0.0), confidence=0.95)[0]
    colleague = Marker("colleague", HAND.offset_sds, HAND.lasting_shares)
    pair = (one_test(0, 0.0), one_test(9, 0.0, colleague))
    other = compare_measures(MODEL, *pair, confidence=0.95)[0]
    assert other.sd > same.sd


def test_two_takes_of_a_test_make_its_raw_change_surer() -> None:
    twice = ScreenAt(
        9,
        gather(
            MODEL.capacities,
            [
                Observed(f, "prone-sides", ("hip_opening_deg",), np.array([v]), np.eye(1) * 4.0)
                for f, v in (("a.jpg", -11.0), ("b.jpg", -13.0))
            ],
        ),
        HAND,
    )
    (once,) = compare_measures(MODEL, one_test(0, -20.0), one_test(9, -12.0), confidence=0.95)
    (better,) = compare_measures(MODEL, one_test(0, -20.0), twice, confidence=0.95)
    assert better.change == pytest.approx(8.0)
    assert better.sd < once.sd


def test_only_what_both_screens_have_is_compared_and_capped_holds_are_not() -> None:
    held = [Held("clock", "hold-front", 60.0, 0.05, True)]
    capped = ScreenAt(9, gather(MODEL.capacities, [], held), HAND)
    short = ScreenAt(
        0, gather(MODEL.capacities, [], [Held("clock", "hold-front", 20.0, 0.05, False)]), HAND
    )
    assert compare_measures(MODEL, short, capped, confidence=0.95) == ()
    assert compare_measures(MODEL, one_test(0, 0.0), short, confidence=0.95) == ()


def test_a_hold_that_came_to_its_cap_counts_as_a_gain() -> None:
    def hold(day: int, seconds: float, *, capped: bool) -> ScreenAt:
        held = [Held("clock", "hold-front", seconds, 0.05, capped)]
        return ScreenAt(day, gather(MODEL.capacities, [], held), HAND)

    change = of(
        changes_of(hold(0, 15.0, capped=False), hold(60, 60.0, capped=True)),
        place("front_chain_s"),
    )
    assert change.better is Answer.YES
