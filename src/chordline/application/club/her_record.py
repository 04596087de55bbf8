"""A gymnast's own record: changed, put away, brought back, erased."""

from dataclasses import dataclass, replace
from datetime import date

from chordline.application.accounts.acting import ACTING
from chordline.application.accounts.records import THIS_MACHINE
from chordline.application.club.consent import as_said
from chordline.application.club.growth_reference import GrowthReference
from chordline.application.club.let_go import let_go
from chordline.application.club.photo_store import PhotoStore
from chordline.application.club.pictures import StoredPictures
from chordline.application.club.ports import Records
from chordline.application.club.records import BodySize, Consent, GymnastRecord
from chordline.application.club.refile import refile_unowned
from chordline.application.club.video_records import VideoQuery
from chordline.errors import ImpossibleRecordError


@dataclass(frozen=True)
class HerChange:
    """A gymnast's record as a form gives it back.

    Attributes
    ----------
    version : int
        Of the record that the form began with.
    name : str
    card : int or None
    birth_date : date or None
    growth_reference : {'girls', 'boys'} or None
    consent : Consent
    size : BodySize or None
        What was measured anew.
    """

    version: int
    name: str
    card: int | None
    birth_date: date | None
    growth_reference: GrowthReference | None
    consent: Consent
    size: BodySize | None = None


@dataclass(frozen=True)
class WhatIsLost:
    """What erasing a gymnast removes for good."""

    screens: int
    photos: int
    pictures: int
    videos: int
    holds: int
    notes: int
    sizes: int


#: More screens than anybody has.
_ALL = 10_000


class KeepHer:
    """Use case: change a gymnast's record."""

    def __init__(self, records: Records, store: PhotoStore, pictures: StoredPictures) -> None:
        self._records = records
        self._store = store
        self._pictures = pictures

    def save(
        self, gymnast_id: int, change: HerChange, *, today: date, token: str | None = None
    ) -> GymnastRecord:
        """Return the record as it stands afterwards; a form sent twice is saved once.

        Raises
        ------
        StaleGymnastError
            Where somebody else changed it since the form began.
        """
        if change.size is not None and change.size.taken_on > today:
            raise ImpossibleRecordError("measured_in_the_future", "the day lies in the future")
        with self._records.transaction() as tx:
            current = tx.gymnasts.get(gymnast_id)
            if token is not None and not tx.first_time(token):
                return current
            saved = tx.gymnasts.update(
                replace(
                    current,
                    version=change.version,
                    name=change.name,
                    card=change.card,
                    birth_date=change.birth_date,
                    growth_reference=change.growth_reference,
                    consent=as_said(current.consent, change.consent, today),
                )
            )
            if (saved.card, saved.name) != (current.card, current.name):
                refile_unowned(tx, saved.club_id)
            if change.size is not None:
                tx.gymnasts.add_size(gymnast_id, change.size)
        return saved

    def archive(self, gymnast_id: int, *, token: str | None = None) -> GymnastRecord:
        """Put her away; her records stay, her card becomes free."""
        with self._records.transaction() as tx:
            if token is not None and not tx.first_time(token):
                return tx.gymnasts.get(gymnast_id)
            return tx.gymnasts.archive(gymnast_id)

    def bring_back(self, gymnast_id: int, *, token: str | None = None) -> GymnastRecord:
        """Undo `archive`."""
        with self._records.transaction() as tx:
            if token is not None and not tx.first_time(token):
                return tx.gymnasts.get(gymnast_id)
            return tx.gymnasts.bring_back(gymnast_id)

    def what_is_lost(self, gymnast_id: int) -> WhatIsLost:
        """Return what `erase` would remove."""
        with self._records.reading() as tx:
            view = tx.gymnasts.view(gymnast_id, screens=_ALL)
            videos = tx.videos.find(
                VideoQuery(view.gymnast.club_id, gymnast_id=gymnast_id, limit=_ALL)
            )
        photos = [one.photo for screen in view.screens for one in screen.photos]
        return WhatIsLost(
            screens=len(view.screens),
            photos=len(photos),
            pictures=sum(photo.content_key is not None for photo in photos),
            videos=len(videos),
            holds=sum(len(screen.holds) for screen in view.screens),
            notes=len(view.notes),
            sizes=len(view.sizes),
        )

    def erase(self, gymnast_id: int, *, token: str | None = None, by: str | None = None) -> str:
        """Remove a gymnast, her pictures and everything of hers for good; return her name.

        Empty where the form was sent before. That a number was erased is kept, with the moment and
        by whom (`by`; whoever acts now, where it is not said): see `EraseAgain`.
        """
        with self._records.transaction() as tx:
            if token is not None and not tx.first_time(token):
                return ""
            name = tx.gymnasts.get(gymnast_id).name
            gone = tx.gymnasts.erase(gymnast_id)
            tx.erased.note(gymnast_id, by=by or _who_acts())
        # Her key went with her; neither the database's log nor this program's memory may keep it.
        self._records.scrub()
        self._pictures.forget()
        let_go(self._records, self._store, gone)
        return name


def _who_acts() -> str:
    acting = ACTING.get()
    return THIS_MACHINE if acting is None else acting.who
