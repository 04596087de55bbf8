"""What is put aside before any of it is believed, and why."""

import numpy as np
import pytest

from chordline.core.capacity.observed import HOLD_MEASURE, Gathered, Held, Observed, gather
from screen_stories import FIND

MODEL = FIND.model
HIP = "hip_opening_deg"


def take(
    hip: float, *, source: str = "a.jpg", test: str = "prone-sides", variance: float = 9.0
) -> Observed:
    return Observed(source, test, (HIP,), np.array([hip]), np.array([[variance]]))


def whys(gathered: Gathered) -> dict[tuple[str, str], str]:
    return {(fault.source, fault.measure): fault.why for fault in gathered.faults}


def test_a_good_take_becomes_one_row_with_the_models_own_variance_added() -> None:
    gathered = gather(MODEL, [take(-12.0)])
    row = MODEL.by_measure["prone-sides", HIP][1]
    assert gathered.faults == ()
    assert gathered.evidence.values.tolist() == [-12.0]
    assert gathered.evidence.noise[0, 0] == pytest.approx(9.0 + row.model_sd**2 + row.repeat_sd**2)
    assert gathered.evidence.matrix[0].tolist() == [
        row.loads.get(state, 0.0) for state in MODEL.states
    ]


def test_errors_that_go_together_within_a_photo_stay_together() -> None:
    names = ("shoulder_opening_deg", HIP)
    both = Observed("a.jpg", "prone-raised", names, np.zeros(2), np.array([[4.0, -1.5], [-1.5, 4]]))
    assert gather(MODEL, [both]).evidence.noise[0, 1] == pytest.approx(-1.5)


@pytest.mark.parametrize("variance", [0.0, -1.0, np.nan, np.inf])
def test_an_impossible_error_is_put_aside(variance: float) -> None:
    gathered = gather(MODEL, [take(-12.0, variance=variance)])
    assert len(gathered.evidence.values) == 0
    assert "no measurement is that sure" in whys(gathered)["a.jpg", HIP]


@pytest.mark.parametrize("value", [np.nan, np.inf])
def test_a_value_that_is_no_number_is_put_aside(value: float) -> None:
    gathered = gather(MODEL, [take(value)])
    assert len(gathered.evidence.values) == 0
    assert "no number" in whys(gathered)["a.jpg", HIP]


def test_one_bad_measure_leaves_the_others_of_its_photo() -> None:
    names = ("shoulder_opening_deg", HIP)
    both = Observed("a.jpg", "prone-raised", names, np.array([-5.0, np.nan]), np.eye(2))
    gathered = gather(MODEL, [both])
    assert [label.measure for label in gathered.labels] == ["shoulder_opening_deg"]


def test_an_unknown_test_is_named() -> None:
    gathered = gather(MODEL, [take(-12.0, test="prone-lifted")])
    assert len(gathered.evidence.values) == 0
    assert "does not know this test" in whys(gathered)["a.jpg", ""]


def test_a_measure_without_a_row_is_not_used_and_no_fault() -> None:
    knee = Observed("a.jpg", "prone-sides", ("knee_opening_deg",), np.zeros(1), np.eye(1))
    gathered = gather(MODEL, [knee])
    assert len(gathered.evidence.values) == 0
    assert gathered.faults == ()


def test_takes_that_contradict_each_other_are_both_named_and_neither_is_used() -> None:
    gathered = gather(MODEL, [take(-25.0), take(2.0, source="b.jpg")])
    assert len(gathered.evidence.values) == 0
    assert set(whys(gathered)) == {("a.jpg", HIP), ("b.jpg", HIP)}
    for why in whys(gathered).values():
        assert "a.jpg and b.jpg say -25 and 2" in why


def test_an_impossible_take_contradicts_nobody() -> None:
    gathered = gather(MODEL, [take(-25.0, variance=0.0), take(2.0, source="b.jpg")])
    assert gathered.evidence.values.tolist() == [2.0]
    assert set(whys(gathered)) == {("a.jpg", HIP)}


def test_takes_that_agree_within_error_are_both_used() -> None:
    gathered = gather(MODEL, [take(-12.0), take(-6.0, source="b.jpg")])
    assert gathered.evidence.values.tolist() == [-12.0, -6.0]
    assert gathered.faults == ()


def test_two_tests_cannot_contradict_each_other() -> None:
    assert gather(MODEL, [take(-25.0), take(2.0, source="b.jpg", test="prone-out")]).faults == ()


def hold(seconds: float, *, capped: bool = False, rel_sd: float = 0.05) -> Held:
    return Held("holds.csv", "hold-front", seconds, rel_sd, capped)


def test_a_broken_hold_is_a_measure_and_a_capped_one_a_bound() -> None:
    broken = gather(MODEL, [], [hold(30.0)])
    assert broken.evidence.values == pytest.approx([np.log(30.0)])
    assert broken.bounds == ()
    capped = gather(MODEL, [], [hold(60.0, capped=True)])
    assert len(capped.evidence.values) == 0
    assert [bound.above for bound in capped.bounds] == pytest.approx([np.log(60.0)])


def test_labels_name_measures_first_then_bounds() -> None:
    gathered = gather(MODEL, [take(-3.0)], [hold(60.0, capped=True)])
    assert [label.measure for label in gathered.labels] == [HIP, HOLD_MEASURE]


@pytest.mark.parametrize(
    "bad", [hold(0.0), hold(-3.0), hold(np.nan), hold(np.inf), hold(30.0, rel_sd=0.0)]
)
def test_a_time_that_no_hold_can_last_is_put_aside(bad: Held) -> None:
    gathered = gather(MODEL, [], [bad])
    assert len(gathered.evidence.values) == 0
    assert ("holds.csv", HOLD_MEASURE) in whys(gathered)
