"""Balance over the hand as an observation of the capacities: the centre of mass, not the feet."""

from dataclasses import replace

import numpy as np
import pytest

from chordline.application.find_limits import FindLimits, ScreenInput
from chordline.application.findings import Findings
from chordline.application.forecast.stance import read_lean
from chordline.catalogue.segments import our_segments
from chordline.core.body.measurement import Measurement
from chordline.core.capacity.observed import LEAN_MEASURE
from chordline.core.mechanics.parts import locate_mass_centre
from posed_handstands import SEGMENTS, STATURE_M, TABLES, body, chain_points
from posed_photos import photo_of
from screen_stories import CATALOGUE

FIND = FindLimits(CATALOGUE, our_segments())
#: Arms to the front, legs back over: a bow whose feet are far off the vertical of the hand.
BOWED_DEG = (8.0, -4.0, -18.0, -26.0)


def judged(one: Measurement) -> Findings:
    return FIND(ScreenInput("Ida", 1, "today", (one,)))


def balance(found: Findings) -> float:
    at = found.belief.states.index("hand_balance_deg")
    return float(found.belief.mean[at])


@pytest.mark.parametrize("lean_deg", [-8.0, 0.0, 5.0])
def test_the_lean_is_that_of_the_chain_s_centre_of_mass(lean_deg: float) -> None:
    lean = read_lean(photo_of((lean_deg,) * 4), SEGMENTS, stature_m=STATURE_M)
    assert lean is not None
    expected = []
    for table, parts in zip(TABLES, SEGMENTS.all_parts(), strict=True):
        chain = body(table).chain(np.zeros(1))
        points = chain_points(chain, body(table).lengths, np.full((1, 4), np.deg2rad(lean_deg)))
        x, y = locate_mass_centre(parts, points)[0]
        middle = float(np.ravel(chain.support.heel_m + chain.support.knuckles_m)[0]) / 2.0
        expected.append(np.rad2deg(np.arctan2(x - middle, y)))
    assert lean.value == pytest.approx(float(np.mean(expected)), abs=0.5)


def test_feet_off_the_vertical_do_not_speak_against_balance_over_the_hand() -> None:
    """The feet say 11°; the centre of mass stands over the hand."""
    over = photo_of(BOWED_DEG, measures={"hip": 0.0, "off_vertical": 11.5})
    lean = read_lean(over, SEGMENTS, stature_m=STATURE_M)
    assert lean is not None
    assert abs(lean.value) < 4.0
    by_feet = judged(replace(over, scale=None))
    assert balance(judged(over)) < balance(by_feet) - 2.0


def test_a_lean_of_the_whole_body_is_told_as_her_centre_of_mass() -> None:
    found = judged(photo_of((18.0,) * 4, measures={"hip": 0.0, "off_vertical": 1.0}))
    assert [one.capacity for one in found.limiters] == ["hand_balance_deg"]
    (reason,) = found.limiters[0].reasons
    assert reason.measure == LEAN_MEASURE
    assert "centre of mass 2" in reason.sentence
    assert "to her front of the middle of the hand" in reason.sentence


def test_one_sway_counts_once() -> None:
    both = photo_of((18.0,) * 4, measures={"hip": 0.0, "off_vertical": 18.0})
    alone = photo_of((18.0,) * 4, measures={"hip": 0.0})
    assert balance(judged(both)) == pytest.approx(balance(judged(alone)))


def test_where_it_cannot_be_read_the_line_s_lean_counts() -> None:
    unscaled = replace(
        photo_of((0.0,) * 4, measures={"hip": 0.0, "off_vertical": 20.0}), scale=None
    )
    found = judged(unscaled)
    assert [one.capacity for one in found.limiters] == ["hand_balance_deg"]
    assert found.limiters[0].reasons[0].measure == "off_vertical_deg"


def test_a_photo_cut_at_the_hands_says_nothing_of_it() -> None:
    whole = photo_of((18.0,) * 4)
    cut = replace(
        whole, landmarks={name: one for name, one in whole.landmarks.items() if name != "wrist"}
    )
    assert read_lean(cut, SEGMENTS, stature_m=STATURE_M) is None


def test_nothing_is_reckoned_with_it_before_the_photo_is_taken() -> None:
    rows = FIND.model.by_test["handstand"]
    assert LEAN_MEASURE not in {FIND.model.rows[i].measure for i in rows}
