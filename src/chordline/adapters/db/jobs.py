"""Implements `JobBook`: a queue in the database, so that a kill does not lose it."""

from collections.abc import Mapping, Sequence
from datetime import timedelta
from typing import Final

from sqlalchemy import and_, exists, func, or_, select

from chordline.adapters.db.rows import job_of
from chordline.adapters.db.schema import CLUB, JOB
from chordline.adapters.db.session import Session
from chordline.application.club.records import JobRecord, Json

#: A photo that ends the program whenever it is measured must not do so for ever.
MOST_ATTEMPTS: Final = 3


class SqlJobs:
    """Work that goes on after a restart."""

    def __init__(self, session: Session) -> None:
        self._session = session

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
        self._session.row(CLUB, club_id)
        for of, id in ((JOB.c.photo_id, photo_id), (JOB.c.video_id, video_id)):
            if id is None:
                continue
            same = select(JOB).where(JOB.c.kind == kind, of == id, JOB.c.state == "waiting")
            there = self._session.rows(same)
            if there:
                return job_of(there[0])
        job_id = self._session.insert(
            JOB,
            club_id=club_id,
            kind=kind,
            photo_id=photo_id,
            video_id=video_id,
            payload=dict(payload or {}),
            state="waiting",
            attempts=0,
            changed_at=self._session.now(),
        )
        return job_of(self._session.row(JOB, job_id))

    def take(self, worker: str, *, lease: timedelta, kinds: Sequence[str] = ()) -> JobRecord | None:
        """Take the oldest job that waits, or whose worker did not finish within its lease."""
        now = self._session.now()
        free = or_(
            JOB.c.state == "waiting", and_(JOB.c.state == "running", JOB.c.lease_until < now)
        )
        query = select(JOB).where(free).order_by(JOB.c.id).limit(1)
        if kinds:
            query = query.where(JOB.c.kind.in_(kinds))
        while found := self._session.rows(query.with_for_update(skip_locked=True)):
            job = job_of(found[0])
            if job.attempts >= MOST_ATTEMPTS:
                why = f"it was begun {job.attempts} times and never came to an end"
                self._end(job.id, "failed", why)
                continue
            self._session.change(
                JOB,
                job.id,
                state="running",
                attempts=job.attempts + 1,
                worker=worker,
                lease_until=now + lease,
                changed_at=now,
            )
            return job_of(self._session.row(JOB, job.id))
        return None

    def renew(self, job_id: int, worker: str, *, lease: timedelta) -> bool:
        """Say that a worker is alive; False where the job is not its own any more.

        What gets on is no job that ends the program whenever it is begun: its tries count anew.
        """
        now = self._session.now()
        mine = (JOB.c.id == job_id, JOB.c.state == "running", JOB.c.worker == worker)
        change = JOB.update().where(*mine)
        alive = change.values(lease_until=now + lease, changed_at=now, attempts=1)
        return self._session.connection.execute(alive).rowcount == 1

    def call_off(self, video_id: int) -> None:
        """End what waits or runs for a video."""
        change = JOB.update().where(
            JOB.c.video_id == video_id, JOB.c.state.in_(("waiting", "running"))
        )
        self._session.connection.execute(
            change.values(
                state="done", worker=None, lease_until=None, changed_at=self._session.now()
            )
        )

    def of_video(self, video_id: int) -> JobRecord | None:
        """Return the job for a video that waits or runs."""
        query = select(JOB).where(
            JOB.c.video_id == video_id, JOB.c.state.in_(("waiting", "running"))
        )
        found = self._session.rows(query.order_by(JOB.c.state, JOB.c.id))
        return job_of(found[0]) if found else None

    def finish(self, job_id: int, worker: str, *, error: str | None = None) -> bool:
        """End a job, failed where an error is given."""
        row = self._session.row(JOB, job_id, lock=True)
        if row.state != "running" or row.worker != worker:
            return False
        self._end(job_id, "done" if error is None else "failed", error)
        return True

    def give_back(self) -> int:
        """Let every running job wait again."""
        twin = JOB.alias()
        waits_too = exists().where(
            twin.c.kind == JOB.c.kind,
            or_(twin.c.photo_id == JOB.c.photo_id, twin.c.video_id == JOB.c.video_id),
            twin.c.state == "waiting",
        )
        running = JOB.update().where(JOB.c.state == "running")
        free = {"worker": None, "lease_until": None, "changed_at": self._session.now()}
        self._session.connection.execute(running.where(waits_too).values(state="done", **free))
        return self._session.connection.execute(running.values(state="waiting", **free)).rowcount

    def counts(self, club_id: int) -> Mapping[str, int]:
        """Return how many jobs wait, run and have failed."""
        query = (
            select(JOB.c.state, func.count().label("jobs"))
            .where(JOB.c.club_id == club_id, JOB.c.state.in_(("waiting", "running", "failed")))
            .group_by(JOB.c.state)
        )
        return {
            "waiting": 0,
            "running": 0,
            "failed": 0,
            **{row.state: row.jobs for row in self._session.rows(query)},
        }

    def failed(self, club_id: int, *, limit: int = 50) -> tuple[JobRecord, ...]:
        """Return the jobs that failed, the latest first."""
        query = select(JOB).where(JOB.c.club_id == club_id, JOB.c.state == "failed")
        return tuple(map(job_of, self._session.rows(query.order_by(JOB.c.id.desc()).limit(limit))))

    def _end(self, job_id: int, state: str, error: str | None) -> None:
        self._session.change(
            JOB,
            job_id,
            state=state,
            error=None if error is None else error[:2000],
            worker=None,
            lease_until=None,
            changed_at=self._session.now(),
        )
