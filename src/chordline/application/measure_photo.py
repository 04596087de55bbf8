"""From one photo of one test to its measurement."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from chordline.application.choose import choose_body, choose_card, nearest_body
from chordline.application.marks import HandMarks, faults_of_marks
from chordline.application.outline_marks import outline_marks
from chordline.application.ports import CardReader, DetectedCard, Photo, PhotoReader, PoseEstimator
from chordline.application.trust import judge_trust
from chordline.application.viewpoint import Scene, read_scene, view_of
from chordline.catalogue.schema import Catalogue, TestEntry
from chordline.conventions import LANDMARKS, SIDES, Front, Side, curve_of, facing_of
from chordline.core.body.found import FoundBody
from chordline.core.body.measurement import Mark, Measure, Measurement
from chordline.core.body.measures import unit_of
from chordline.core.body.orientation import Orientation, resolve_orientation
from chordline.core.body.points import BodyPoints
from chordline.core.body.reading import Reading, read_body
from chordline.core.body.systematic import (
    definition_error,
    near_side_parallax,
    pitch_error,
    yaw_error,
)
from chordline.core.geometry.angles import Floats
from chordline.errors import BodyNotFoundError, MarksError, RefusedInputError, WrongUseError

HAND_MODEL = "hand marks"
#: The measure that reads the trunk's outline.
OUTLINE_MEASURE = "trunk_hollow_deg"


@dataclass(frozen=True)
class MeasureRequest:
    """What to measure in a photo, and what the coach said about it.

    Attributes
    ----------
    test : str
    marks : HandMarks or None
        With marks the automatic finder is not asked.
    near_side, front : optional
    person : int or None
        Which of several people; 1 is the leftmost.
    expected_card : int or None
        Whose picture it should be, to choose among several cards.
    """

    test: str
    marks: HandMarks | None = None
    near_side: Side | None = None
    front: Front | None = None
    person: int | None = None
    expected_card: int | None = None


class MeasurePhoto:
    """Use case: measure one photo."""

    def __init__(
        self,
        reader: PhotoReader,
        cards: CardReader,
        poses: PoseEstimator | None,
        catalogue: Catalogue,
    ) -> None:
        self._reader = reader
        self._cards = cards
        self._poses = poses
        self._catalogue = catalogue

    @property
    def model(self) -> str:
        """What finds the landmarks where no hand marks are given."""
        return self._poses.model if self._poses is not None else HAND_MODEL

    def __call__(self, path: Path, request: MeasureRequest) -> Measurement:
        """Return the measurement of a file.

        Raises
        ------
        WrongUseError
            For an unknown test.
        RefusedInputError
            For a picture, marks or people that cannot be used; the message says what to do.
        """
        self.test_named(request.test)
        return self.measure(self._reader.read(path), request)

    def read(self, path: Path) -> Photo:
        """Return the photo in a file; raise `PictureError` where there is none."""
        return self._reader.read(path)

    def read_content(self, name: str, content: bytes) -> Photo:
        """Return the photo in a file's bytes; raise `PictureError` where there is none."""
        return self._reader.read_content(name, content)

    def content_of(self, path: Path) -> bytes:
        """Return a file's bytes; raise `PictureError` where it can be no photo."""
        return self._reader.content_of(path)

    def cards_in(self, photo: Photo) -> tuple[DetectedCard, ...]:
        """Return every card in a photo, the largest first, in pixels of the full photo."""
        return tuple(_in_photo_px(card, photo) for card in self._cards.read(photo.rgb))

    def test_named(self, name: str) -> TestEntry:
        """Return a test of the catalogue or raise `WrongUseError` with the known ones."""
        try:
            return self._catalogue.tests[name]
        except KeyError:
            known = ", ".join(self._catalogue.tests)
            raise WrongUseError(f"no test is called '{name}'; known are {known}") from None

    def measure(
        self,
        photo: Photo,
        request: MeasureRequest,
        *,
        cards: tuple[DetectedCard, ...] | None = None,
    ) -> Measurement:
        """Return the measurement of a photo that has been read already.

        Parameters
        ----------
        photo : Photo
        request : MeasureRequest
        cards : tuple of DetectedCard, optional
            What `cards_in` found; looked for where not given.

        Raises
        ------
        WrongUseError
            For an unknown test.
        RefusedInputError
            For marks or people that cannot be used; the message says what to do.
        """
        test = self.test_named(request.test)
        seen = self.cards_in(photo) if cards is None else cards
        card, card_caution = choose_card(seen, request.expected_card)
        scene = read_scene(photo, card, self._catalogue)
        hand = request.marks
        body = None if hand is not None else self._find(photo, request, test, scene)
        marks = self._checked(hand, photo, test) if body is None else _marks_of(body, photo)
        orientation = self._orientation(
            photo=photo, request=request, test=test, scene=scene, marks=marks, body=body
        )
        if body is not None and orientation.near_side != body.near_side:
            marks = _marks_of(body, photo, orientation.near_side)
        facing = facing_of(orientation.near_side)
        doubt = self._doubt_of_outline(scene, test)
        if OUTLINE_MEASURE in test.measures and doubt is None:
            marks = {**self._outline(photo, marks, body, facing), **marks}
        shape = BodyPoints(
            names=tuple(marks),
            xy_px=np.array([[[mark.x_px, mark.y_px] for mark in marks.values()]]),
            facing=float(facing),
            chord=test.chord_among(marks),
            frame=scene.frame,
        )
        sd_px = np.array([mark.sd_px for mark in marks.values()])
        reading = read_body(shape, sd_px, test.measures)
        measures = self._with_systematic(reading, shape, scene, test, hand=body is None)
        trust, cautions = judge_trust(
            photo=photo,
            shape=shape,
            body=body,
            scene=scene,
            orientation=orientation,
            measures=measures,
            test=test,
            catalogue=self._catalogue,
        )
        return Measurement(
            photo=photo.name,
            test=request.test,
            near_side=orientation.near_side,
            front=orientation.front,
            front_origin=orientation.origin,
            width_px=photo.width_px,
            height_px=photo.height_px,
            sha256=photo.sha256,
            card=scene.card,
            scale=scene.scale,
            landmarks=marks,
            measures=measures,
            covariance=reading.covariance,
            trust=trust,
            cautions=tuple(filter(None, (card_caution, *cautions, doubt))),
            model=HAND_MODEL if body is None else self.model,
        )

    def _checked(self, hand: HandMarks | None, photo: Photo, test: TestEntry) -> dict[str, Mark]:
        """Return hand marks that fit the photo and the test, or raise `MarksError`."""
        landmarks = {} if hand is None else dict(hand.landmarks)
        faults = faults_of_marks(
            landmarks,
            width_px=photo.width_px,
            height_px=photo.height_px,
            needed=test.chord_among(landmarks),
        )
        if faults:
            raise MarksError(f"marks for {photo.name}", faults)
        return landmarks

    def _find(
        self, photo: Photo, request: MeasureRequest, test: TestEntry, scene: Scene
    ) -> FoundBody:
        """Return the gymnast whom the finder found, or raise `BodyNotFoundError`."""
        if self._poses is None:
            raise BodyNotFoundError(
                f"{photo.name}: the pose weights are not installed, so the landmarks have to be "
                "set by hand; 'chordline weights' installs them"
            )
        try:
            return choose_body(
                self._poses.find(photo.rgb), test=test, up=scene.frame.up, person=request.person
            )
        except BodyNotFoundError as error:
            raise BodyNotFoundError(f"{photo.name}: {error}") from None

    def _doubt_of_outline(self, scene: Scene, test: TestEntry) -> str | None:
        """Return why the trunk's outline is not read: seen from above, a lying belly lies."""
        if OUTLINE_MEASURE not in test.measures or test.group == "hands":
            return None
        if scene.card is None:
            return "without a card the phone's height is not known: the trunk's outline is not read"
        height = scene.card.phone_height_m
        if height.value + height.sd <= self._catalogue.setting("outline_phone_height_m"):
            return None
        return (
            f"the phone stood about {height.value:.1f} m high, which is too high to read the "
            "trunk's outline; about 0.4 m is right"
        )

    def _outline(
        self, photo: Photo, marks: Mapping[str, Mark], body: FoundBody | None, facing: int
    ) -> dict[str, Mark]:
        """Return the marks of the trunk's outline; none where no mask shows it.

        With hand marks the finder is asked too where it is there: only its mask is used.
        """
        if body is None and self._poses is not None:
            body = nearest_body(self._poses.find(photo.rgb), marks, photo)
        if body is None or body.mask is None:
            return {}
        return outline_marks(body.mask, marks, facing=facing, photo=photo)

    @staticmethod
    def _orientation(
        *,
        photo: Photo,
        request: MeasureRequest,
        test: TestEntry,
        scene: Scene,
        marks: Mapping[str, Mark],
        body: FoundBody | None,
    ) -> Orientation:
        hip, shoulder = marks["hip"], marks["shoulder"]
        hand = request.marks
        try:
            return resolve_orientation(
                np.array([shoulder.x_px - hip.x_px, shoulder.y_px - hip.y_px]),
                up=scene.frame.up,
                given_near=request.near_side or (hand.near_side if hand else None),
                given_front=request.front or (hand.front if hand else None),
                expected_front=test.front,
                guess=("left", 0.5) if body is None else (body.near_side, body.near_confidence),
            )
        except ValueError as error:
            raise RefusedInputError(f"{photo.name}: {error}") from None

    def _with_systematic(
        self, reading: Reading, shape: BodyPoints, scene: Scene, test: TestEntry, *, hand: bool
    ) -> dict[str, Measure]:
        names = reading.names
        setting = self._catalogue.setting
        chord_px = float(np.linalg.norm(shape.get(shape.chord[-1]) - shape.get(shape.chord[0])))
        view = view_of(
            scene, body_px=np.nanmean(shape.xy_px[0], axis=0), test=test, catalogue=self._catalogue
        )
        share = setting("hand_definition_pct" if hand else "auto_definition_pct") / 100.0
        terms = {
            "yaw": yaw_error(shape, view, names),
            "pitch": pitch_error(shape, view, names),
            "near_side_parallax": near_side_parallax(
                shape, view, names, half_breadth_m=self._half_breadths(shape.names)
            ),
            "landmark_definition": definition_error(
                shape, names, sd_px=np.where(_are_joints(shape.names), share * chord_px, 0.0)
            ),
        }
        sds = reading.sd
        return {
            name: Measure(
                value=float(reading.values[i]),
                sd=sds[name],
                unit=unit_of(name),
                systematic={term: float(values[i]) for term, values in terms.items()},
            )
            for i, name in enumerate(names)
        }

    def _half_breadths(self, names: tuple[str, ...]) -> Floats:
        known = self._catalogue.half_breadth
        shares = [known[name].value if name in known else 0.0 for name in names]
        return np.array(shares) * self._catalogue.setting("stature_m")


def _are_joints(names: Sequence[str]) -> NDArray[np.bool_]:
    """Return which names are joints: an outline has no joint that it could miss."""
    return np.array([curve_of(name) is None for name in names])


def _in_photo_px(card: DetectedCard, photo: Photo) -> DetectedCard:
    corners = (card.corners_px + 0.5) * photo.photo_px_per_working_px - 0.5
    return DetectedCard(card.id, corners)


def _marks_of(body: FoundBody, photo: Photo, side: Side | None = None) -> dict[str, Mark]:
    """Return the landmarks of a found body in pixels of the full photo; of `side` where given."""
    xy_px = body.xy_px if side is None else body.sides_xy_px[SIDES.index(side)]
    k = photo.photo_px_per_working_px
    return {
        name: Mark(
            x_px=float((xy_px[i, 0] + 0.5) * k - 0.5),
            y_px=float((xy_px[i, 1] + 0.5) * k - 0.5),
            sd_px=float(body.sd_px[i] * k),
            origin="auto",
        )
        for i, name in enumerate(LANDMARKS)
        if np.isfinite(xy_px[i]).all()
    }
