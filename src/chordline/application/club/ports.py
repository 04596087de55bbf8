"""The club's records as protocols: one book a kind of record, all within one transaction."""

from collections.abc import Iterable, Mapping, Sequence
from contextlib import AbstractContextManager
from datetime import date, timedelta
from typing import Protocol

from chordline.application.club.records import (
    BodySize,
    Club,
    FiledPhoto,
    FindingsRecord,
    Group,
    GymnastRecord,
    HoldRecord,
    JobRecord,
    Json,
    MarksRecord,
    MeasurementRecord,
    NewGymnast,
    NewPhoto,
    NoteKind,
    NoteRecord,
    PhotoRecord,
    PhotoState,
    ScreenRecord,
)
from chordline.application.club.views import (
    GymnastQuery,
    GymnastRow,
    GymnastView,
    Page,
    PhotoView,
    QueueCounts,
    QueuePlace,
    QueueRow,
    ScreenView,
    SquadRow,
)
from chordline.application.marks import HandMarks
from chordline.application.repeatability.ports import StudyBook
from chordline.application.training.ports import TrainingBook
from chordline.conventions import Front, Side


class ClubBook(Protocol):
    """Clubs and their groups."""

    def add(self, name: str) -> Club:
        """Found a club; raise `TakenError` where there is one of that name."""
        ...

    def rename(self, club_id: int, name: str) -> Club:
        """Give a club another name; raise `TakenError` where another club has it."""
        ...

    def all(self) -> tuple[Club, ...]:
        """Return every club, the oldest first."""
        ...

    def add_group(self, club_id: int, name: str) -> Group:
        """Make a group; raise `TakenError` where the club has one of that name."""
        ...

    def rename_group(self, group_id: int, name: str) -> Group:
        """Give a group another name."""
        ...

    def remove_group(self, group_id: int) -> None:
        """Remove a group; its gymnasts stay."""
        ...

    def groups(self, club_id: int) -> tuple[Group, ...]:
        """Return the groups of a club by name, with their sizes."""
        ...

    def put_in_group(self, group_id: int, gymnast_ids: Sequence[int]) -> None:
        """Put gymnasts into a group; those who are in it already stay."""
        ...

    def take_out_of_group(self, group_id: int, gymnast_ids: Sequence[int]) -> None:
        """Take gymnasts out of a group."""
        ...


class GymnastBook(Protocol):
    """Gymnasts."""

    def add(self, club_id: int, new: NewGymnast) -> GymnastRecord:
        """Take a gymnast in; raise `TakenError` where her card is somebody else's."""
        ...

    def get(self, gymnast_id: int) -> GymnastRecord:
        """Return a gymnast or raise `NotThereError`."""
        ...

    def with_card(self, club_id: int, card: int) -> GymnastRecord | None:
        """Return the gymnast who has a card and is not archived."""
        ...

    def cards(self, club_id: int) -> frozenset[int]:
        """Return the cards of those who are not archived."""
        ...

    def give_cards(self, club_id: int, cards: Sequence[int]) -> int:
        """Give everybody without a card the first free one, by name; return how many got one."""
        ...

    def named(self, club_id: int, name: str) -> tuple[GymnastRecord, ...]:
        """Return everybody of a name, whatever its case and accents; archived ones too."""
        ...

    def update(self, changed: GymnastRecord) -> GymnastRecord:
        """Save name, card, birth date and consent.

        Raise `StaleGymnastError` where the record was changed since it was read.
        """
        ...

    def archive(self, gymnast_id: int) -> GymnastRecord:
        """Put a gymnast away; her records stay, her card becomes free."""
        ...

    def bring_back(self, gymnast_id: int) -> GymnastRecord:
        """Undo `archive`; raise `TakenError` where her card was given away meanwhile."""
        ...

    def erase(self, gymnast_id: int) -> tuple[str, ...]:
        """Remove a gymnast with everything of hers.

        Return the content keys that nothing needs any more, for the photo store to delete.
        """
        ...

    def add_size(self, gymnast_id: int, size: BodySize) -> BodySize:
        """Keep what was measured on a day; a second entry of that day adds to it or corrects it."""
        ...

    def add_note(
        self,
        gymnast_id: int,
        *,
        noted_on: date,
        kind: NoteKind,
        text: str,
        author: str,
        flag: str | None = None,
    ) -> NoteRecord:
        """Keep a note."""
        ...

    def sizes(self, gymnast_id: int) -> tuple[BodySize, ...]:
        """Return what was measured of her body, the first day first."""
        ...

    def notes(self, gymnast_id: int) -> tuple[NoteRecord, ...]:
        """Return her notes, the first first; closed ones too."""
        ...

    def close_note(self, note_id: int, closed_on: date | None) -> NoteRecord:
        """Say since when a note holds no more; None opens it again."""
        ...

    def page(self, query: GymnastQuery) -> Page[GymnastRow]:
        """Return a page of gymnasts."""
        ...

    def squad(self, query: GymnastQuery) -> Page[SquadRow]:
        """Return a page of gymnasts with their latest findings."""
        ...

    def view(self, gymnast_id: int, *, screens: int = 12) -> GymnastView:
        """Return a gymnast with her latest screens and all in them."""
        ...


class ScreenBook(Protocol):
    """Screens with their holds and findings."""

    def on(self, gymnast_id: int, day: date) -> ScreenRecord:
        """Return her screen of a day; begin it where there is none."""
        ...

    def get(self, screen_id: int) -> ScreenRecord:
        """Return a screen or raise `NotThereError`."""
        ...

    def of_gymnasts(self, gymnast_ids: Sequence[int]) -> tuple[ScreenRecord, ...]:
        """Return the screens of gymnasts, the first day first, without what is in them."""
        ...

    def view(self, screen_id: int) -> ScreenView:
        """Return a screen with everything in it."""
        ...

    def add_hold(
        self, screen_id: int, *, test: str, seconds: float, reached_cap: bool, author: str
    ) -> HoldRecord:
        """Keep a hold."""
        ...

    def remove_hold(self, hold_id: int) -> int:
        """Remove a hold that was entered by mistake; return the id of its screen."""
        ...

    def save_findings(
        self,
        screen: ScreenRecord,
        record: Json,
        *,
        catalogue: str,
        models: Sequence[str],
    ) -> FindingsRecord:
        """Keep findings of a screen as it was read."""
        ...

    def findings(self, screen_id: int) -> tuple[FindingsRecord, ...]:
        """Return all findings of a screen, the latest first."""
        ...


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


class JobBook(Protocol):
    """Work that goes on after a restart."""

    def add(
        self, club_id: int, kind: str, *, photo_id: int | None = None, payload: Json | None = None
    ) -> JobRecord:
        """Queue a job; one for the same photo that still waits is returned instead."""
        ...

    def take(self, worker: str, *, lease: timedelta, kinds: Sequence[str] = ()) -> JobRecord | None:
        """Take the oldest job that waits, or whose worker did not finish within its lease.

        A job that was begun three times without an end is given up and not taken again.
        """
        ...

    def finish(self, job_id: int, worker: str, *, error: str | None = None) -> bool:
        """End a job, failed where an error is given; False where another worker has it by now."""
        ...

    def give_back(self) -> int:
        """Let every running job wait again; to be called where no worker can be alive."""
        ...

    def counts(self, club_id: int) -> Mapping[str, int]:
        """Return how many jobs wait, run and have failed."""
        ...

    def failed(self, club_id: int, *, limit: int = 50) -> tuple[JobRecord, ...]:
        """Return the jobs that failed, the latest first."""
        ...


class Tx(Protocol):
    """Everything within one transaction."""

    @property
    def clubs(self) -> ClubBook:
        """Clubs and groups."""
        ...

    @property
    def gymnasts(self) -> GymnastBook:
        """Gymnasts."""
        ...

    @property
    def screens(self) -> ScreenBook:
        """Screens, holds, findings."""
        ...

    @property
    def photos(self) -> PhotoBook:
        """Photos, marks, measurements."""
        ...

    @property
    def jobs(self) -> JobBook:
        """Work that goes on."""
        ...

    @property
    def training(self) -> TrainingBook:
        """How groups train, plans, sessions, what was done, skills."""
        ...

    @property
    def studies(self) -> StudyBook:
        """Studies of marks, photos taken twice, the club's own errors."""
        ...

    def first_time(self, token: str) -> bool:
        """Return False where a form of this token was sent before."""
        ...


class Records(Protocol):
    """The records. What was done in a transaction is on disk once its `with` block has ended."""

    def transaction(self) -> AbstractContextManager[Tx]:
        """Read and write; all of it is kept, or, after an exception, nothing."""
        ...

    def reading(self) -> AbstractContextManager[Tx]:
        """Read one consistent state without waiting for writers; writing raises."""
        ...

    def close(self) -> None:
        """Let go of the database."""
        ...
