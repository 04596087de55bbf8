"""A store of sealed pictures on a folder alone: its wrapped keys lie in a file beside it."""

import base64
import hashlib
import json
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from chordline.adapters.vault.club_key import Argon2
from chordline.adapters.vault.club_vault import ClubVault
from chordline.adapters.vault.places import write_whole
from chordline.adapters.vault.store import SealedPhotoStore
from chordline.application.club.vault_ports import WrappedKey

#: The least that argon2id takes: tests of passphrases need no slow one.
CHEAP = Argon2(passes=1, lanes=1, memory_kib=8)
PASSPHRASE = "four words that hop along"


@dataclass
class FileOfKeys:
    """Wrapped keys in a JSON file; the part of `KeyBook` that a store needs."""

    place: Path

    def _read(self) -> dict[str, tuple[str, str]]:
        return json.loads(self.place.read_text()) if self.place.exists() else {}

    def of(self, club_id: int, gymnast_id: int | None) -> WrappedKey | None:
        found = self._read().get(str(gymnast_id))
        if found is None:
            return None
        wrapped = base64.b64decode(found[1])
        return WrappedKey(found[0], club_id, gymnast_id, wrapped, datetime.now(UTC))

    def add(
        self, club_id: int, gymnast_id: int | None, *, key_id: str, wrapped: bytes
    ) -> WrappedKey:
        known = {**self._read(), str(gymnast_id): (key_id, base64.b64encode(wrapped).decode())}
        write_whole(self.place, [json.dumps(known).encode()])
        return WrappedKey(key_id, club_id, gymnast_id, wrapped, datetime.now(UTC))

    def wrapped(self, key_id: str) -> bytes | None:
        return next(
            (base64.b64decode(text) for known, text in self._read().values() if known == key_id),
            None,
        )

    def erase(self, gymnast_id: int) -> None:
        rest = {who: key for who, key in self._read().items() if who != str(gymnast_id)}
        write_whole(self.place, [json.dumps(rest).encode()])


@dataclass
class Vaulted:
    """A store with its vault and keys."""

    store: SealedPhotoStore
    vault: ClubVault
    keys: FileOfKeys

    def key_of(self, gymnast_id: int | None) -> str:
        return self.store.key_for(self.keys, 1, gymnast_id)  # type: ignore[arg-type]


def open_vaulted(folder: Path) -> Vaulted:
    """Open the store in ``folder/photos``."""
    folder.mkdir(parents=True, exist_ok=True)
    keys = FileOfKeys(folder / "keys.json")
    vault = ClubVault(folder / "club.key", is_new=lambda: not keys.place.exists(), cost=CHEAP)
    stories: list[Vaulted] = []
    store = SealedPhotoStore(
        folder / "photos",
        vault,
        wrapped=keys.wrapped,
        unfiled=lambda: stories[0].key_of(None),
    )
    stories.append(Vaulted(store, vault, keys))
    return stories[0]


def plant_plain(folder: Path, content: bytes) -> str:
    """Keep a picture as it was kept before there was a vault."""
    digest = hashlib.sha256(content).hexdigest()
    place = folder / digest[:2] / f"plain-{digest}"
    place.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
    place.write_bytes(content)
    return place.name
