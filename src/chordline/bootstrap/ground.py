"""What everything rests on: catalogues, records, pictures."""

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, date, datetime
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

from platformdirs import user_data_path

from chordline.adapters.decoding.photo_reader import ChildPhotoReader, our_photo_reader
from chordline.application.club.photo_store import PhotoStore
from chordline.application.club.pictures import StoredPictures
from chordline.application.club.ports import Records
from chordline.application.club.records import Club
from chordline.application.club.recovery_sheet import recovery_sheet
from chordline.application.club.seal_pictures import SealPictures
from chordline.application.club.vault_ports import Vault
from chordline.application.repeatability.lay_noise import lay_noise
from chordline.catalogue.growth_schema import GrowthCatalogue
from chordline.catalogue.loader import load_catalogue
from chordline.catalogue.schema import Catalogue
from chordline.catalogue.segments_schema import SegmentCatalogue
from chordline.catalogue.training_schema import TrainingCatalogue
from chordline.errors import RecordsError

if TYPE_CHECKING:
    from chordline.adapters.tls.certificates import ClubCertificates
    from chordline.application.accounts.log_in import ComeIn
    from chordline.application.accounts.manage import ManageAccounts
    from chordline.application.accounts.ports import Hasher
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
class PrintedRecovery:
    """A recovery sheet as page and as paper; kept nowhere."""

    html: str = field(repr=False)
    pdf: bytes = field(repr=False)


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
    passphrase : str or None
        Opens the pictures, where the club has set one.
    ask_passphrase : callable or None
        Asks somebody at a terminal for it; None from it = nobody is there.
    """

    club_catalogue: Path | None = None
    data: Path | None = None
    database: str | None = None
    passphrase: str | None = field(default=None, repr=False)
    ask_passphrase: Callable[[], str | None] | None = None

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
    def photos(self) -> ChildPhotoReader:
        """Reads and cleans pictures."""
        return our_photo_reader()

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
        from chordline.adapters.vault.store import SealedPhotoStore  # noqa: PLC0415

        return SealedPhotoStore(
            self.data_folder / "photos",
            self.vault,
            wrapped=self._wrapped_key,
            unfiled=self._unfiled_key,
        )

    @cached_property
    def vault(self) -> Vault:
        """The club key and what it opens."""
        from chordline.adapters.vault.club_vault import ClubVault  # noqa: PLC0415

        return ClubVault(
            self.data_folder / "club.key",
            is_new=self._has_no_keys,
            given=self.passphrase,
            ask=self.ask_passphrase,
        )

    def seal_pictures(self) -> SealPictures:
        """Return the use case."""
        return SealPictures(self.records, self.photo_store)

    def print_recovery(self, *, day: date) -> PrintedRecovery:
        """Make a new recovery code and return its sheet; the one before opens no more."""
        from chordline.adapters.printing.recovery import RecoverySheetPress  # noqa: PLC0415

        club, press = self.club(), RecoverySheetPress()
        # Printed with a made-up code first: a press that fails must not cost the old sheet.
        press.to_pdf(recovery_sheet(club.name, "", day))
        sheet = recovery_sheet(club.name, self.vault.new_recovery_code(day=day), day)
        return PrintedRecovery(html=press.to_html(sheet), pdf=press.to_pdf(sheet))

    def _has_no_keys(self) -> bool:
        with self.records.reading() as tx:
            return not any(tx.keys.all(club.id) for club in tx.clubs.all())

    def _wrapped_key(self, key_id: str) -> bytes | None:
        with self.records.reading() as tx:
            found = tx.keys.get(key_id)
        return None if found is None else found.wrapped

    def _unfiled_key(self) -> str:
        club_id = self.club().id
        with self.records.reading() as tx:
            there = [one.id for one in tx.keys.all(club_id) if one.gymnast_id is None]
        if there:
            return there[0]
        with self.records.transaction() as tx:
            return self.photo_store.key_for(tx.keys, club_id, None)

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
    def accounts(self) -> "ManageAccounts":
        """Makes and changes accounts."""
        from chordline.application.accounts.manage import ManageAccounts  # noqa: PLC0415

        return ManageAccounts(self.records, self.hasher, _now)

    @cached_property
    def come_in(self) -> "ComeIn":
        """Logs people in and out."""
        from chordline.application.accounts.log_in import ComeIn  # noqa: PLC0415

        return ComeIn(self.records, self.hasher, _now)

    @cached_property
    def hasher(self) -> "Hasher":
        """Keeps passwords so that nobody can read them back."""
        from chordline.adapters.passwords.argon import ArgonHasher  # noqa: PLC0415

        return ArgonHasher()

    def certificates(self) -> "ClubCertificates":
        """Return the certificates that other devices are served with."""
        from chordline.adapters.tls.certificates import ClubCertificates  # noqa: PLC0415

        return ClubCertificates(self.data_folder / "tls", _now)

    @cached_property
    def pictures(self) -> StoredPictures:
        """Reads stored pictures."""
        return StoredPictures(self.photo_store, self.photos)


def _now() -> datetime:
    return datetime.now(UTC)
