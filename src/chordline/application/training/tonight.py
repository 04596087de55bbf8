"""Tonight: the evening of a group, from who comes in to what was done."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any, Final

from chordline.application.club.ports import Records, Tx
from chordline.application.club.records import Group, Json
from chordline.application.days import day_in_words
from chordline.application.training.allowed import Allowed
from chordline.application.training.deal import deal_evening
from chordline.application.training.done_work import keep_done
from chordline.application.training.evening_json import (
    begin_evening,
    begun_rounds,
    places_of,
    planned_rounds,
    present_of,
    rounds_of,
    with_dealt,
)
from chordline.application.training.members import Member, find_group, read_members
from chordline.application.training.plan_problem import build_problem
from chordline.application.training.plan_request import request_for
from chordline.application.training.records import (
    PlanRecord,
    SessionRecord,
    SessionState,
    StaleTrainingError,
)
from chordline.catalogue.schema import Catalogue
from chordline.catalogue.training_schema import TrainingCatalogue
from chordline.errors import RefusedInputError

#: So often a change that met another's is made again upon it.
_TRIES: Final = 5


@dataclass(frozen=True)
class Evening:
    """An evening as a page shows it.

    Attributes
    ----------
    group : Group
    session : SessionRecord
        `record` holds the rounds as they stand.
    members : tuple of Member
        Of the group, by name.
    present : frozenset of int
        Who is taken to be there.
    marked : mapping of gymnast to bool
        Who was marked, and whether she came.
    planned_anew : bool
        Whether a plan was made since; unless a round has begun, dealing takes its turns.
    """

    group: Group
    session: SessionRecord
    members: tuple[Member, ...]
    present: frozenset[int]
    marked: Mapping[int, bool]
    planned_anew: bool = False

    @property
    def pattern_of(self) -> date | None:
        """The day whose turns were taken because the plan has none of this one."""
        said = self.session.record["pattern_of"]
        return None if said is None else date.fromisoformat(said)


class Tonight:
    """Use case: open an evening, deal it among those who came, and end it.

    Each call is one transaction. Who came can be marked by several at once: no mark is lost. Of
    two who end it at once, or end it while it is dealt, the second is told.
    """

    def __init__(self, records: Records, catalogue: Catalogue, training: TrainingCatalogue) -> None:
        self._records = records
        self._catalogue = catalogue
        self._training = training

    def look(self, group_id: int, day: date) -> Evening | None:
        """Return an evening that was opened, as it stands; None where nobody has opened it."""
        with self._records.reading() as tx:
            session = tx.training.session_held(group_id, day)
            return None if session is None else self._evening(tx, session)

    def open(self, group_id: int, day: date) -> Evening:
        """Return the evening of a day; begin it from the plan that holds then.

        Where the plan has no session on that day, the turns of the nearest one are taken;
        `Evening.pattern_of` says so. What has not begun is dealt anew: a sign that was reported
        since the plan was made holds her back tonight, and a plan made since is kept to.

        Raises
        ------
        NotThereError
            Where there is no such group.
        RefusedInputError
            Where no plan holds on that day.
        """
        with self._records.transaction() as tx:
            session = tx.training.session_held(group_id, day)
            if session is None:
                session = self._begin(tx, find_group(tx, group_id), day)
            if session.state != "ended":
                session = self._deal(tx, session)
            return self._evening(tx, session)

    def mark(
        self, session_id: int, came: Mapping[int, bool], *, begun: int | None = None
    ) -> Evening:
        """Keep who came and who did not, and deal what has not begun anew.

        Parameters
        ----------
        session_id : int
        came : mapping of gymnast to bool
        begun : int, optional
            How many rounds have begun: they stay as they are. As said before if unset.

        Raises
        ------
        RefusedInputError
            Where the evening has ended.
        """

        def marked(tx: Tx, session: SessionRecord) -> SessionRecord:
            _not_ended(session)
            for gymnast_id, present in came.items():
                tx.training.mark_present(session_id, gymnast_id, present)
            return self._deal(tx, session if begun is None else _begun(tx, session, begun))

        return self._again_if_met(session_id, marked)

    def end(
        self,
        session_id: int,
        *,
        version: int,
        author: str,
        rounds: int | None = None,
    ) -> Evening:
        """End an evening: everybody present did what stands in its rounds, unless said otherwise.

        Parameters
        ----------
        session_id, version : int
        author : str
        rounds : int, optional
            How many rounds there were; all of them if unset.
        """

        def ended(tx: Tx, session: SessionRecord) -> SessionRecord:
            if session.state == "ended":
                return session
            changed = _change(tx, session, version, session.record, "ended")
            done = rounds_of(changed.record)[:rounds]
            keep_done(tx, changed, done, training=self._training, author=author)
            return changed

        return self._once(session_id, ended)

    def _once(
        self, session_id: int, change: Callable[[Tx, SessionRecord], SessionRecord]
    ) -> Evening:
        with self._records.transaction() as tx:
            return self._evening(tx, change(tx, tx.training.session(session_id)))

    def _again_if_met(
        self, session_id: int, change: Callable[[Tx, SessionRecord], SessionRecord]
    ) -> Evening:
        for _ in range(_TRIES - 1):
            try:
                return self._once(session_id, change)
            except StaleTrainingError:
                continue
        return self._once(session_id, change)

    def _begin(self, tx: Tx, group: Group, day: date) -> SessionRecord:
        plan = tx.training.plan_holding(group.id, day)
        if plan is None:
            raise RefusedInputError(
                f"no plan of {group.name} holds on {day_in_words(day)}; make one first"
            )
        return tx.training.session_on(group.id, day, plan_id=plan.id, record=_first(plan, day))

    def _planned_since(self, tx: Tx, session: SessionRecord) -> PlanRecord | None:
        """Return the plan that holds now, where an evening was taken from another."""
        plan = tx.training.plan_holding(session.group_id, session.held_on)
        return None if plan is None or plan.id == session.plan_id else plan

    def _deal(self, tx: Tx, session: SessionRecord) -> SessionRecord:
        """Return the session with what has not begun dealt among those who are there."""
        group = find_group(tx, session.group_id)
        members = self._members(tx, group, session.held_on)
        evening = session.record
        since = None if begun_rounds(evening) else self._planned_since(tx, session)
        if since is not None:
            evening = _first(since, session.held_on)
        present = present_of(
            evening, tx.training.attendance(session.id), [one.id for one in members]
        )
        yesterday = session.held_on - timedelta(days=1)
        request = request_for(
            group,
            tx.training.group(group.id),
            members,
            first_day=session.held_on,
            weeks=1,
        )
        allowed = Allowed(
            build_problem(request, self._training, self._catalogue),
            yesterday=tx.training.work(sorted(present), first=yesterday, last=yesterday),
        )
        dealt = deal_evening(
            planned_rounds(evening),
            begun=begun_rounds(evening),
            present=present,
            places=places_of(evening),
            rules=allowed,
        )
        absent = [one.id for one in members if one.id not in present]
        record = with_dealt(evening, dealt, absent=absent)
        if record == session.record and since is None:
            return session
        return tx.training.change_session(
            session.id,
            version=session.version,
            record=record,
            state=session.state,
            plan_id=None if since is None else since.id,
        )

    def _evening(self, tx: Tx, session: SessionRecord) -> Evening:
        group = find_group(tx, session.group_id)
        members = self._members(tx, group, session.held_on)
        marked = tx.training.attendance(session.id)
        present = present_of(session.record, marked, [one.id for one in members])
        anew = session.state != "ended" and self._planned_since(tx, session) is not None
        return Evening(group, session, members, present, marked, planned_anew=anew)

    def _members(self, tx: Tx, group: Group, day: date) -> tuple[Member, ...]:
        return read_members(tx, group, today=day, catalogue=self._catalogue)


def _not_ended(session: SessionRecord) -> None:
    if session.state == "ended":
        raise RefusedInputError("this session has ended; say of each gymnast what she did instead")


def _change(
    tx: Tx, session: SessionRecord, version: int, record: Json, state: SessionState
) -> SessionRecord:
    return tx.training.change_session(session.id, version=version, record=record, state=state)


def _begun(tx: Tx, session: SessionRecord, rounds: int) -> SessionRecord:
    """Return a session of which so many rounds have begun."""
    there = len(session.record["rounds"])
    if not 0 <= rounds <= there:
        raise RefusedInputError(f"this session has {there} rounds; say how many of them have begun")
    record = {**session.record, "round": rounds - 1 if rounds else None}
    state: SessionState = "running" if rounds else "planned"
    if record == session.record and state == session.state:
        return session
    return _change(tx, session, session.version, record, state)


def _first(plan: PlanRecord, day: date) -> dict[str, Any]:
    """Return an evening that nobody has come to yet."""
    return begin_evening(_nearest(plan, day), day=day, stations=plan.record["stations"])


def _nearest(plan: PlanRecord, day: date) -> Mapping[str, Any]:
    """Return the session of a day, else the nearest one; of two as near, the earlier."""
    sessions: Sequence[Mapping[str, Any]] = plan.record["sessions"]
    if not sessions:
        raise RefusedInputError("this plan has no session; make another")
    return min(sessions, key=lambda one: _distance(one, day))


def _distance(session: Mapping[str, Any], day: date) -> tuple[int, date]:
    held_on = date.fromisoformat(session["date"])
    return abs((held_on - day).days), held_on
