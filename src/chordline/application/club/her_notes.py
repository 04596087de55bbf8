"""What a coach notes of a gymnast: a remark, pain, or another sign at which work stops."""

from datetime import date
from typing import Final

from chordline.application.club.her_screen import PAIN
from chordline.application.club.judge_screen import JudgeScreen
from chordline.application.club.ports import Records
from chordline.application.club.records import NoteKind, NoteRecord
from chordline.catalogue.schema import Catalogue
from chordline.errors import ImpossibleRecordError, RefusedInputError

#: What is no sign.
REMARK: Final = "remark"


class KeepNotes:
    """Use case: keep, close and open notes; the latest screen is judged again with them."""

    def __init__(self, records: Records, judge: JudgeScreen, catalogue: Catalogue) -> None:
        self._records = records
        self._judge = judge
        self._catalogue = catalogue

    def add(
        self,
        gymnast_id: int,
        *,
        what: str,
        text: str,
        noted_on: date,
        author: str,
        today: date,
        token: str | None = None,
    ) -> NoteRecord | None:
        """Keep a note.

        Parameters
        ----------
        gymnast_id : int
        what : str
            ``remark``, ``pain``, or another key of the catalogue's referrals.
        text : str
            A remark says something; a sign may stand alone.
        noted_on, today : date
        author : str
        token : str, optional
            Of the form; None is returned where it was sent before.
        """
        text = text.strip()
        kind, flag = self._kind_of(what)
        if kind == REMARK and not text:
            raise RefusedInputError("a remark needs words; write what you saw")
        if noted_on > today:
            raise ImpossibleRecordError("noted_in_the_future", "the day lies in the future")
        with self._records.transaction() as tx:
            tx.gymnasts.get(gymnast_id)
            if token is not None and not tx.first_time(token):
                return None
            note = tx.gymnasts.add_note(
                gymnast_id, noted_on=noted_on, kind=kind, text=text, author=author, flag=flag
            )
        self._judge_with(note)
        return note

    def close(self, note_id: int, *, closed_on: date, token: str | None = None) -> NoteRecord:
        """Say since when a note holds no more."""
        return self._set(note_id, closed_on, token)

    def open_again(self, note_id: int, *, token: str | None = None) -> NoteRecord:
        """Undo `close`."""
        return self._set(note_id, None, token)

    def _set(self, note_id: int, closed_on: date | None, token: str | None) -> NoteRecord:
        with self._records.transaction() as tx:
            if token is not None:
                tx.first_time(token)
            note = tx.gymnasts.close_note(note_id, closed_on)
        self._judge_with(note)
        return note

    def _judge_with(self, note: NoteRecord) -> None:
        if note.kind != REMARK:
            self._judge.latest_of(note.gymnast_id)

    def _kind_of(self, what: str) -> tuple[NoteKind, str | None]:
        if what == REMARK:
            return "remark", None
        if what == PAIN:
            return "pain", None
        if what in self._catalogue.referrals:
            return "flag", what
        known = ", ".join((REMARK, *self._catalogue.referrals))
        raise RefusedInputError(f"no note is called '{what}'; known are {known}")
