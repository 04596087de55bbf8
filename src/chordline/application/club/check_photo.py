"""The coach looks at a photo's marks: finds them right, or moves them."""

from collections.abc import Mapping

from chordline.application.club.judge_screen import JudgeScreen
from chordline.application.club.measure_stored import MeasureStored
from chordline.application.club.ports import Records
from chordline.application.club.take_in import MEASURE
from chordline.application.club.views import PhotoView
from chordline.application.marks import HandMarks
from chordline.application.measurement_json import measurement_from_json
from chordline.catalogue.schema import Catalogue
from chordline.core.body.measurement import Mark
from chordline.errors import RefusedInputError


class CheckPhoto:
    """Use case: keep what the coach said of a photo's marks."""

    def __init__(
        self, records: Records, measure: MeasureStored, judge: JudgeScreen, catalogue: Catalogue
    ) -> None:
        self._records = records
        self._measure = measure
        self._judge = judge
        self._catalogue = catalogue

    def __call__(
        self,
        photo_id: int,
        marks: HandMarks,
        *,
        base_version: int,
        confirmed: bool,
        author: str,
    ) -> PhotoView:
        """Return the photo as it stands afterwards.

        Parameters
        ----------
        photo_id : int
        marks : HandMarks
            All marks of the photo, moved or not.
        base_version : int
            The version of the marks that the coach began from; 0 = automatic ones.
        confirmed : bool
            Whether she said that they are right.
        author : str

        Raises
        ------
        StaleMarksError
            Where somebody else marked the photo meanwhile; both versions are kept.
        MarksError
            For marks that cannot be measured; nothing is kept.
        RefusedInputError
            Where the photo belongs to nobody or to no test yet, or its picture is not kept.

        Notes
        -----
        Marks that say what stands already change nothing, whichever version they began from: a
        request that is sent twice is done once.
        """
        with self._records.reading() as tx:
            seen = tx.photos.view(photo_id)
        self._check_filed(seen)
        if not _says_the_same(marks, seen):
            if seen.photo.content_key is None:
                raise RefusedInputError(
                    "its picture is not kept any more, so the marks stay as they are"
                )
            self._measure.check_marks(seen, marks)
        with self._records.transaction() as tx:
            before = tx.photos.view(photo_id)
            self._check_filed(before)
            changed = not _says_the_same(marks, before)
            if changed:
                tx.photos.save_marks(photo_id, marks, base_version=base_version, author=author)
                tx.jobs.add(before.photo.club_id, MEASURE, photo_id=photo_id)
        if changed or before.photo.state == "waiting":
            self._measure(photo_id)
        if confirmed:
            self._confirm(photo_id, author)
        with self._records.reading() as tx:
            return tx.photos.view(photo_id)

    def _check_filed(self, view: PhotoView) -> None:
        if view.photo.screen_id is None:
            raise RefusedInputError("say first whose photo it is")
        if view.photo.test not in self._catalogue.tests:
            raise RefusedInputError("say first which test it is")

    def _confirm(self, photo_id: int, author: str) -> None:
        with self._records.transaction() as tx:
            now = tx.photos.view(photo_id)
            if now.measurement is None or now.photo.state in ("waiting", "refused"):
                return
            tx.photos.settle(
                photo_id, revision=now.photo.revision, state="measured", checked_by=author
            )
        if now.photo.screen_id is not None:
            self._judge(now.photo.screen_id)


def _says_the_same(marks: HandMarks, view: PhotoView) -> bool:
    """Return whether marks say what the measurement that counts was made from."""
    if view.measurement is None:
        return False
    measured = measurement_from_json(dict(view.measurement.record))
    if marks.near_side != measured.near_side:
        return False
    # What was read from the picture beside them, such as an outline, is in the measurement alone.
    standing = {} if view.marks is None else view.marks.marks.landmarks
    return _same_places(marks.landmarks, measured.landmarks) or (
        view.measurement.marks_version == view.photo.marks_version
        and _same_places(marks.landmarks, standing)
    )


def _same_places(one: Mapping[str, Mark], other: Mapping[str, Mark]) -> bool:
    return one.keys() == other.keys() and all(
        _place(mark) == _place(other[name]) for name, mark in one.items()
    )


def _place(mark: Mark) -> tuple[float, float]:
    """Return a mark's place as records keep it."""
    return round(mark.x_px, 2), round(mark.y_px, 2)
