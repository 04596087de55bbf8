"""Photos in the records, as a protocol."""

from collections.abc import Iterable, Sequence
from typing import Protocol

from chordline.application.club.records import (
    FiledPhoto,
    Json,
    MarksRecord,
    MeasurementRecord,
    NewPhoto,
    PhotoRecord,
    PhotoState,
)
from chordline.application.club.views import Page, PhotoView, QueueCounts, QueuePlace, QueueRow
from chordline.application.marks import HandMarks
from chordline.conventions import Front, Side


class PhotoBook(Protocol):
    """Photos."""

    def file(self, club_id: int, new: NewPhoto) -> FiledPhoto:
        """File a photo as waiting; one that is there already is returned unchanged."""
        ...

    def get(self, photo_id: int) -> PhotoRecord:
        """Return a photo or raise `NotThereError`."""
        ...

    def with_sha256(self, club_id: int, sha256: str) -> PhotoRecord | None:
        """Return the photo of these bytes, if it is there."""
        ...

    def of_screens(self, screen_ids: Sequence[int], tests: Sequence[str]) -> tuple[PhotoView, ...]:
        """Return the photos of some tests in some screens."""
        ...

    def not_needed(self, content_keys: Iterable[str]) -> tuple[str, ...]:
        """Return those of some content keys that no photo has: what a kill left in the store."""
        ...

    def view(self, photo_id: int) -> PhotoView:
        """Return a photo with its standing marks and the measurement that counts."""
        ...

    def move(self, photo_id: int, *, screen_id: int | None, test: str | None) -> PhotoRecord:
        """File a photo under another screen or test; what changes is waiting again."""
        ...

    def say(
        self, photo_id: int, *, near_side: Side | None, front: Front | None, person: int | None
    ) -> PhotoRecord:
        """Keep what the coach says of a photo; what changes is waiting again."""
        ...

    def settle(
        self,
        photo_id: int,
        *,
        revision: int,
        state: PhotoState,
        reason: str | None = None,
        worry: float | None = None,
        checked_by: str | None = None,
    ) -> bool:
        """Set a photo's state; return False, and change nothing, where it is another by now."""
        ...

    def forget_picture(self, photo_id: int) -> str | None:
        """Say that the picture is kept no more; return the key to delete, None where it is needed.

        Marks and measurements stay.
        """
        ...

    def remove(self, photo_id: int) -> str | None:
        """Remove a photo with its marks and measurements; return the key to delete."""
        ...

    def queue(self, club_id: int, *, after: str | None = None, limit: int = 50) -> Page[QueueRow]:
        """Return the photos that need a look, worst trust first."""
        ...

    def place(self, photo_id: int) -> QueuePlace:
        """Return where a photo stands among those that need a look."""
        ...

    def unfiled(self, club_id: int, *, after: str | None = None, limit: int = 50) -> Page[QueueRow]:
        """Return the photos that nobody owns, the oldest first."""
        ...

    def counts(self, club_id: int) -> QueueCounts:
        """Return what waits."""
        ...

    def save_marks(
        self, photo_id: int, marks: HandMarks, *, base_version: int, author: str
    ) -> MarksRecord:
        """Keep hand marks as the standing ones; the photo is waiting again.

        Raises
        ------
        StaleMarksError
            Where `base_version` stands no more. The refused marks are kept in the history however
            the transaction ends. The same marks sent twice by one author are no conflict.
        """
        ...

    def marks_history(self, photo_id: int) -> tuple[MarksRecord, ...]:
        """Return every version of a photo's marks, the first first."""
        ...

    def save_measurement(
        self,
        photo_id: int,
        record: Json,
        *,
        revision: int,
        marks_version: int | None,
        catalogue: str,
    ) -> MeasurementRecord:
        """Keep a measurement of a photo as it was at `revision`, and settle the photo.

        A photo that has changed since is left waiting; the measurement stays in its history.
        """
        ...

    def measurements(self, photo_id: int) -> tuple[MeasurementRecord, ...]:
        """Return every measurement of a photo, the latest first."""
        ...
