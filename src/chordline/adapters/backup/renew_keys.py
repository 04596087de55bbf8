"""New keys for pictures that are there: another club key, another key for everybody, sealed anew.

After somebody has left who knew the passphrase and may hold a copy: what she holds opens nothing
that is made from here on. It is done on a folder that is not in its place yet, so a kill leaves
everything as it was.
"""

import base64
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from chordline.adapters.backup.ring_file import Key
from chordline.adapters.vault.club_key import ClubKeyFile
from chordline.adapters.vault.club_vault import ClubVault
from chordline.adapters.vault.store import SealedPhotoStore
from chordline.application.backup.ports import Progress, Stop
from chordline.application.backup.records import key_id_of
from chordline.application.club.photo_store import PhotoStore
from chordline.application.club.ports import Records
from chordline.application.club.seal_pictures import SealPictures
from chordline.application.club.vault_ports import Vault
from chordline.errors import VaultError, WrongSecretError


@dataclass(frozen=True)
class Renewed:
    """What came of it.

    Attributes
    ----------
    store : PhotoStore
        Reads with the new keys.
    names : tuple of str
        Every picture and video under its new key.
    unreadable : tuple of str
        Those that did not open, by their name of before; their files are gone.
    """

    store: PhotoStore
    names: tuple[str, ...]
    unreadable: tuple[str, ...]


class _TurningVault(ClubVault):
    """A new vault that still opens what lies under the keys of before."""

    def __init__(self, place: Path, before: Vault, wrapped_before: Mapping[str, bytes]) -> None:
        super().__init__(place, is_new=lambda: True)
        self._before = before
        self._wrapped_before = wrapped_before

    def data_key(self, key_id: str, find: Callable[[], bytes | None]) -> bytes | None:
        """Return a data key of now or of before."""
        wrapped = self._wrapped_before.get(key_id)
        if wrapped is not None:
            return self._before.data_key(key_id, lambda: wrapped)
        return super().data_key(key_id, find)


class RenewKeys:
    """Gives everything in a folder new keys.

    Parameters
    ----------
    folder : Path
        Of the data; its records hold no keys yet.
    before : Vault
        Opens what lies there now.
    passphrase : str
        Of the new club key.
    """

    def __init__(self, folder: Path, before: Vault, passphrase: str) -> None:
        self._folder = folder
        self._before = before
        self._passphrase = passphrase
        self._vault: ClubVault | None = None

    def refuse_known(self, files: Sequence[bytes]) -> None:
        """Raise `WrongSecretError` where the new passphrase opens one of these ``club.key``."""
        for file in files:
            try:
                key = ClubKeyFile.read(file).open_with_passphrase(self._passphrase)
            except VaultError:
                continue
            if key is not None:
                raise WrongSecretError(
                    "this is the passphrase of before, which who left may know; take another one"
                )

    def __call__(
        self,
        records: Records,
        club_id: int,
        ring: Sequence[Key],
        *,
        progress: Progress | None,
        stop: Stop,
    ) -> Renewed:
        """Seal every picture and video under a new key of its gymnast.

        Raises
        ------
        WrongSecretError
            Where the passphrase is too short or too long.
        """
        before = {one["id"]: base64.b64decode(one["wrapped"]) for one in ring}
        vault = self._vault = _TurningVault(self._place, self._before, before)
        vault.set_passphrase(self._passphrase)
        photos = self._folder / "photos"

        def wrapped(key_id: str) -> bytes | None:
            with records.reading() as tx:
                found = tx.keys.get(key_id)
            return None if found is None else found.wrapped

        # Every file is put under a key that is named, so none is asked for.
        store = SealedPhotoStore(photos, vault, wrapped=wrapped, unfiled=str)
        # Without a key in the records everything counts as misplaced.
        done = SealPictures(records, store).all(club_id, _Stopping(progress, stop))
        for name in list(store.keys()):
            if name in done.unreadable or key_id_of(name) in before:
                store.delete(name)
        with records.reading() as tx:
            names = tx.keys.content_keys(club_id) - set(done.unreadable)
        return Renewed(store, tuple(sorted(names)), done.unreadable)

    def put_in_place(self) -> None:
        """Let the new ``club.key`` take the place of the one before, and let go of the key."""
        if self._vault is not None:
            self._vault.lock()
        self._place.replace(self._folder / "club.key")

    @property
    def _place(self) -> Path:
        return self._folder / "club.key.new"


@dataclass(frozen=True)
class _Stopping:
    """Tells of each step, and may end the work there."""

    progress: Progress | None
    stop: Stop

    def start(self, total: int) -> None:
        if self.progress is not None:
            self.progress.start(total)

    def step(self, label: str) -> None:
        self.stop()
        if self.progress is not None:
            self.progress.step(label)
