"""Work that goes on after a restart, as a protocol."""

from collections.abc import Mapping, Sequence
from datetime import timedelta
from typing import Protocol

from chordline.application.club.records import JobRecord, Json


class JobBook(Protocol):
    """Work that goes on after a restart."""

    def add(
        self,
        club_id: int,
        kind: str,
        *,
        photo_id: int | None = None,
        video_id: int | None = None,
        payload: Json | None = None,
    ) -> JobRecord:
        """Queue a job; one for the same photo or video that still waits is returned instead."""
        ...

    def take(self, worker: str, *, lease: timedelta, kinds: Sequence[str] = ()) -> JobRecord | None:
        """Take the oldest job that waits, or whose worker did not finish within its lease.

        A job that was begun three times without an end is given up and not taken again.
        """
        ...

    def renew(self, job_id: int, worker: str, *, lease: timedelta) -> bool:
        """Say that a worker got on; False where the job is not its own any more: it stops.

        Its tries count anew.
        """
        ...

    def call_off(self, video_id: int) -> None:
        """End what waits or runs for a video; whoever runs it is told when it renews."""
        ...

    def of_video(self, video_id: int) -> JobRecord | None:
        """Return the job for a video that waits or runs."""
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
