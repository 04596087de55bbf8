"""Everything together, and what there is to say of it."""

import getpass
import os
import platform
import shutil
import sys
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from chordline import __version__
from chordline.application.club.pictures_health import examine_pictures
from chordline.application.club.records_health import examine_records, examine_vault
from chordline.application.health import Finding
from chordline.bootstrap.backup import Backups
from chordline.errors import (
    CatalogueError,
    PhotoStoreError,
    RecordsError,
    VaultError,
    WrongSecretError,
)

#: A folder with a club's own catalogue files.
CLUB_CATALOGUE_VARIABLE = "CHORDLINE_CATALOGUE"
#: The folder of the club's records and pictures.
DATA_VARIABLE = "CHORDLINE_DATA"
#: Opens the pictures, where the club has set a passphrase.
PASSPHRASE_VARIABLE = "CHORDLINE_PASSPHRASE"
#: Address of the records' database, where it is not a file in that folder.
DATABASE_VARIABLE = "CHORDLINE_DATABASE"


@dataclass(frozen=True)
class App(Backups):
    """Everything that the command line and the pages call; made on first use."""

    def examine(self) -> tuple[Finding, ...]:
        """Return what there is to say of the program and of what it needs."""
        from chordline.adapters.pose.weights_health import examine_weights  # noqa: PLC0415

        program = f"{__version__} on Python {platform.python_version()}"
        return (
            Finding("chordline", "well", program),
            self._examine_catalogue(),
            *examine_weights(),
            *self._examine_records(),
        )

    def _examine_catalogue(self) -> Finding:
        try:
            catalogue = self.catalogue
        except CatalogueError as error:
            return Finding("catalogue", "broken", str(error))
        told = f"{len(catalogue.tests)} tests, version {catalogue.version}"
        return Finding("catalogue", "well", told)

    def _examine_records(self) -> tuple[Finding, ...]:
        try:
            folder = self.data_folder
            place = str(folder) if self.database is None else "the database that was named"
            free_bytes = shutil.disk_usage(folder).free
            club_id = self.club().id
            found = examine_records(
                self.records,
                club_id,
                place=place,
                free_bytes=free_bytes,
                today=date.today(),
                rules=self.consent_rules,
            )
        except (RecordsError, OSError) as error:
            told = Finding("records", "broken", str(error))
            return (self.examine_database(), told, *self.examine_backups())
        found = (self.examine_database(), *found)
        try:
            pictures = (
                *examine_vault(self.records, club_id, self.vault),
                *examine_pictures(self.records, club_id, self.photo_store, self.vault),
            )
        except (VaultError, WrongSecretError, PhotoStoreError) as error:
            pictures = (Finding("pictures", "broken", str(error)),)
        return (*found, *pictures, *self.examine_backups())


def build_app(*, data: Path | None = None) -> App:
    """Return the application as the environment asks for it.

    Parameters
    ----------
    data : Path, optional
        The folder of the club's records and pictures, before what the environment says.
    """
    club = os.environ.get(CLUB_CATALOGUE_VARIABLE)
    folder = os.environ.get(DATA_VARIABLE)
    return App(
        club_catalogue=Path(club) if club else None,
        data=data or (Path(folder) if folder else None),
        database=os.environ.get(DATABASE_VARIABLE) or None,
        passphrase=os.environ.get(PASSPHRASE_VARIABLE) or None,
        ask_passphrase=_ask_at_terminal,
    )


def _ask_at_terminal() -> str | None:
    """Ask for the passphrase without showing it; None where no terminal is there."""
    if not sys.stdin.isatty():
        return None
    try:
        return getpass.getpass("Passphrase of the club's pictures: ")
    except (EOFError, KeyboardInterrupt):
        return None
