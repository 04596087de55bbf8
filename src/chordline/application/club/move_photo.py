"""The coach says whose photo it is, which test, which side is near; or takes it out."""

from dataclasses import dataclass
from datetime import date

from chordline.application.club.judge_screen import JudgeScreen
from chordline.application.club.let_go import let_go
from chordline.application.club.photo_store import PhotoStore
from chordline.application.club.ports import Records
from chordline.application.club.records import PhotoRecord
from chordline.application.club.seal_pictures import SealPictures
from chordline.application.club.take_in import AGAIN, MEASURE
from chordline.catalogue.schema import Catalogue
from chordline.conventions import Front, Side
from chordline.errors import ImpossibleRecordError, RefusedInputError


@dataclass(frozen=True)
class Said:
    """What the coach says of a photo; None = to be found out by the program.

    Attributes
    ----------
    gymnast_id : int or None
    test : str or None
    day : date or None
        None = the day it has.
    near_side, front, person : optional
    """

    gymnast_id: int | None
    test: str | None
    day: date | None = None
    near_side: Side | None = None
    front: Front | None = None
    person: int | None = None


class MovePhoto:
    """Use case: file a photo as the coach says; it is measured again where that changes it."""

    def __init__(
        self, records: Records, store: PhotoStore, judge: JudgeScreen, catalogue: Catalogue
    ) -> None:
        self._records = records
        self._store = store
        self._judge = judge
        self._catalogue = catalogue
        self._seal = SealPictures(records, store)

    def __call__(self, photo_id: int, said: Said, *, today: date) -> PhotoRecord:
        """Return the photo as it stands afterwards; it waits where it has to be measured again."""
        if said.test is not None and said.test not in self._catalogue.tests:
            known = ", ".join(self._catalogue.tests)
            raise RefusedInputError(f"no test is called '{said.test}'; known are {known}")
        if said.day is not None and said.day > today:
            raise ImpossibleRecordError("screened_in_the_future", "the day lies in the future")
        if said.day is not None and said.gymnast_id is None:
            raise RefusedInputError(
                "a day belongs to somebody's screen: say whose photo it is as well"
            )
        with self._records.transaction() as tx:
            before = tx.photos.get(photo_id)
            screen_id = None
            if said.gymnast_id is not None:
                day = said.day or before.taken_on or before.received_at.date()
                if before.screen_id is not None and said.day is None:
                    day = tx.screens.get(before.screen_id).screened_on
                screen_id = tx.screens.on(said.gymnast_id, day).id
            tx.photos.move(photo_id, screen_id=screen_id, test=said.test)
            after = tx.photos.say(
                photo_id, near_side=said.near_side, front=said.front, person=said.person
            )
            if after.state == "waiting":
                _check_kept(after)
                tx.jobs.add(after.club_id, MEASURE, photo_id=photo_id)
        self._seal.filed("photo", photo_id)
        self._judge_left(before, after)
        return after

    def measure_again(self, photo_id: int) -> PhotoRecord:
        """Queue a photo for measuring as it stands, e.g. with better weights."""
        with self._records.transaction() as tx:
            photo = tx.photos.get(photo_id)
            _check_kept(photo)
            tx.jobs.add(photo.club_id, MEASURE, photo_id=photo_id, payload={AGAIN: True})
        return photo

    def take_out(self, photo_id: int) -> None:
        """Remove a photo with its picture, marks and measurements, for good."""
        with self._records.transaction() as tx:
            before = tx.photos.get(photo_id)
            key = tx.photos.remove(photo_id)
        let_go(self._records, self._store, [key])
        self._judge_left(before, None)

    def _judge_left(self, before: PhotoRecord, after: PhotoRecord | None) -> None:
        """Judge the screen that a photo was taken from: what it showed counts there no more."""
        if before.screen_id is not None and (after is None or after.screen_id != before.screen_id):
            self._judge(before.screen_id)


def _check_kept(photo: PhotoRecord) -> None:
    """Raise where a photo would lose its measurement, because there is nothing to measure again."""
    if photo.content_key is None:
        raise RefusedInputError(
            "its picture is not kept any more, so it cannot be measured again; leave it, or take "
            "the photo out"
        )
