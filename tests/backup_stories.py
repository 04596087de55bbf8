"""A club with pictures, a passphrase and a backup folder, for the tests of backups."""

from collections.abc import Callable
from contextlib import closing
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from pathlib import Path

from chordline.adapters.backup.container import open_container
from chordline.adapters.backup.folder import BackupFolder
from chordline.adapters.backup.keys import reading_keys, writing_keys
from chordline.adapters.backup.records_copy import check_copy
from chordline.adapters.backup.restore import Wanted
from chordline.adapters.backup.writer import ContainerWriter
from chordline.adapters.vault.club_vault import ClubVault
from chordline.application.backup.make_backup import RECORDS_PART
from chordline.application.backup.records import BackupMade, Restored
from chordline.application.club.records import NewGymnast
from chordline.application.club.vault_ports import Vault
from chordline.bootstrap import App
from chordline.bootstrap.backup import restore_backup
from club_stories import new_photo
from vault_stories import CHEAP, PASSPHRASE

DAY = date(2026, 11, 2)


@dataclass
class BackedUpClub:
    """A club and its backup folder.

    Attributes
    ----------
    app : App
    folder : Path
        Of the backups.
    pictures : dict
        Content key → what the picture holds.
    """

    app: App
    folder: Path
    pictures: dict[str, bytes] = field(default_factory=dict)

    def add(self, name: str, *, photos: int = 2) -> int:
        """Let a gymnast come, with pictures; return her number."""
        club = self.app.club()
        with self.app.records.transaction() as tx:
            her = tx.gymnasts.add(club.id, NewGymnast(name))
            key_id = self.app.photo_store.key_for(tx.keys, club.id, her.id)
            screen = tx.screens.on(her.id, DAY)
        for number in range(photos):
            content = f"picture {number} of {name} ".encode() * 50
            key = self.app.photo_store.put(content, key_id)
            self.pictures[key] = content
            with self.app.records.transaction() as tx:
                file = new_photo(f"{name}{number}.jpg", content_key=key, screen_id=screen.id)
                tx.photos.file(club.id, file)
        return her.id

    def back_up(self) -> BackupMade:
        """Make a backup."""
        return self.app.make_backup()()

    def restore(self, name: str, to: Path, **said: object) -> Restored:
        """Restore a backup into a folder."""
        return restore_backup(Wanted(self.folder / name, to, **said), with_passphrase())

    def open_restored(self, to: Path, database: str | None = None) -> App:
        """Open a restored club, its pictures unlocked."""
        app = App(data=to, database=database)
        app.vault.unlock(PASSPHRASE)
        return app

    def close(self) -> None:
        """Let go of the records."""
        self.app.records.close()


def with_passphrase(passphrase: str = PASSPHRASE) -> Callable[[Vault], None]:
    """Return what unlocks a vault with a passphrase."""
    return lambda vault: vault.unlock(passphrase)


def open_club(data: Path, database: str | None = None) -> App:
    """Open a club whose passphrases cost little."""
    app = App(data=data, database=database)
    app.__dict__["vault"] = ClubVault(
        app.data_folder / "club.key", is_new=app._has_no_keys, cost=CHEAP
    )
    return app


def backed_up_club(place: Path, database: str | None = None) -> BackedUpClub:
    """Return a club of two gymnasts with a passphrase and a folder for backups; none is made."""
    club = BackedUpClub(open_club(place / "club", database), place / "stick")
    club.add("Anna")
    club.add("Bea")
    club.app.vault.set_passphrase(PASSPHRASE)
    club.app.make_backup().use_folder(str(club.folder))
    return club


def repacked(club: BackedUpClub, made: BackupMade, change: Callable[[Path], None]) -> str:
    """Write a backup once more with its records changed; return the new one's name."""
    folder = BackupFolder(club.folder)
    keys = reading_keys(club.app.vault)
    records = club.folder.parent / RECORDS_PART
    with closing(open_container(club.folder / made.name, keys)) as backup:
        backup.part(RECORDS_PART, records)
    change(records)
    revision, counts = check_copy(records)
    opening = folder.opening(made.name)
    later = replace(opening, made_at=opening.made_at + timedelta(seconds=5))
    place = club.app.data_folder / "backup.key"
    writing = writing_keys(place, opening.key_id, club.app.vault)
    name, _ = ContainerWriter(lambda: writing, club.folder.parent).write(
        folder,
        later,
        replace(made.manifest, revision=revision, counts=counts),
        [(RECORDS_PART, records)],
        check=lambda _: None,
        stop=lambda: None,
    )
    return name
