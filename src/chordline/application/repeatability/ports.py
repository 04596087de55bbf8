"""The records of studies as a protocol; one more book of the club's records."""

from collections.abc import Mapping, Sequence
from typing import Protocol

from chordline.application.club.records import Json
from chordline.application.club.views import PhotoView
from chordline.application.repeatability.records import (
    NewTask,
    NoiseRecord,
    Reading,
    Study,
    Task,
)


class StudyBook(Protocol):
    """Studies of marks, photos that were taken twice, and the club's own errors."""

    def add(
        self, club_id: int, *, photos: Sequence[int], seed: int, twice: bool, author: str
    ) -> Study:
        """Begin a study of some photos."""
        ...

    def get(self, study_id: int) -> Study:
        """Return a study, or raise `NotThereError`."""
        ...

    def all(self, club_id: int) -> tuple[Study, ...]:
        """Return a club's studies, the latest first."""
        ...

    def remove(self, study_id: int) -> None:
        """Remove a study with everything that was marked in it."""
        ...

    def join(self, study_id: int, coach: str, tasks: Sequence[NewTask]) -> tuple[Task, ...]:
        """Return a coach's tasks in order; made from `tasks` where she has none yet."""
        ...

    def task(self, task_id: int) -> Task:
        """Return a task, or raise `NotThereError`."""
        ...

    def tasks(self, study_id: int) -> tuple[Task, ...]:
        """Return every task of a study, by coach and place."""
        ...

    def next_task(self, study_id: int, coach: str) -> Task | None:
        """Return the first photo that a coach has not marked yet; None at the end."""
        ...

    def keep(self, task_id: int, *, marks: Json, readings: Mapping[str, Reading]) -> Task:
        """Keep what a coach marked; what was kept first stands."""
        ...

    def measured(self, club_id: int) -> tuple[tuple[PhotoView, int], ...]:
        """Return the measured photos whose pictures are kept, each with its gymnast's id."""
        ...

    def taken_twice(self, club_id: int) -> tuple[tuple[PhotoView, int], ...]:
        """Return measured photos of which there are several of one test in one screen.

        Each with the id of its screen, by screen, test and coming in.
        """
        ...

    def use_noise(self, club_id: int, record: Json, *, author: str) -> NoiseRecord:
        """Keep a club's own errors and use them from now on."""
        ...

    def use_defaults(self, club_id: int) -> None:
        """Use our defaults from now on; the club's own errors stay in the records."""
        ...

    def noise(self, club_id: int) -> NoiseRecord | None:
        """Return the club's own errors that are in use; None = our defaults."""
        ...
