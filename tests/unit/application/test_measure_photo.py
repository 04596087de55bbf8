"""Measuring one photo: what is asked, what is refused, what is carried into the record."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from application_doubles import PRONE, FakeCards, FakePoses, FakeReader, body_of, marks_of
from chordline.application.measure_photo import MeasurePhoto, MeasureRequest
from chordline.application.measurement_json import measurement_from_json, measurement_to_json
from chordline.application.ports import DetectedCard
from chordline.catalogue.loader import load_catalogue
from chordline.core.geometry.camera import Camera, card_points, project
from chordline.errors import BodyNotFoundError, MarksError, RefusedInputError, WrongUseError
from drawn_trunk import Trunk, draw
from stick_body import VIEWS

CATALOGUE = load_catalogue()
PHOTO = Path("girl.jpg")
#: The hip of PRONE by hand: atan2 of the two segments, no code of ours.
HIP_DEG = -np.rad2deg(
    np.arctan2(628.0 - 600.0, 1060.0 - 898.0) + np.arctan2(622.0 - 600.0, 898.0 - 680.0)
)


def measuring(*, poses: FakePoses | None = None, cards: tuple[int, ...] = ()) -> MeasurePhoto:
    return MeasurePhoto(FakeReader(), FakeCards(cards), poses, CATALOGUE)


def by_hand(**more: object) -> MeasureRequest:
    return MeasureRequest("prone-overhead", marks=marks_of(PRONE), **more)


def test_hips_off_the_floor_close_the_hip_angle() -> None:
    measured = measuring()(PHOTO, by_hand())
    assert measured.measures["hip_opening_deg"].value == pytest.approx(HIP_DEG, abs=0.01)
    assert measured.near_side == "left"
    assert measured.front == "down"
    assert measured.front_origin == "test"


def test_the_automatic_finder_gives_the_same_angle_in_full_photo_pixels() -> None:
    measured = measuring(poses=FakePoses((body_of(PRONE),)))(
        PHOTO, MeasureRequest("prone-overhead")
    )
    assert measured.measures["hip_opening_deg"].value == pytest.approx(HIP_DEG, abs=0.01)
    assert measured.landmarks["hip"].x_px == pytest.approx(898.0)
    assert measured.landmarks["hip"].origin == "auto"
    assert measured.trust.accepted


def test_the_card_gives_scale_and_the_phones_place() -> None:
    measured = measuring(cards=(13,))(PHOTO, by_hand())
    assert measured.card is not None
    assert measured.card.id == 13
    assert measured.scale is not None
    assert measured.scale.m_per_px == pytest.approx(0.16 / 84.0, rel=1e-6)


def test_random_and_systematic_errors_stay_apart() -> None:
    measure = measuring()(PHOTO, by_hand()).measures["shoulder_opening_deg"]
    assert set(measure.systematic) == {
        "yaw",
        "pitch",
        "near_side_parallax",
        "landmark_definition",
    }
    assert measure.total_sd > measure.sd > 0.0


def test_the_far_sides_marks_are_taken_when_the_test_says_that_side_is_near() -> None:
    wrong = body_of(PRONE, near="right")
    left = wrong.sides_xy_px[0] + [0.0, 5.0]
    body = replace(wrong, sides_xy_px=np.stack([left, wrong.sides_xy_px[1]]))
    measured = measuring(poses=FakePoses((body,)))(PHOTO, MeasureRequest("prone-overhead"))
    assert measured.near_side == "left"
    assert measured.landmarks["hip"].y_px == pytest.approx(605.0)


def test_a_girl_on_her_back_is_no_prone_test() -> None:
    body = body_of(PRONE, near="right", confidence=0.97)
    measured = measuring(poses=FakePoses((body,)))(PHOTO, MeasureRequest("prone-overhead"))
    assert not measured.trust.accepted
    assert any("check the test" in reason for reason in measured.trust.reasons)
    said = measuring(poses=FakePoses((body,)))(
        PHOTO, MeasureRequest("prone-overhead", near_side="left")
    )
    assert said.trust.accepted


def test_an_unknown_test_names_the_known_ones() -> None:
    with pytest.raises(WrongUseError, match="prone-raised"):
        measuring()(PHOTO, MeasureRequest("prone-lifted", marks=marks_of(PRONE)))


def test_without_weights_hand_marks_are_asked_for() -> None:
    with pytest.raises(BodyNotFoundError, match="set by hand"):
        measuring()(PHOTO, MeasureRequest("prone-overhead"))


@pytest.mark.parametrize(
    ("name", "place", "told"),
    [
        ("hip", (2000.0, 600.0), "outside the picture"),
        ("hip", (898.0, -1.0), "outside the picture"),
        ("pelvis", (898.0, 600.0), "no landmark"),
    ],
)
def test_faulty_marks_are_named(name: str, place: tuple[float, float], told: str) -> None:
    with pytest.raises(MarksError, match=told):
        measuring()(PHOTO, MeasureRequest("prone-overhead", marks=marks_of({**PRONE, name: place})))


def test_missing_marks_are_named() -> None:
    places = {name: place for name, place in PRONE.items() if name not in ("hip", "hand", "wrist")}
    with pytest.raises(MarksError, match="hip, hand"):
        measuring()(PHOTO, MeasureRequest("prone-overhead", marks=marks_of(places)))


def test_the_wrist_stands_in_for_a_missing_hand_and_the_record_says_so() -> None:
    places = {name: place for name, place in PRONE.items() if name != "hand"}
    measured = measuring()(PHOTO, MeasureRequest("prone-overhead", marks=marks_of(places)))
    assert "bow_max_pct" in measured.measures
    assert any("hand is not marked" in caution for caution in measured.cautions)


def test_a_contradiction_of_near_and_front_is_refused() -> None:
    with pytest.raises(RefusedInputError, match="contradict"):
        measuring()(PHOTO, by_hand(near_side="left", front="up"))


def test_a_front_along_the_body_is_refused() -> None:
    with pytest.raises(RefusedInputError, match="along her body"):
        measuring()(PHOTO, by_hand(front="left"))


def test_an_unsure_guess_of_a_handstand_is_asked_back() -> None:
    upside_down = {name: (y, x) for name, (x, y) in PRONE.items()}
    turned = {name: (x, 1700.0 - y) for name, (x, y) in upside_down.items()}
    body = body_of(turned, near="left", confidence=0.7)
    use_case = MeasurePhoto(FakeReader(1600, 2000), FakeCards(), FakePoses((body,)), CATALOGUE)
    measured = use_case(PHOTO, MeasureRequest("handstand"))
    assert not measured.trust.accepted
    assert any("which side is near" in reason for reason in measured.trust.reasons)
    said = use_case(PHOTO, MeasureRequest("handstand", near_side="left"))
    assert said.trust.accepted


def test_a_standing_body_is_no_lying_test() -> None:
    standing = {name: (y, x) for name, (x, y) in PRONE.items()}
    use_case = MeasurePhoto(
        FakeReader(1600, 2000), FakeCards(), FakePoses((body_of(standing),)), CATALOGUE
    )
    measured = use_case(PHOTO, MeasureRequest("prone-overhead"))
    assert any("check the test" in reason for reason in measured.trust.reasons)


def test_of_two_people_the_one_who_lies_is_measured() -> None:
    coach = body_of({name: (y - 300.0, x - 300.0) for name, (x, y) in PRONE.items()})
    measured = measuring(poses=FakePoses((coach, body_of(PRONE))))(
        PHOTO, MeasureRequest("prone-overhead")
    )
    assert measured.landmarks["hip"].x_px == pytest.approx(898.0)


def test_two_who_lie_are_asked_for_and_person_chooses() -> None:
    other = body_of(PRONE, shift_px=150.0)
    use_case = measuring(poses=FakePoses((other, body_of(PRONE))))
    with pytest.raises(BodyNotFoundError, match="say which one"):
        use_case(PHOTO, MeasureRequest("prone-overhead"))
    chosen = use_case(PHOTO, MeasureRequest("prone-overhead", person=2))
    assert chosen.landmarks["hip"].x_px == pytest.approx(1048.0)


def test_a_person_who_is_not_there_is_refused() -> None:
    with pytest.raises(BodyNotFoundError, match="1 found"):
        measuring(poses=FakePoses((body_of(PRONE),)))(
            PHOTO, MeasureRequest("prone-overhead", person=3)
        )


def test_nobody_is_a_sentence_that_says_what_to_do() -> None:
    with pytest.raises(BodyNotFoundError, match="from the side"):
        measuring(poses=FakePoses(()))(PHOTO, MeasureRequest("prone-overhead"))


def test_a_body_at_the_edge_may_be_cut_off() -> None:
    body = body_of(PRONE, shift_px=-425.0)
    measured = measuring(poses=FakePoses((body,)))(PHOTO, MeasureRequest("prone-overhead"))
    assert any("cut off" in reason for reason in measured.trust.reasons)


def test_of_several_cards_the_expected_one_is_taken() -> None:
    measured = measuring(cards=(11, 13))(PHOTO, by_hand(expected_card=13))
    assert measured.card is not None
    assert measured.card.id == 13
    assert any("cards 11, 13" in caution for caution in measured.cautions)


class CardSeenFrom:
    """A card on the floor, 3 m away, seen by a level phone at a height."""

    def __init__(self, height_m: float) -> None:
        camera = Camera.of_photo(1600, 1200, 26.0)
        corners = np.column_stack([card_points(0.16) + np.array([0.0, 0.105]), np.zeros(4)])
        drop = np.array([-1.0, height_m, 3.0])
        self._corners = project(camera, np.diag([1.0, -1.0, -1.0]), drop, corners)

    def read(self, rgb: np.ndarray) -> tuple[DetectedCard, ...]:
        return (DetectedCard(13, self._corners),)


@pytest.mark.parametrize(
    ("height_m", "told"), [(0.4, None), (1.2, "1.2 m high"), (None, "without a card")]
)
def test_the_trunk_is_read_from_a_low_phone_only(height_m: float | None, told: str | None) -> None:
    drawing = draw(Trunk(20.0), VIEWS["supine, head right"])
    centre = np.array([800.0, 300.0]) - (drawing.hip_px + drawing.shoulder_px) / 2.0
    affine = drawing.mask.crop_to_photo.copy()
    affine[:, 2] += centre
    on_her_back = {name: (1600.0 - x, y - 300.0) for name, (x, y) in PRONE.items()}
    on_her_back["hip"], on_her_back["shoulder"] = (
        tuple((place + centre).tolist()) for place in (drawing.hip_px, drawing.shoulder_px)
    )
    body = replace(body_of(on_her_back), mask=replace(drawing.mask, crop_to_photo=affine))
    cards = FakeCards() if height_m is None else CardSeenFrom(height_m)
    use_case = MeasurePhoto(FakeReader(shrink=1), cards, FakePoses((body,), shrink=1.0), CATALOGUE)
    measured = use_case(PHOTO, MeasureRequest("supine-overhead", near_side="left"))
    assert ("trunk_hollow_deg" in measured.measures) == (told is None)
    if told is not None:
        assert any(told in caution for caution in measured.cautions)


def test_the_record_survives_json() -> None:
    measured = measuring(cards=(13,))(PHOTO, by_hand())
    back = measurement_from_json(measurement_to_json(measured))
    assert back.measures["hip_opening_deg"].value == pytest.approx(HIP_DEG, abs=0.001)
    assert measurement_to_json(back) == measurement_to_json(measured)


def test_a_foreign_record_is_refused() -> None:
    with pytest.raises(ValueError, match="schema"):
        measurement_from_json({"schema": "something/1"})
