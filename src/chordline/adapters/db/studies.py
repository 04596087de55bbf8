"""Implements `StudyBook`."""

from collections.abc import Mapping, Sequence
from dataclasses import asdict
from typing import Any

from sqlalchemy import Select, func, select, tuple_

from chordline.adapters.db.rows import AnyRow
from chordline.adapters.db.schema import CLUB, GYMNAST, PHOTO, SCREEN
from chordline.adapters.db.session import Session
from chordline.adapters.db.study_schema import CLUB_NOISE, STUDY, STUDY_PHOTO, STUDY_TASK
from chordline.adapters.db.views import photo_views
from chordline.application.club.records import Json
from chordline.application.club.views import PhotoView
from chordline.application.repeatability.records import (
    NewTask,
    NoiseRecord,
    Reading,
    Study,
    Task,
)

#: Databases take only so many values in one question.
_AT_ONCE = 500


class SqlStudies:
    """Studies of marks, photos that were taken twice, and the club's own errors."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def add(
        self, club_id: int, *, photos: Sequence[int], seed: int, twice: bool, author: str
    ) -> Study:
        """Begin a study of some photos."""
        self._session.row(CLUB, club_id)
        study_id = self._session.insert(
            STUDY,
            club_id=club_id,
            seed=seed,
            twice=twice,
            author=author,
            begun_at=self._session.now(),
        )
        for place, photo_id in enumerate(photos, start=1):
            row = STUDY_PHOTO.insert().values(study_id=study_id, photo_id=photo_id, place=place)
            self._session.connection.execute(row)
        return self.get(study_id)

    def get(self, study_id: int) -> Study:
        """Return a study."""
        row = self._session.row(STUDY, study_id)
        picked = select(STUDY_PHOTO.c.photo_id).where(STUDY_PHOTO.c.study_id == study_id)
        in_order = self._session.rows(picked.order_by(STUDY_PHOTO.c.place))
        return Study(
            id=row.id,
            club_id=row.club_id,
            seed=row.seed,
            twice=row.twice,
            photos=tuple(one.photo_id for one in in_order),
            author=row.author,
            begun_at=row.begun_at,
        )

    def all(self, club_id: int) -> tuple[Study, ...]:
        """Return a club's studies, the latest first."""
        theirs = select(STUDY.c.id).where(STUDY.c.club_id == club_id).order_by(STUDY.c.id.desc())
        return tuple(self.get(row.id) for row in self._session.rows(theirs))

    def remove(self, study_id: int) -> None:
        """Remove a study with everything that was marked in it."""
        self._session.row(STUDY, study_id, lock=True)
        self._session.connection.execute(STUDY.delete().where(STUDY.c.id == study_id))

    def join(self, study_id: int, coach: str, tasks: Sequence[NewTask]) -> tuple[Task, ...]:
        """Return a coach's tasks in order; made from `tasks` where she has none yet."""
        # One device after the other: two must not deal out two orders.
        self._session.row(STUDY, study_id, lock=True)
        hers = STUDY_TASK.c.study_id == study_id, STUDY_TASK.c.coach == coach
        if not self._session.number(select(func.count()).select_from(STUDY_TASK).where(*hers)):
            for place, one in enumerate(tasks, start=1):
                self._session.insert(
                    STUDY_TASK,
                    study_id=study_id,
                    photo_id=one.photo_id,
                    coach=coach,
                    place=place,
                    turn=one.turn,
                )
        return self._tasks(select(STUDY_TASK).where(*hers))

    def task(self, task_id: int) -> Task:
        """Return a task."""
        return _task_of(self._session.row(STUDY_TASK, task_id))

    def tasks(self, study_id: int) -> tuple[Task, ...]:
        """Return every task of a study, by coach and place."""
        return self._tasks(select(STUDY_TASK).where(STUDY_TASK.c.study_id == study_id))

    def next_task(self, study_id: int, coach: str) -> Task | None:
        """Return the first photo that a coach has not marked yet."""
        still = (
            select(STUDY_TASK)
            .join(PHOTO, PHOTO.c.id == STUDY_TASK.c.photo_id)
            .where(
                STUDY_TASK.c.study_id == study_id,
                STUDY_TASK.c.coach == coach,
                STUDY_TASK.c.done_at.is_(None),
                # What cannot be shown or measured any more is passed over.
                PHOTO.c.content_key.is_not(None),
                PHOTO.c.screen_id.is_not(None),
                PHOTO.c.test.is_not(None),
            )
        )
        rows = self._session.rows(still.order_by(STUDY_TASK.c.place).limit(1))
        return _task_of(rows[0]) if rows else None

    def keep(self, task_id: int, *, marks: Json, readings: Mapping[str, Reading]) -> Task:
        """Keep what a coach marked; what was kept first stands."""
        row = self._session.row(STUDY_TASK, task_id, lock=True)
        if row.done_at is None:
            told = {name: asdict(one) for name, one in readings.items()}
            record = {"marks": dict(marks), "measures": told}
            self._session.change(STUDY_TASK, task_id, record=record, done_at=self._session.now())
        return self.task(task_id)

    def measured(self, club_id: int) -> tuple[tuple[PhotoView, int], ...]:
        """Return the measured photos whose pictures are kept, each with its gymnast's id."""
        wanted = (
            select(PHOTO, SCREEN.c.gymnast_id)
            .join(SCREEN, SCREEN.c.id == PHOTO.c.screen_id)
            .join(GYMNAST, GYMNAST.c.id == SCREEN.c.gymnast_id)
            .where(
                PHOTO.c.club_id == club_id,
                PHOTO.c.state == "measured",
                PHOTO.c.content_key.is_not(None),
                PHOTO.c.test.is_not(None),
                GYMNAST.c.archived_at.is_(None),
            )
            .order_by(PHOTO.c.id)
        )
        rows = self._session.rows(wanted)
        return tuple(zip(self._views(rows), [row.gymnast_id for row in rows], strict=True))

    def taken_twice(self, club_id: int) -> tuple[tuple[PhotoView, int], ...]:
        """Return measured photos of which there are several of one test in one screen."""
        theirs = (
            PHOTO.c.club_id == club_id,
            PHOTO.c.state == "measured",
            PHOTO.c.screen_id.is_not(None),
            PHOTO.c.test.is_not(None),
        )
        several = (
            select(PHOTO.c.screen_id, PHOTO.c.test)
            .where(*theirs)
            .group_by(PHOTO.c.screen_id, PHOTO.c.test)
            .having(func.count() > 1)
        )
        wanted = select(PHOTO).where(*theirs, tuple_(PHOTO.c.screen_id, PHOTO.c.test).in_(several))
        rows = self._session.rows(wanted.order_by(PHOTO.c.screen_id, PHOTO.c.test, PHOTO.c.id))
        return tuple(zip(self._views(rows), [row.screen_id for row in rows], strict=True))

    def use_noise(self, club_id: int, record: Json, *, author: str) -> NoiseRecord:
        """Keep a club's own errors and use them from now on."""
        self.use_defaults(club_id)
        noise_id = self._session.insert(
            CLUB_NOISE,
            club_id=club_id,
            record=dict(record),
            in_use=True,
            author=author,
            made_at=self._session.now(),
        )
        return _noise_of(self._session.row(CLUB_NOISE, noise_id))

    def use_defaults(self, club_id: int) -> None:
        """Use our defaults from now on; the club's own errors stay in the records."""
        self._session.row(CLUB, club_id, lock=True)
        change = CLUB_NOISE.update().where(CLUB_NOISE.c.club_id == club_id)
        self._session.connection.execute(change.values(in_use=False))

    def noise(self, club_id: int) -> NoiseRecord | None:
        """Return the club's own errors that are in use."""
        used = select(CLUB_NOISE).where(CLUB_NOISE.c.club_id == club_id, CLUB_NOISE.c.in_use)
        rows = self._session.rows(used)
        return _noise_of(rows[0]) if rows else None

    def _tasks(self, wanted: Select[Any]) -> tuple[Task, ...]:
        order = wanted.order_by(STUDY_TASK.c.coach, STUDY_TASK.c.place)
        return tuple(map(_task_of, self._session.rows(order)))

    def _views(self, rows: Sequence[AnyRow]) -> list[PhotoView]:
        views: list[PhotoView] = []
        for begin in range(0, len(rows), _AT_ONCE):
            views += photo_views(self._session, rows[begin : begin + _AT_ONCE])
        return views


def _task_of(row: AnyRow) -> Task:
    record = row.record or {}
    readings = {name: Reading(**one) for name, one in record.get("measures", {}).items()}
    return Task(
        id=row.id,
        study_id=row.study_id,
        photo_id=row.photo_id,
        coach=row.coach,
        place=row.place,
        turn=row.turn,
        marks=record.get("marks"),
        readings=readings,
        done_at=row.done_at,
    )


def _noise_of(row: AnyRow) -> NoiseRecord:
    return NoiseRecord(
        id=row.id,
        club_id=row.club_id,
        record=row.record,
        in_use=row.in_use,
        author=row.author,
        made_at=row.made_at,
    )
