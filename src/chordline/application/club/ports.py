"""The club's records as a protocol: one book a kind of record, all within one transaction."""

from contextlib import AbstractContextManager
from typing import Protocol

from chordline.application.accounts.ports import AccountBook, TrailBook
from chordline.application.club.club_book import ClubBook
from chordline.application.club.erased import ErasedBook
from chordline.application.club.gymnast_book import GymnastBook
from chordline.application.club.job_book import JobBook
from chordline.application.club.photo_book import PhotoBook
from chordline.application.club.screen_book import ScreenBook
from chordline.application.club.vault_ports import KeyBook
from chordline.application.club.video_book import VideoBook
from chordline.application.repeatability.ports import StudyBook
from chordline.application.training.ports import TrainingBook


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
    def videos(self) -> VideoBook:
        """Videos and what was read off them."""
        ...

    @property
    def keys(self) -> KeyBook:
        """Wrapped keys of pictures."""
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

    @property
    def accounts(self) -> AccountBook:
        """Accounts and who is logged in."""
        ...

    @property
    def trail(self) -> TrailBook:
        """Who saw and changed what."""
        ...

    @property
    def erased(self) -> ErasedBook:
        """Who was erased, and what is kept of somebody."""
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

    def scrub(self) -> bool:
        """Leave nothing in the database's log of what was erased.

        Return False where a reader stood in the way, or where only the server's keeper can do it.
        """
        ...

    def close(self) -> None:
        """Let go of the database."""
        ...
