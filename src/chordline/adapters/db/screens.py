"""Implements `ScreenBook`."""

from collections.abc import Sequence
from datetime import date

from sqlalchemy import select

from chordline.adapters.db.rows import findings_of, hold_of, screen_of
from chordline.adapters.db.schema import FINDINGS, GYMNAST, HOLD, SCREEN
from chordline.adapters.db.session import Session
from chordline.adapters.db.views import screen_views, touch_screens
from chordline.application.club.records import FindingsRecord, HoldRecord, Json, ScreenRecord
from chordline.application.club.views import ScreenView
from chordline.errors import ImpossibleRecordError

#: No database asks for more values at once.
_AT_ONCE = 500


class SqlScreens:
    """Screens with their holds and findings."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def on(self, gymnast_id: int, day: date) -> ScreenRecord:
        """Return her screen of a day; begin it where there is none."""
        birth_date = self._session.row(GYMNAST, gymnast_id).birth_date
        if birth_date is not None and day < birth_date:
            raise ImpossibleRecordError(
                "screened_before_born", f"she was born on {birth_date}; check the day of the screen"
            )
        columns = ("gymnast_id", "screened_on")
        values = {"gymnast_id": gymnast_id, "screened_on": day, "revision": 0}
        self._session.insert_once(SCREEN, columns, **values)
        query = select(SCREEN).where(SCREEN.c.gymnast_id == gymnast_id, SCREEN.c.screened_on == day)
        return screen_of(self._session.rows(query)[0])

    def get(self, screen_id: int) -> ScreenRecord:
        """Return a screen."""
        return screen_of(self._session.row(SCREEN, screen_id))

    def of_gymnasts(self, gymnast_ids: Sequence[int]) -> tuple[ScreenRecord, ...]:
        """Return the screens of gymnasts, the first day first."""
        found: list[ScreenRecord] = []
        for start in range(0, len(gymnast_ids), _AT_ONCE):
            some = gymnast_ids[start : start + _AT_ONCE]
            query = select(SCREEN).where(SCREEN.c.gymnast_id.in_(some))
            rows = self._session.rows(query.order_by(SCREEN.c.screened_on, SCREEN.c.id))
            found.extend(map(screen_of, rows))
        return tuple(found)

    def view(self, screen_id: int) -> ScreenView:
        """Return a screen with everything in it."""
        return screen_views(self._session, [self._session.row(SCREEN, screen_id)])[0]

    def add_hold(
        self,
        screen_id: int,
        *,
        test: str,
        seconds: float,
        reached_cap: bool,
        author: str,
        video_id: int | None = None,
        rel_sd: float | None = None,
    ) -> HoldRecord:
        """Keep a hold."""
        self._session.row(SCREEN, screen_id, lock=True)
        hold_id = self._session.insert(
            HOLD,
            screen_id=screen_id,
            test=test,
            seconds=seconds,
            reached_cap=reached_cap,
            author=author,
            entered_at=self._session.now(),
            video_id=video_id,
            rel_sd=rel_sd,
        )
        touch_screens(self._session, [screen_id])
        return hold_of(self._session.row(HOLD, hold_id))

    def remove_hold(self, hold_id: int) -> int:
        """Remove a hold that was entered by mistake; return the id of its screen."""
        screen_id = int(self._session.row(HOLD, hold_id).screen_id)
        self._session.connection.execute(HOLD.delete().where(HOLD.c.id == hold_id))
        touch_screens(self._session, [screen_id])
        return screen_id

    def save_findings(
        self,
        screen: ScreenRecord,
        record: Json,
        *,
        catalogue: str,
        models: Sequence[str],
    ) -> FindingsRecord:
        """Keep findings of a screen as it was read."""
        self._session.row(SCREEN, screen.id)
        self._session.insert(
            FINDINGS,
            screen_id=screen.id,
            screen_revision=screen.revision,
            record=dict(record),
            catalogue=catalogue,
            models=list(models),
            judged_at=self._session.now(),
        )
        return self.findings(screen.id)[0]

    def findings(self, screen_id: int) -> tuple[FindingsRecord, ...]:
        """Return all findings of a screen, the latest first."""
        query = (
            select(FINDINGS, SCREEN.c.screened_on, SCREEN.c.revision)
            .join(SCREEN, SCREEN.c.id == FINDINGS.c.screen_id)
            .where(FINDINGS.c.screen_id == screen_id)
            .order_by(FINDINGS.c.id.desc())
        )
        return tuple(map(findings_of, self._session.rows(query)))
