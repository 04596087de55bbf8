"""Which row of a roster is which gymnast of the club; nobody is guessed."""

from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from chordline.application.club.names import name_key
from chordline.application.club.ports import Tx
from chordline.application.club.records import Group, GymnastRecord
from chordline.application.club.views import GymnastQuery, GymnastRow
from chordline.application.roster.table import Fault
from chordline.application.roster.values import ReadRow

_PAGE_ROWS = 500


def all_gymnasts(
    tx: Tx, club_id: int, *, text: str = "", group_id: int | None = None, archived: bool = False
) -> Iterator[GymnastRow]:
    """Yield every gymnast that a query finds, by name."""
    after: str | None = None
    while True:
        page = tx.gymnasts.page(
            GymnastQuery(
                club_id,
                text=text,
                group_id=group_id,
                archived=archived,
                after=after,
                limit=_PAGE_ROWS,
            )
        )
        yield from page.rows
        if page.next is None:
            return
        after = page.next


def groups_by_gymnast(
    tx: Tx, club_id: int, groups: Sequence[Group]
) -> dict[int, tuple[Group, ...]]:
    """Return the groups of everybody who trains in one, by gymnast id."""
    members: dict[int, list[Group]] = defaultdict(list)
    for group in groups:
        for row in all_gymnasts(tx, club_id, group_id=group.id):
            members[row.gymnast.id].append(group)
    return {gymnast_id: tuple(hers) for gymnast_id, hers in members.items()}


@dataclass(frozen=True)
class ClubNow:
    """Who is in the club at this moment.

    Attributes
    ----------
    by_card, by_name : mapping
        Those who train; a name stands as its `name_key`.
    archived : mapping
        Those put away, by `name_key`.
    """

    by_card: Mapping[int, GymnastRecord]
    by_name: Mapping[str, Sequence[GymnastRecord]]
    archived: Mapping[str, Sequence[GymnastRecord]]

    @classmethod
    def read(cls, tx: Tx, club_id: int) -> "ClubNow":
        """Return the club as a transaction sees it."""
        here = [row.gymnast for row in all_gymnasts(tx, club_id)]
        away = [row.gymnast for row in all_gymnasts(tx, club_id, archived=True)]
        by_card = {one.card: one for one in here if one.card is not None}
        return cls(by_card, _by_name(here), _by_name(away))


def _by_name(gymnasts: Sequence[GymnastRecord]) -> dict[str, list[GymnastRecord]]:
    found: dict[str, list[GymnastRecord]] = defaultdict(list)
    for one in gymnasts:
        found[name_key(one.name)].append(one)
    return found


@dataclass
class MatchedRow:
    """A row and the gymnast it is about.

    Attributes
    ----------
    line : int
    row : ReadRow
    gymnast : GymnastRecord or None
        None = she is not in the club, or it cannot be told.
    faults : list of Fault
        Of this row beside others and beside the club.
    remark : str
        What should be looked at though nothing is wrong.
    ambiguous : bool
        She may be one of several.
    """

    line: int
    row: ReadRow
    gymnast: GymnastRecord | None = None
    faults: list[Fault] = field(default_factory=list)
    remark: str = ""
    ambiguous: bool = False

    def cannot_tell(self, sentence: str) -> None:
        """Say why it cannot be told who she is."""
        self.faults.append(("name", sentence))
        self.gymnast = None
        self.ambiguous = True

    @property
    def key(self) -> str:
        """The name, whatever its spelling."""
        return name_key(self.row.values.name)

    def contradicts(self, other: GymnastRecord) -> bool:
        """Return whether both have a birth date and they differ."""
        born = self.row.values.birth_date
        return born is not None and other.birth_date is not None and born != other.birth_date

    def shares_birth_date(self, other: GymnastRecord) -> bool:
        """Return whether both have the same birth date."""
        born = self.row.values.birth_date
        return born is not None and born == other.birth_date


def match_rows(rows: Sequence[MatchedRow], club: ClubNow) -> None:
    """Find each row's gymnast; say where rows contradict each other or the club.

    A row is the gymnast with its card and name; else the one with its name and birth date; else
    the only one of its name whose birth date does not contradict it.
    """
    _find_repeated(rows)
    named = [row for row in rows if row.key]
    _claim(named, lambda row: _holder_of_that_name(row, club))
    _claim(named, lambda row: list(filter(row.shares_birth_date, _called(row, club))))
    _claim(named, lambda row: _only_by_name(row, club))
    for row in named:
        if row.gymnast is None and not row.ambiguous:
            _look_for_namesakes(row, club)


def _called(row: MatchedRow, club: ClubNow) -> Sequence[GymnastRecord]:
    return club.by_name.get(row.key, ())


def _only_by_name(row: MatchedRow, club: ClubNow) -> list[GymnastRecord]:
    if row.row.is_unreadable("birth_date"):  # it might tell two of one name apart
        return []
    return [one for one in _called(row, club) if not row.contradicts(one)]


def _holder_of_that_name(row: MatchedRow, club: ClubNow) -> list[GymnastRecord]:
    card = row.row.values.card
    holder = None if card is None else club.by_card.get(card)
    if holder is None or name_key(holder.name) != row.key:
        return []
    other = any(map(row.shares_birth_date, _called(row, club)))
    return [] if row.contradicts(holder) and other else [holder]


def _claim(
    rows: Sequence[MatchedRow], candidates_of: Callable[[MatchedRow], list[GymnastRecord]]
) -> None:
    """Give rows their gymnast where one row and one gymnast have only each other."""
    claimed = {row.gymnast.id for row in rows if row.gymnast is not None}
    wanted: dict[int, list[MatchedRow]] = defaultdict(list)
    for row in rows:
        if row.gymnast is not None or row.ambiguous:
            continue
        candidates = [one for one in candidates_of(row) if one.id not in claimed]
        if len(candidates) == 1:
            wanted[candidates[0].id].append(row)
            row.gymnast = candidates[0]
        elif candidates:
            row.cannot_tell(
                f"{len(candidates)} in the club are called {candidates[0].name}; write the card "
                "and birth date of the one that is meant"
            )
    for rivals in wanted.values():
        for row in rivals if len(rivals) > 1 else ():
            others = ", ".join(str(other.line) for other in rivals if other is not row)
            row.cannot_tell(
                f"this row and line {others} could both be {row.row.values.name} of the club; "
                "write her card or birth date as they are recorded"
            )


def _find_repeated(rows: Sequence[MatchedRow]) -> None:
    first_with_card: dict[int, int] = {}
    by_name: dict[str, list[MatchedRow]] = defaultdict(list)
    for row in rows:
        card = row.row.values.card
        if card is not None and first_with_card.setdefault(card, row.line) != row.line:
            earlier = first_with_card[card]
            row.faults.append(("card", f"card {card} stands on line {earlier} already"))
        if not row.key:
            continue
        for before in by_name[row.key]:
            sentence = _same_person(row, before)
            if sentence:
                row.faults.append(("name", sentence))
                break
        by_name[row.key].append(row)


def _same_person(row: MatchedRow, before: MatchedRow) -> str | None:
    """Return why two rows of one name are not told apart; None where they are, or cannot be yet."""
    if any(one.row.is_unreadable(column) for one in (row, before) for column in _TELL_APART):
        return None
    new, old = row.row.values, before.row.values
    if None not in (new.birth_date, old.birth_date) and new.birth_date != old.birth_date:
        return None
    if None not in (new.card, old.card) and new.card != old.card:
        if new.birth_date is not None and new.birth_date == old.birth_date:
            row.remark = (
                f"line {before.line} has the same name and birth date; the two are taken as two "
                "gymnasts because their cards differ"
            )
        return None
    return (
        f"{new.name} stands on line {before.line} already; leave one out or, if they are two "
        "gymnasts, write both birth dates or both cards"
    )


_TELL_APART = ("birth_date", "card")


def _look_for_namesakes(row: MatchedRow, club: ClubNow) -> None:
    away = club.archived.get(row.key, ())
    if any(row.shares_birth_date(one) for one in away):
        row.faults.append(
            ("name", f"{row.row.values.name} was put away in the club; bring her back first")
        )
        return
    namesakes = [one for one in club.by_name.get(row.key, ()) if row.contradicts(one)]
    if namesakes:
        row.remark = row.remark or (
            f"{namesakes[0].name}, born {namesakes[0].birth_date}, is another gymnast of the club; "
            "if she is meant, leave this row out and change her birth date on her page"
        )
    elif any(not row.contradicts(one) for one in away):
        row.remark = row.remark or (
            f"somebody called {row.row.values.name} was put away in the club; "
            "if she is meant, leave this row out and bring her back"
        )


def find_taken_cards(rows: Sequence[MatchedRow], club: ClubNow) -> None:
    """Say where a card is somebody else's who does not give it up in the same file.

    Cards may be handed out anew in one file, also in a circle. Where a row is left out, its
    gymnast keeps her card, which may put another row in the wrong: hence the repetition.
    """
    told: set[int] = set()
    while True:
        giving_up = {
            row.gymnast.id
            for row in rows
            if row.gymnast is not None
            and not (row.faults or row.row.faults)
            and row.row.values.card not in (None, row.gymnast.card)
        }
        found = False
        for row in rows:
            card = row.row.values.card
            holder = None if card is None else club.by_card.get(card)
            if holder is None or row.line in told or holder.id in giving_up:
                continue
            if row.gymnast is None or row.gymnast.id != holder.id:
                row.faults.append(("card", _taken(row, holder)))
                told.add(row.line)
                found = True
        if not found:
            return


def _taken(row: MatchedRow, holder: GymnastRecord) -> str:
    if row.key and name_key(holder.name) != row.key and row.shares_birth_date(holder):
        return (
            f"card {holder.card} is {holder.name}'s in the club, born the same day; if this is her "
            "new name, change it on her page first, else write another card"
        )
    return f"card {holder.card} is {holder.name}'s in the club; write another card"
