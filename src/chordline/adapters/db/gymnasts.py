"""Implements `GymnastBook`."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

from sqlalchemy import ColumnElement, func, select

from chordline.adapters.db import gymnast_pages
from chordline.adapters.db.clubs import groups_of_gymnast
from chordline.adapters.db.rows import consent_values, gymnast_of, note_of, size_of
from chordline.adapters.db.schema import BODY_SIZE, CLUB, GYMNAST, NOTE, PHOTO, SCREEN
from chordline.adapters.db.search_keys import name_key
from chordline.adapters.db.session import Session
from chordline.adapters.db.video_schema import VIDEO
from chordline.adapters.db.views import keys_not_needed, screen_views
from chordline.application.club.records import (
    BodySize,
    GymnastRecord,
    NewGymnast,
    NoteKind,
    NoteRecord,
    StaleGymnastError,
)
from chordline.application.club.views import (
    GymnastQuery,
    GymnastRow,
    GymnastView,
    Page,
    SquadRow,
)
from chordline.errors import ImpossibleRecordError, TakenError


class SqlGymnasts:
    """Gymnasts."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def add(self, club_id: int, new: NewGymnast) -> GymnastRecord:
        """Take a gymnast in."""
        self._session.row(CLUB, club_id)
        self._check_card(club_id, new.card, but=None)
        self._check_birth(new.birth_date)
        gymnast_id = self._session.insert(
            GYMNAST,
            club_id=club_id,
            version=1,
            created_at=self._session.now(),
            **_name_values(new.name),
            card=new.card,
            birth_date=new.birth_date,
            growth_reference=new.growth_reference,
            **consent_values(new.consent),
        )
        return self.get(gymnast_id)

    def get(self, gymnast_id: int) -> GymnastRecord:
        """Return a gymnast."""
        return gymnast_of(self._session.row(GYMNAST, gymnast_id))

    def with_card(self, club_id: int, card: int) -> GymnastRecord | None:
        """Return the gymnast who has a card."""
        query = select(GYMNAST).where(
            GYMNAST.c.club_id == club_id, GYMNAST.c.card == card, GYMNAST.c.archived_at.is_(None)
        )
        found = self._session.rows(query)
        return gymnast_of(found[0]) if found else None

    def cards(self, club_id: int) -> frozenset[int]:
        """Return the cards of those who are not archived."""
        given = select(GYMNAST.c.card).where(*_here(club_id), GYMNAST.c.card.is_not(None))
        return frozenset(row.card for row in self._session.rows(given))

    def give_cards(self, club_id: int, cards: Sequence[int]) -> int:
        """Give everybody without a card the first free one, by name."""
        taken = self.cards(club_id)
        free = iter([card for card in cards if card not in taken])
        without = select(GYMNAST).where(*_here(club_id), GYMNAST.c.card.is_(None))
        given = 0
        for row in self._session.rows(without.order_by(GYMNAST.c.name_key, GYMNAST.c.id)):
            card = next(free, None)
            if card is None:
                break
            self._session.change(GYMNAST, row.id, card=card, version=row.version + 1)
            given += 1
        return given

    def named(self, club_id: int, name: str) -> tuple[GymnastRecord, ...]:
        """Return everybody of a name."""
        query = select(GYMNAST).where(
            GYMNAST.c.club_id == club_id, GYMNAST.c.name_key == name_key(name)
        )
        return tuple(map(gymnast_of, self._session.rows(query.order_by(GYMNAST.c.id))))

    def update(self, changed: GymnastRecord) -> GymnastRecord:
        """Save name, card, birth date, growth reference and consent."""
        current = gymnast_of(self._session.row(GYMNAST, changed.id, lock=True))
        if current.version != changed.version:
            raise StaleGymnastError(current)
        if current.archived_at is None:
            self._check_card(current.club_id, changed.card, but=changed.id)
        self._check_birth(changed.birth_date, changed.id)
        self._session.change(
            GYMNAST,
            changed.id,
            version=changed.version + 1,
            **_name_values(changed.name),
            card=changed.card,
            birth_date=changed.birth_date,
            growth_reference=changed.growth_reference,
            **consent_values(changed.consent),
        )
        return self.get(changed.id)

    def archive(self, gymnast_id: int) -> GymnastRecord:
        """Put a gymnast away."""
        current = gymnast_of(self._session.row(GYMNAST, gymnast_id, lock=True))
        if current.archived_at is None:
            self._session.change(
                GYMNAST, gymnast_id, archived_at=self._session.now(), version=current.version + 1
            )
        return self.get(gymnast_id)

    def bring_back(self, gymnast_id: int) -> GymnastRecord:
        """Undo `archive`."""
        current = gymnast_of(self._session.row(GYMNAST, gymnast_id, lock=True))
        if current.archived_at is not None:
            self._check_card(current.club_id, current.card, but=gymnast_id)
            self._session.change(GYMNAST, gymnast_id, archived_at=None, version=current.version + 1)
        return self.get(gymnast_id)

    def erase(self, gymnast_id: int) -> tuple[str, ...]:
        """Remove a gymnast with everything of hers."""
        self._session.row(GYMNAST, gymnast_id, lock=True)
        hers = select(SCREEN.c.id).where(SCREEN.c.gymnast_id == gymnast_id)
        keys: set[str] = set()
        for table in (PHOTO, VIDEO):
            kept = select(table.c.content_key).where(
                table.c.screen_id.in_(hers), table.c.content_key.is_not(None)
            )
            keys |= {row.content_key for row in self._session.rows(kept)}
        self._session.connection.execute(GYMNAST.delete().where(GYMNAST.c.id == gymnast_id))
        return keys_not_needed(self._session, keys)

    def add_size(self, gymnast_id: int, size: BodySize) -> BodySize:
        """Keep what was measured on a day."""
        her = self._session.row(GYMNAST, gymnast_id, lock=True)
        self._check_day(size.taken_on, her.birth_date)
        of_day = (BODY_SIZE.c.gymnast_id == gymnast_id, BODY_SIZE.c.taken_on == size.taken_on)
        given: dict[str, Any] = {
            name: value
            for name in ("stature_cm", "mass_kg", "sitting_height_cm")
            if (value := getattr(size, name)) is not None
        }
        before = self._session.rows(select(BODY_SIZE).where(*of_day))
        if before:
            size = replace(size_of(before[0]), **given)
            change = BODY_SIZE.update().where(*of_day).values(**given)
            if given:
                self._session.connection.execute(change)
        else:
            new = BODY_SIZE.insert().values(gymnast_id=gymnast_id, taken_on=size.taken_on, **given)
            self._session.connection.execute(new)
        return size

    def add_note(
        self,
        gymnast_id: int,
        *,
        noted_on: date,
        kind: NoteKind,
        text: str,
        author: str,
        flag: str | None = None,
    ) -> NoteRecord:
        """Keep a note."""
        self._session.row(GYMNAST, gymnast_id)
        note_id = self._session.insert(
            NOTE,
            gymnast_id=gymnast_id,
            noted_on=noted_on,
            kind=kind,
            flag=flag,
            text=text,
            author=author,
        )
        return note_of(self._session.row(NOTE, note_id))

    def sizes(self, gymnast_id: int) -> tuple[BodySize, ...]:
        """Return what was measured of her body, the first day first."""
        hers = select(BODY_SIZE).where(BODY_SIZE.c.gymnast_id == gymnast_id)
        return tuple(map(size_of, self._session.rows(hers.order_by(BODY_SIZE.c.taken_on))))

    def notes(self, gymnast_id: int) -> tuple[NoteRecord, ...]:
        """Return her notes, the first first; closed ones too."""
        hers = select(NOTE).where(NOTE.c.gymnast_id == gymnast_id)
        return tuple(map(note_of, self._session.rows(hers.order_by(NOTE.c.noted_on, NOTE.c.id))))

    def close_note(self, note_id: int, closed_on: date | None) -> NoteRecord:
        """Say since when a note holds no more."""
        self._session.row(NOTE, note_id, lock=True)
        self._session.change(NOTE, note_id, closed_on=closed_on)
        return note_of(self._session.row(NOTE, note_id))

    def page(self, query: GymnastQuery) -> Page[GymnastRow]:
        """Return a page of gymnasts."""
        return gymnast_pages.page(self._session, query)

    def squad(self, query: GymnastQuery) -> Page[SquadRow]:
        """Return a page of gymnasts with their latest findings."""
        return gymnast_pages.squad(self._session, query)

    def view(self, gymnast_id: int, *, screens: int = 12) -> GymnastView:
        """Return a gymnast with her latest screens and all in them."""
        latest = select(SCREEN).where(SCREEN.c.gymnast_id == gymnast_id)
        rows = self._session.rows(latest.order_by(SCREEN.c.screened_on.desc()).limit(screens))
        return GymnastView(
            gymnast=self.get(gymnast_id),
            groups=groups_of_gymnast(self._session, gymnast_id),
            sizes=self.sizes(gymnast_id),
            notes=self.notes(gymnast_id),
            screens=screen_views(self._session, rows),
        )

    def _check_card(self, club_id: int, card: int | None, *, but: int | None) -> None:
        holder = None if card is None else self.with_card(club_id, card)
        if holder is not None and holder.id != but:
            raise TakenError("card", f"{card} ({holder.name})")

    def _check_birth(self, birth_date: date | None, gymnast_id: int | None = None) -> None:
        if birth_date is None:
            return
        # A day of grace: it may be tomorrow already where she lives.
        if birth_date > self._session.now().date() + timedelta(days=1):
            raise ImpossibleRecordError("born_in_the_future", "the birth date lies in the future")
        if gymnast_id is None:
            return
        first = select(func.min(SCREEN.c.screened_on)).where(SCREEN.c.gymnast_id == gymnast_id)
        screened = self._session.connection.execute(first).scalar()
        if screened is not None and screened < birth_date:
            raise ImpossibleRecordError(
                "screened_before_born", f"she was screened on {screened}; check the birth date"
            )

    @staticmethod
    def _check_day(day: date, birth_date: date | None) -> None:
        if birth_date is not None and day < birth_date:
            raise ImpossibleRecordError(
                "measured_before_born", f"she was born on {birth_date}; check the date"
            )


def _here(club_id: int) -> tuple[ColumnElement[bool], ...]:
    return GYMNAST.c.club_id == club_id, GYMNAST.c.archived_at.is_(None)


def _name_values(name: str) -> dict[str, str]:
    clean = " ".join(name.split())
    return {"name": clean, "name_key": name_key(clean)}
