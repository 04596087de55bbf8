"""From a photo of a handstand to where she stands over the hand, and which joint carries."""

from dataclasses import replace

import numpy as np
import pytest

from chordline.application.forecast.stance import read_stance, stance_in_words
from chordline.conventions import Side
from chordline.core.body.measurement import Measurement, Trust
from posed_handstands import SEGMENTS, STATURE_M, TABLES, body
from posed_photos import photo_of


def handstand(*, lean_deg: float, near: Side = "left", roll_deg: float = 0.0) -> Measurement:
    return photo_of((lean_deg,) * 4, near=near, roll_deg=roll_deg)


def expected_pct(lean_deg: float) -> float:
    """Where the chain itself says the centre of mass stands, the mean over the tables."""
    shares = []
    for table in TABLES:
        chain = body(table).chain(np.zeros(1))
        leans = np.full((1, 4), np.deg2rad(lean_deg))
        shares.append(float(chain.support.share_pct(chain.locate_mass_centre(leans))[0]))
    return float(np.mean(shares))


@pytest.mark.parametrize("lean_deg", [-4.0, -2.0, 0.0, 3.0])
@pytest.mark.parametrize("near", ["left", "right"])
def test_balance_is_that_of_the_chain_from_either_side(lean_deg: float, near: Side) -> None:
    reading = read_stance(handstand(lean_deg=lean_deg, near=near), SEGMENTS, stature_m=STATURE_M)
    assert reading is not None
    assert reading.balance_pct.value == pytest.approx(expected_pct(lean_deg), abs=4.0)


def test_a_rolled_phone_changes_nothing_where_the_card_tells_of_it() -> None:
    level, rolled = (
        read_stance(handstand(lean_deg=-2.0, roll_deg=roll), SEGMENTS, stature_m=STATURE_M)
        for roll in (0.0, 7.0)
    )
    assert level is not None
    assert rolled is not None
    assert rolled.balance_pct.value == pytest.approx(level.balance_pct.value, abs=0.1)


@pytest.mark.parametrize(
    ("lean_deg", "said"),
    [
        (-2.2, "She stands over the hand"),
        (12.0, "she falls to her front"),
        (-16.0, "over the fingers"),
    ],
)
def test_words_say_to_which_side_she_falls(lean_deg: float, said: str) -> None:
    reading = read_stance(handstand(lean_deg=lean_deg), SEGMENTS, stature_m=STATURE_M)
    assert reading is not None
    words = stance_in_words(reading, bow_max_pct=0.2)
    assert said in words[0]
    assert "±" in words[0]
    assert "carry most" in words[1] or "carries most" in words[1]
    assert len(words) == 2, "of a straight line nobody asks which joint bows it"


def test_fingers_that_point_to_her_front_are_no_handstand() -> None:
    wrong = handstand(lean_deg=0.0)
    wrist, hand = wrong.landmarks["wrist"], wrong.landmarks["hand"]
    turned = replace(hand, x_px=2.0 * wrist.x_px - hand.x_px)
    reading = read_stance(
        replace(wrong, landmarks={**wrong.landmarks, "hand": turned}),
        SEGMENTS,
        stature_m=STATURE_M,
    )
    assert reading is not None
    assert "points to her front" in stance_in_words(reading, bow_max_pct=0.2)[0]


def test_a_bowed_line_says_who_makes_the_bow() -> None:
    bowed = handstand(lean_deg=-2.0)
    marks = dict(bowed.landmarks)
    marks["shoulder"] = replace(marks["shoulder"], x_px=marks["shoulder"].x_px - 40.0)
    reading = read_stance(replace(bowed, landmarks=marks), SEGMENTS, stature_m=STATURE_M)
    assert reading is not None
    assert "The bow is made by the shoulders" in stance_in_words(reading, bow_max_pct=5.0)[2]


@pytest.mark.parametrize(
    "change",
    [
        {"scale": None},
        {"trust": Trust(False, ("cut off",))},
        {"test": "prone-overhead"},
        {"landmarks": {}},
    ],
)
def test_a_photo_that_cannot_say_says_nothing(change: dict) -> None:
    told = replace(handstand(lean_deg=0.0), **change)
    assert read_stance(told, SEGMENTS, stature_m=STATURE_M) is None
