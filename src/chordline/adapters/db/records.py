"""Opens the club's records: implements `Records`."""

from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager, nullcontext, suppress
from datetime import UTC, datetime
from functools import cached_property

from sqlalchemy import Engine

from chordline.adapters.db.account_trail import SqlTrail, write_act
from chordline.adapters.db.accounts import SqlAccounts
from chordline.adapters.db.clubs import SqlClubs
from chordline.adapters.db.engine import BUSY_TIMEOUT_S, for_reading, for_writing, make_engine
from chordline.adapters.db.erased import SqlErased
from chordline.adapters.db.gymnasts import SqlGymnasts
from chordline.adapters.db.jobs import SqlJobs
from chordline.adapters.db.migrate import upgrade
from chordline.adapters.db.photo_history import keep_refused
from chordline.adapters.db.photos import SqlPhotos
from chordline.adapters.db.refusals import sentences
from chordline.adapters.db.schema import SENT_FORM
from chordline.adapters.db.screens import SqlScreens
from chordline.adapters.db.session import Session
from chordline.adapters.db.studies import SqlStudies
from chordline.adapters.db.training import SqlTraining
from chordline.adapters.db.vault_keys import SqlKeys
from chordline.adapters.db.videos import SqlVideos
from chordline.adapters.db.writers_line import WritersLine
from chordline.application.accounts.acting import ACTING
from chordline.errors import NotThereError

Clock = Callable[[], datetime]

#: How long scrubbing waits for readers; it is done again at the next start [ms].
_SCRUB_WAITS_MS = 2000


class SqlTx:
    """Implements `Tx`: the books of one transaction."""

    def __init__(self, session: Session) -> None:
        self._session = session

    @cached_property
    def clubs(self) -> SqlClubs:
        """Clubs and groups."""
        return SqlClubs(self._session)

    @cached_property
    def gymnasts(self) -> SqlGymnasts:
        """Gymnasts."""
        return SqlGymnasts(self._session)

    @cached_property
    def screens(self) -> SqlScreens:
        """Screens, holds, findings."""
        return SqlScreens(self._session)

    @cached_property
    def photos(self) -> SqlPhotos:
        """Photos, marks, measurements."""
        return SqlPhotos(self._session)

    @cached_property
    def videos(self) -> SqlVideos:
        """Videos and what was read off them."""
        return SqlVideos(self._session)

    @cached_property
    def keys(self) -> SqlKeys:
        """Wrapped keys of pictures."""
        return SqlKeys(self._session)

    @cached_property
    def jobs(self) -> SqlJobs:
        """Work that goes on."""
        return SqlJobs(self._session)

    @cached_property
    def training(self) -> SqlTraining:
        """How groups train, plans, sessions, what was done, skills."""
        return SqlTraining(self._session)

    @cached_property
    def studies(self) -> SqlStudies:
        """Studies of marks, photos taken twice, the club's own errors."""
        return SqlStudies(self._session)

    @cached_property
    def accounts(self) -> SqlAccounts:
        """Accounts and who is logged in."""
        return SqlAccounts(self._session)

    @cached_property
    def trail(self) -> SqlTrail:
        """Who saw and changed what."""
        return SqlTrail(self._session)

    @cached_property
    def erased(self) -> SqlErased:
        """Who was erased, and what is kept of somebody."""
        return SqlErased(self._session)

    def first_time(self, token: str) -> bool:
        """Return False where a form of this token was sent before."""
        values = {"token": token, "sent_at": self._session.now()}
        return self._session.insert_once(SENT_FORM, ("token",), **values)


class SqlRecords:
    """The records in a database of this program's schema."""

    def __init__(self, engine: Engine, clock: Clock) -> None:
        self._engine = engine
        self._clock = clock
        self._writing = for_writing(engine)
        self._reading = for_reading(engine)
        self._line = WritersLine() if engine.dialect.name == "sqlite" else None

    @contextmanager
    def transaction(self) -> Iterator[SqlTx]:
        """Read and write; all of it is kept, or, after an exception, nothing.

        Marks that were refused because somebody had been quicker are kept in either case.
        """
        with sentences():
            refused = []
            try:
                with self._turn(), self._writing.begin() as connection:
                    session = Session(connection, self._clock)
                    refused = session.refused_marks
                    act = ACTING.get()
                    # Before the change: afterwards nobody could tell whose photo it was.
                    told = act is not None and not act.written and write_act(session, act)
                    yield SqlTx(session)
                if act is not None and told:
                    act.written = True
            finally:
                if refused:
                    with self._turn(), self._writing.begin() as connection:
                        for one in refused:
                            # A photo that was removed meanwhile needs no marks.
                            with suppress(NotThereError):
                                keep_refused(Session(connection, self._clock), one)

    def _turn(self) -> AbstractContextManager[None]:
        return nullcontext() if self._line is None else self._line.turn()

    @contextmanager
    def reading(self) -> Iterator[SqlTx]:
        """Read one consistent state without waiting for writers."""
        with sentences(), self._reading.begin() as connection:
            yield SqlTx(Session(connection, self._clock))

    def scrub(self) -> bool:
        """Leave nothing in SQLite's log of what was erased; False where that cannot be said."""
        if self._engine.dialect.name != "sqlite":
            return False
        with sentences():
            connection = self._engine.raw_connection()
            try:
                cursor = connection.cursor()
                cursor.execute(f"PRAGMA busy_timeout = {_SCRUB_WAITS_MS}")
                # Its first column says whether somebody stood in the way.
                answer = cursor.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()
                cursor.execute(f"PRAGMA busy_timeout = {int(BUSY_TIMEOUT_S * 1000)}")
                cursor.close()
            finally:
                connection.close()
        return answer is not None and not answer[0]

    def close(self) -> None:
        """Let go of the database."""
        self._engine.dispose()


def now_utc() -> datetime:
    """Return the present moment."""
    return datetime.now(UTC)


def open_records(address: str, *, clock: Clock = now_utc) -> SqlRecords:
    """Open the records and bring them to this program's schema.

    Parameters
    ----------
    address : str
        ``sqlite:///FILE`` or ``postgresql://USER@HOST/DATABASE``.
    clock : callable, optional
        Gives the present moment, aware.

    Raises
    ------
    WrongUseError
        For any other address.
    NewerRecordsError
        Where a newer chordline wrote them.
    RecordsError
        Where they cannot be reached.
    """
    engine = make_engine(address)
    try:
        with sentences():
            upgrade(engine)
    except BaseException:
        engine.dispose()
        raise
    return SqlRecords(engine, clock)
