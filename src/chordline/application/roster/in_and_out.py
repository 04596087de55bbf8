"""The roster in and out: a club's gymnasts as the rows of a file."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from chordline.application.club.consent import as_said, stand_of
from chordline.application.club.names import name_key
from chordline.application.club.ports import Records, Tx
from chordline.application.club.records import BodySize, Consent, GymnastRecord, NewGymnast
from chordline.application.club.refile import refile_unowned
from chordline.application.roster.match import all_gymnasts, groups_by_gymnast
from chordline.application.roster.preview import RosterLine, RosterPreview, preview_roster
from chordline.application.roster.table import Cell, RosterTable
from chordline.application.roster.values import RosterValues, join_groups
from chordline.errors import RefusedInputError

_FAULTS_TOLD = 5


class PreviewRoster:
    """Shows what a roster would do."""

    def __init__(self, records: Records) -> None:
        self._records = records

    def __call__(
        self, club_id: int, table: RosterTable, *, today: date, measured_on: date | None = None
    ) -> RosterPreview:
        """Return every line with its effect and everything that is wrong; nothing is changed.

        Parameters
        ----------
        club_id : int
        table : RosterTable
        today : date
        measured_on : date, optional
            Day of the sizes where a row does not say one; today by default.

        Raises
        ------
        RefusedInputError
            Where the header leaves unclear which column holds what.
        """
        with self._records.reading() as tx:
            return preview_roster(tx, club_id, table, today=today, measured_on=measured_on or today)


@dataclass(frozen=True)
class RosterOutcome:
    """What an import did.

    Attributes
    ----------
    preview : RosterPreview
        As it was found at the moment of the import: `of('new')` was taken in, `of('changes')`
        changed, `of('bad')` left out. After a repeated form: what it would have done again.
    author : str
        Who sent it.
    already_done : bool
        The form was sent before; nothing was done this time.
    pictures_withdrawn : tuple of int
        Gymnasts whose pictures may be kept no more; the pictures are still there.
    """

    preview: RosterPreview
    author: str
    already_done: bool = False
    pictures_withdrawn: tuple[int, ...] = ()

    @property
    def left_out(self) -> tuple[RosterLine, ...]:
        """The lines that were not imported, with what is wrong in them."""
        return self.preview.of("bad")


class ImportRoster:
    """Takes a roster in, all of it or nothing."""

    def __init__(self, records: Records) -> None:
        self._records = records

    def __call__(
        self,
        club_id: int,
        table: RosterTable,
        *,
        skip_bad: bool,
        token: str | None,
        today: date,
        author: str,
        measured_on: date | None = None,
    ) -> RosterOutcome:
        """Import in one transaction, looking at the club anew.

        An empty cell changes nothing. Groups that a row names are made where they are missing, and
        she is put into them; she is taken out of none.

        Parameters
        ----------
        club_id : int
        table : RosterTable
        skip_bad : bool
            Leave bad rows out instead of refusing the whole file.
        token : str or None
            Of the form: one that is sent twice imports once.
        today : date
        author : str
            Who imports.
        measured_on : date, optional
            Day of the sizes where a row does not say one; today by default.

        Raises
        ------
        RefusedInputError
            For a bad row unless bad ones are skipped, and where the header is unclear.
        """
        with self._records.transaction() as tx:
            first_time = token is None or tx.first_time(token)
            preview = preview_roster(
                tx, club_id, table, today=today, measured_on=measured_on or today
            )
            if not first_time:
                return RosterOutcome(preview, author, already_done=True)
            bad = preview.of("bad")
            if bad and not skip_bad:
                raise RefusedInputError(_refusal(bad))
            withdrawn = _Writer(tx, club_id, today).write(preview)
            if preview.of("new") or preview.of("changes"):
                refile_unowned(tx, club_id)
            return RosterOutcome(preview, author, pictures_withdrawn=withdrawn)


def _refusal(bad: Sequence[RosterLine]) -> str:
    told = [f"line {line.line}: {fault_words(line)}" for line in bad[:_FAULTS_TOLD]]
    if len(bad) > _FAULTS_TOLD:
        told.append(f"and {len(bad) - _FAULTS_TOLD} more")
    rows = "1 row is bad" if len(bad) == 1 else f"{len(bad)} rows are bad"
    return f"{rows} and nothing was imported; correct them or leave them out. " + ". ".join(told)


def fault_words(line: RosterLine) -> str:
    """Return everything that is wrong with a line as one text."""
    return "; ".join(f"{column}: {said}" if column else said for column, said in line.faults)


class _Writer:
    """Writes the good lines of a preview."""

    def __init__(self, tx: Tx, club_id: int, today: date) -> None:
        self._tx = tx
        self._club_id = club_id
        self._today = today

    def write(self, preview: RosterPreview) -> tuple[int, ...]:
        """Return the gymnasts whose pictures may be kept no more."""
        lines = preview.of("changes")
        known = {line.line: self._tx.gymnasts.get(_id(line)) for line in lines}
        withdrawn = []
        self._free_cards(lines, known)
        members: dict[str, list[int]] = {}
        for line in (line for line in preview.lines if line.effect in ("new", "changes")):
            values = _values(line)
            before = known.get(line.line)
            after = self._take_in(values) if before is None else self._change(before, values)
            if before and before.consent.keep_pictures and not after.consent.keep_pictures:
                withdrawn.append(after.id)
            self._add_size(after.id, values, line)
            for name in values.groups:
                members.setdefault(name_key(name), []).append(after.id)
        self._put_in_groups(members, preview.new_groups)
        return tuple(withdrawn)

    def _free_cards(self, lines: Sequence[RosterLine], known: dict[int, GymnastRecord]) -> None:
        """Take cards from those who get another one, so that others may have them."""
        for line in lines:
            one = known[line.line]
            if one.card is not None and _values(line).card not in (None, one.card):
                known[line.line] = self._tx.gymnasts.update(replace(one, card=None))

    def _take_in(self, values: RosterValues) -> GymnastRecord:
        consent = _consent(values, Consent(), self._today)
        new = NewGymnast(
            values.name, values.card, values.birth_date, consent, values.growth_reference
        )
        return self._tx.gymnasts.add(self._club_id, new)

    def _change(self, before: GymnastRecord, values: RosterValues) -> GymnastRecord:
        after = replace(
            before,
            name=values.name,
            card=before.card if values.card is None else values.card,
            birth_date=values.birth_date or before.birth_date,
            growth_reference=values.growth_reference or before.growth_reference,
            consent=_consent(values, before.consent, self._today),
        )
        return before if after == before else self._tx.gymnasts.update(after)

    def _add_size(self, gymnast_id: int, values: RosterValues, line: RosterLine) -> None:
        changed = {change.column for change in line.changes}
        sizes = {
            column: value
            for column, value in values.sizes.items()
            if line.effect == "new" or column in changed
        }
        if sizes and values.measured_on is not None:
            self._tx.gymnasts.add_size(gymnast_id, BodySize(values.measured_on, **sizes))

    def _put_in_groups(self, members: Mapping[str, Sequence[int]], new: Sequence[str]) -> None:
        for name in new:
            self._tx.clubs.add_group(self._club_id, name)
        for group in self._tx.clubs.groups(self._club_id):
            ids = members.get(name_key(group.name))
            if ids:
                self._tx.clubs.put_in_group(group.id, ids)


def _id(line: RosterLine) -> int:
    assert line.gymnast_id is not None
    return line.gymnast_id


def _values(line: RosterLine) -> RosterValues:
    assert line.values is not None
    return line.values


def _consent(values: RosterValues, before: Consent, today: date) -> Consent:
    """Return what stands after a row; one that says no to everything is a family's no."""

    def said(new: bool | None, old: bool) -> bool:
        return old if new is None else new

    after = replace(
        before,
        measure=said(values.consent_measure, before.measure),
        keep_pictures=said(values.consent_keep_pictures, before.keep_pictures),
        show_to_squad=said(values.consent_show_to_squad, before.show_to_squad),
        until=values.consent_until or before.until,
    )
    told = (values.consent_measure, values.consent_keep_pictures, values.consent_show_to_squad)
    if stand_of(after, today) != "not_asked":
        return as_said(before, after, today)
    # A last day alone is no answer.
    return after if told == (None, None, None) else replace(after, said_on=today)


class ExportRoster:
    """Gives the roster as an import takes it."""

    def __init__(self, records: Records) -> None:
        self._records = records

    def __call__(self, club_id: int, group_id: int | None = None) -> tuple[Mapping[str, Cell], ...]:
        """Return a row for everybody who trains, by name, with the sizes of her latest day.

        Each row has every column of `COLUMNS`. Importing the rows again changes nothing.
        """
        with self._records.reading() as tx:
            groups = groups_by_gymnast(tx, club_id, tx.clubs.groups(club_id))
            return tuple(
                _row(
                    row.gymnast,
                    tx.gymnasts.view(row.gymnast.id, screens=0).sizes,
                    tuple(group.name for group in groups.get(row.gymnast.id, ())),
                )
                for row in all_gymnasts(tx, club_id, group_id=group_id)
            )


def _row(
    one: GymnastRecord, sizes: Sequence[BodySize], groups: tuple[str, ...]
) -> Mapping[str, Cell]:
    latest = max(sizes, key=lambda size: size.taken_on, default=BodySize(date.min))
    return {
        "card": one.card,
        "name": one.name,
        "birth_date": one.birth_date,
        "growth_reference": one.growth_reference,
        "stature_cm": latest.stature_cm,
        "mass_kg": latest.mass_kg,
        "sitting_height_cm": latest.sitting_height_cm,
        "measured_on": latest.taken_on if sizes else None,
        "group": join_groups(groups),
        "consent_measure": _yes_or_no(one.consent.measure, one.consent),
        "consent_keep_pictures": _yes_or_no(one.consent.keep_pictures, one.consent),
        "consent_show_to_squad": _yes_or_no(one.consent.show_to_squad, one.consent),
        "consent_until": one.consent.until,
    }


def _yes_or_no(said: bool, consent: Consent) -> str | None:
    """Return a word; none where nobody was asked, which is not a no."""
    if stand_of(consent, date.min) == "not_asked":
        return None
    return "yes" if said else "no"
