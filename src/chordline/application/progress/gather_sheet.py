"""From the records to the sheet about what changed."""

from dataclasses import dataclass
from datetime import date
from typing import Protocol

from chordline.application.club.consent import allowed_on, rules_of
from chordline.application.club.pictures import StoredPictures
from chordline.application.club.ports import Records
from chordline.application.drawn_line import DrawnLine
from chordline.application.progress.her_progress import HerProgress
from chordline.application.progress.pair import PairedPhoto, choose_pair, read_pair
from chordline.application.progress.told import Progress
from chordline.application.sheet import Faces
from chordline.application.tongue import Tongue
from chordline.catalogue.schema import Catalogue
from chordline.errors import PhotoStoreError

#: Long side of a picture on paper [px]: two of them share a page.
_PICTURE_PX = 1000


@dataclass(frozen=True)
class SheetPhoto:
    """A photo of the pair: its line, its day, and its JPEG, None where it may not be shown."""

    line: DrawnLine
    day: date
    jpeg: bytes | None
    faces: Faces = "hidden"


@dataclass(frozen=True)
class ProgressContent:
    """What the sheet is made from.

    Attributes
    ----------
    progress : Progress
    pair : tuple of SheetPhoto or None
        The earlier and the later one.
    club : str
    """

    progress: Progress
    pair: tuple[SheetPhoto, SheetPhoto] | None
    club: str


class ProgressPrinter(Protocol):
    """Turns a sheet about progress into paper."""

    def progress_to_pdf(
        self, content: ProgressContent, *, sure: float, catalogue: Catalogue, tongue: Tongue
    ) -> bytes:
        """Return one A4 page; `sure` is the probability from which on a change is called real."""
        ...


class GatherProgress:
    """Use case: gather what the sheet about progress says and shows."""

    def __init__(self, records: Records, hers: HerProgress, pictures: StoredPictures) -> None:
        self._records = records
        self._hers = hers
        self._pictures = pictures

    def __call__(
        self,
        gymnast_id: int,
        *,
        day: date,
        test: str | None = None,
        before_id: int | None = None,
        after_id: int | None = None,
        faces: Faces = "hidden",
    ) -> ProgressContent:
        """Return what the sheet is made from; the wishes are those of `choose_pair`.

        It goes to others than her family too: her pictures stand on it only where they may be
        shown, her line in any case.
        """
        progress = self._hers(gymnast_id, today=day)
        catalogue = self._hers.numbers.catalogue
        choice = choose_pair(
            progress.screens, catalogue, test=test, before_id=before_id, after_id=after_id
        )
        with self._records.reading() as tx:
            clubs = tx.clubs.all()
            photos = None if choice is None else read_pair(tx, choice, catalogue)
        may_show = allowed_on(progress.gymnast.consent, day, rules_of(catalogue)).show_to_squad
        club = next(one.name for one in clubs if one.id == progress.gymnast.club_id)
        pair = (
            None
            if photos is None
            else (
                self._photo(photos[0], may_show, faces),
                self._photo(photos[1], may_show, faces),
            )
        )
        return ProgressContent(progress, pair, club)

    def _photo(self, one: PairedPhoto, may_show: bool, faces: Faces) -> SheetPhoto:
        if not may_show:
            return SheetPhoto(one.line, one.screen.day, None, faces)
        try:
            jpeg = self._pictures.show(one.photo.photo, max_px=_PICTURE_PX).jpeg
        except PhotoStoreError:
            jpeg = None
        return SheetPhoto(one.line, one.screen.day, jpeg, faces)
