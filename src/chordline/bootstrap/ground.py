"""What everything rests on: catalogues, records, pictures."""

from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

from platformdirs import user_data_path

from chordline.adapters.media.photo_reader import PillowPhotoReader
from chordline.adapters.media.photo_store import FolderPhotoStore
from chordline.application.club.photo_store import PhotoStore
from chordline.application.club.pictures import StoredPictures
from chordline.application.club.ports import Records
from chordline.application.club.records import Club
from chordline.application.repeatability.lay_noise import lay_noise
from chordline.catalogue.growth_schema import GrowthCatalogue
from chordline.catalogue.loader import load_catalogue
from chordline.catalogue.schema import Catalogue
from chordline.catalogue.segments_schema import SegmentCatalogue
from chordline.catalogue.training_schema import TrainingCatalogue
from chordline.errors import RecordsError

if TYPE_CHECKING:
    from chordline.catalogue.live import LiveCatalogue
    from chordline.catalogue.motion import MotionCatalogue

#: What is made from the catalogue and has to be made anew when the errors in use change.
_RESTS_ON_ERRORS = (
    "catalogue",
    "folders",
    "judge_screen",
    "measure_stored",
    "forecast_line",
    "her_progress",
    "squad_progress",
)

#: What a new club is called until it gets its name.
NEW_CLUB = "My club"


@dataclass(frozen=True)
class Ground:
    """What everything rests on; made on first use.

    Attributes
    ----------
    club_catalogue : Path or None
    data : Path or None
        The folder of the club's records and pictures; None = the user's own.
    database : str or None
        Address of the records; None = a file in `data`.
    """

    club_catalogue: Path | None = None
    data: Path | None = None
    database: str | None = None

    @cached_property
    def default_catalogue(self) -> Catalogue:
        """The catalogue, with the entries of the club's own files laid over it."""
        return load_catalogue(self.club_catalogue)

    @cached_property
    def catalogue(self) -> Catalogue:
        """The catalogue in use; with the errors that the club found, once its records are open."""
        return self.default_catalogue

    @cached_property
    def segments(self) -> SegmentCatalogue:
        """Segment tables and what the handstand model assumes."""
        from chordline.catalogue.segments import our_segments  # noqa: PLC0415

        return our_segments()

    @cached_property
    def training(self) -> TrainingCatalogue:
        """The training catalogue, with the club's own entries laid over it."""
        from chordline.catalogue.training import load_training  # noqa: PLC0415

        return load_training(self.catalogue, self.club_catalogue)

    @cached_property
    def growth(self) -> GrowthCatalogue:
        """The growth catalogue, with the club's own files laid over it."""
        from chordline.catalogue.growth import load_growth, our_growth  # noqa: PLC0415

        return load_growth(self.club_catalogue) if self.club_catalogue else our_growth()

    @cached_property
    def motion(self) -> "MotionCatalogue":
        """The numbers about videos, with the club's own laid over them."""
        from chordline.catalogue.motion import load_motion  # noqa: PLC0415

        return load_motion(self.default_catalogue, self.club_catalogue)

    @cached_property
    def live_catalogue(self) -> "LiveCatalogue":
        """The numbers and words of the live line, with the club's own laid over them."""
        from chordline.catalogue.live import load_live  # noqa: PLC0415

        return load_live(self.default_catalogue, self.club_catalogue)

    @cached_property
    def photos(self) -> PillowPhotoReader:
        """Reads and cleans pictures."""
        return PillowPhotoReader()

    @cached_property
    def data_folder(self) -> Path:
        """The folder of the club's records and pictures; made where there is none."""
        folder = self.data or user_data_path("chordline", appauthor=False)
        try:
            folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        except OSError as error:
            raise RecordsError(f"{folder} cannot be used ({error.strerror})") from None
        return folder

    @cached_property
    def records(self) -> Records:
        """The club's records."""
        from chordline.adapters.db.records import open_records  # noqa: PLC0415

        opened = open_records(self.database or f"sqlite:///{self.data_folder / 'records.sqlite'}")
        self._lay_errors(opened)
        return opened

    def renew_errors(self) -> None:
        """Take up the errors that the records say are in use now."""
        self._lay_errors(self.records)

    def _lay_errors(self, records: Records) -> None:
        with records.reading() as tx:
            clubs = tx.clubs.all()
            noise = tx.studies.noise(clubs[0].id) if clubs else None
        if noise is None and "catalogue" not in self.__dict__:
            return
        in_use = lay_noise(self.default_catalogue, noise)
        if in_use.version == self.catalogue.version:
            return
        for name in _RESTS_ON_ERRORS:
            self.__dict__.pop(name, None)
        self.__dict__["catalogue"] = in_use

    @cached_property
    def photo_store(self) -> PhotoStore:
        """The club's pictures."""
        return FolderPhotoStore(self.data_folder / "photos")

    def club(self) -> Club:
        """Return the one club; founded on first use."""
        with self.records.reading() as tx:
            clubs = tx.clubs.all()
        if clubs:
            return clubs[0]
        with self.records.transaction() as tx:
            clubs = tx.clubs.all()
            return clubs[0] if clubs else tx.clubs.add(NEW_CLUB)

    @cached_property
    def pictures(self) -> StoredPictures:
        """Reads stored pictures."""
        return StoredPictures(self.photo_store, self.photos)
