"""Keeps pictures and videos sealed in a folder."""

import hashlib
import io
import re
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import BinaryIO, cast
from uuid import uuid4

from chordline.adapters.vault.places import UNFINISHED, sync_folder, write_whole
from chordline.adapters.vault.sealed_file import DamagedError, Header, SealedReader, seal
from chordline.application.club.vault_ports import KeyBook, Vault
from chordline.errors import PhotoStoreError, PhotoStoreUnusableError

_SEALED = re.compile(r"sealed-([0-9a-f]{32})-([0-9a-f]{32})", re.ASCII)
#: How pictures were kept before there was a vault: under their SHA-256, as they came.
_PLAIN = re.compile(r"plain-([0-9a-f]{64})", re.ASCII)
#: Nobody writes one file for so long [s].
_ABANDONED_S = 3600.0
_PIECE_BYTES = 1 << 20
_DAMAGED = "this picture is damaged; restore it from a backup"
_NOT_KEPT = "this picture is not kept (any more)"


class SealedPhotoStore:
    """Implements `PhotoStore`.

    What is put is always sealed; plain files of earlier versions can be read until they are sealed
    too. A file is written beside its place, brought to disk, and only then given its name: a kill
    leaves it wholly there or not at all. What a kill left unfinished is swept away on opening once
    it is an hour old: younger ones may be somebody else's who writes just now.

    Parameters
    ----------
    folder : Path
    vault : Vault
    wrapped : callable
        Gives a wrapped key of the records by its id; None where it was erased.
    unfiled : callable
        Gives the id of the key for files of nobody yet; called outside of transactions only.
    """

    def __init__(
        self,
        folder: Path,
        vault: Vault,
        *,
        wrapped: Callable[[str], bytes | None],
        unfiled: Callable[[], str],
    ) -> None:
        self._folder = folder
        self._vault = vault
        self._wrapped = wrapped
        self._unfiled = unfiled
        try:
            folder.mkdir(parents=True, exist_ok=True, mode=0o700)
            for left in folder.glob(f"{UNFINISHED}*"):
                if _age_s(left) > _ABANDONED_S:
                    left.unlink(missing_ok=True)
        except OSError as error:
            raise _unusable("", error) from None

    def key_for(self, keys: KeyBook, club_id: int, gymnast_id: int | None) -> str:
        """Return the id of a gymnast's key; made where there is none."""
        found = keys.of(club_id, gymnast_id)
        if found is None:
            key_id = uuid4().hex
            wrapped = self._vault.make_key(key_id)
            found = keys.add(club_id, gymnast_id, key_id=key_id, wrapped=wrapped)
        # Opened while its row is at hand: other connections see it only after the transaction.
        self._vault.data_key(found.id, lambda: found.wrapped)
        return found.id

    def put(self, content: bytes, key_id: str | None = None) -> str:
        """Keep a picture and return its key."""
        return self.put_file(io.BytesIO(content), key_id)

    def put_file(self, content: BinaryIO, key_id: str | None = None) -> str:
        """Keep a file of any length and return its key."""
        key_id = self._unfiled() if key_id is None else key_id
        header = Header.new(bytes.fromhex(key_id))
        key = f"sealed-{key_id}-{header.file_id.hex()}"
        data_key = self._data_key(key, key_id)
        try:
            write_whole(self._place(key), seal(content, header, data_key), workplace=self._folder)
        except OSError as error:
            raise _unusable(key, error) from None
        return key

    def in_use(self, key_id: str) -> bool:
        """Return whether a picture under a data key is there, or any is being written now."""
        sealed = self._folder.glob(f"??/sealed-{key_id}-*")
        return any(True for _ in sealed) or any(True for _ in self._folder.glob(f"{UNFINISHED}*"))

    def forget_keys(self) -> None:
        """Let go of data keys that are held in memory."""
        self._vault.forget_data_keys()

    def reseal(self, key: str, key_id: str) -> str:
        """Keep the same content under another key as well; return the new file's key."""
        with self._open_checked(key) as content:
            new = self.put_file(cast("BinaryIO", content), key_id)
            if isinstance(content, _CheckedPlain) and not content.whole:
                self.delete(new)
                raise PhotoStoreError(key, _DAMAGED)
        return new

    def open(self, key: str) -> bytes:
        """Return a picture; all of it is authenticated."""
        with self._open_checked(key) as content:
            whole = content.read()
            if isinstance(content, _CheckedPlain) and not content.whole:
                raise PhotoStoreError(key, _DAMAGED)
        return whole

    def open_file(self, key: str) -> BinaryIO:
        """Return a file to be read from and sought in; each piece is authenticated as it is read.

        A plain file of an earlier version is not.
        """
        if not _SEALED.fullmatch(key):
            return self._on_disk(key)
        sealed = cast("io.RawIOBase", self._reader(key))
        return cast("BinaryIO", io.BufferedReader(sealed, _PIECE_BYTES))

    def has(self, key: str) -> bool:
        """Return whether there is a picture under a key."""
        return self._place(key).is_file()

    def delete(self, key: str) -> bool:
        """Remove a picture for good."""
        place = self._place(key)
        try:
            place.unlink()
            sync_folder(place.parent)
        except FileNotFoundError:
            return False
        except OSError as error:
            raise _unusable(key, error) from None
        return True

    def keys(self, *, older_than_s: float = 0.0) -> Iterator[str]:
        """Yield the key of every file that was written so long ago [s]."""
        for path in sorted(self._folder.glob("??/*")):
            if not (_SEALED.fullmatch(path.name) or _PLAIN.fullmatch(path.name)):
                continue
            if older_than_s > 0.0 and _age_s(path) < older_than_s:
                continue
            yield path.name

    def _place(self, key: str) -> Path:
        sealed, plain = _SEALED.fullmatch(key), _PLAIN.fullmatch(key)
        if sealed is not None:
            return self._folder / sealed[2][:2] / key
        if plain is not None:
            return self._folder / plain[1][:2] / key
        raise PhotoStoreError("", "this is no key of a picture")

    def _on_disk(self, key: str) -> BinaryIO:
        try:
            return self._place(key).open("rb")
        except FileNotFoundError:
            raise PhotoStoreError(key, _NOT_KEPT) from None
        except OSError as error:
            raise _unusable(key, error) from None

    def _open_checked(self, key: str) -> "SealedReader | _CheckedPlain":
        plain = _PLAIN.fullmatch(key)
        return self._reader(key) if plain is None else _CheckedPlain(self._on_disk(key), plain[1])

    def _reader(self, key: str) -> SealedReader:
        file = self._on_disk(key)
        named = _SEALED.fullmatch(key)
        assert named is not None

        def data_key(header: Header) -> bytes:
            if header.key_id.hex() != named[1]:
                raise DamagedError
            return self._data_key(key, named[1])

        try:
            return SealedReader(
                file,
                data_key,
                refuse=lambda: PhotoStoreError(key, _DAMAGED),
                file_id=bytes.fromhex(named[2]),
            )
        except BaseException:
            file.close()
            raise

    def _data_key(self, key: str, key_id: str) -> bytes:
        data_key = self._vault.data_key(key_id, lambda: self._wrapped(key_id))
        if data_key is None:
            raise PhotoStoreError(key, "the key of this picture was erased; nothing opens it again")
        return data_key


class _CheckedPlain(io.RawIOBase):
    """A plain file whose SHA-256 is taken while it is read from its beginning to its end."""

    def __init__(self, file: BinaryIO, sha256: str) -> None:
        super().__init__()
        self._file = file
        self._sha256 = sha256
        self._digest = hashlib.sha256()

    @property
    def whole(self) -> bool:
        """Whether what was read is what the name says."""
        return self._digest.hexdigest() == self._sha256

    def readable(self) -> bool:
        return True

    def readinto(self, into: "memoryview | bytearray") -> int:  # type: ignore[override]
        part = self._file.read(len(into))
        self._digest.update(part)
        into[: len(part)] = part
        return len(part)

    def close(self) -> None:
        self._file.close()
        super().close()


def _age_s(path: Path) -> float:
    try:
        return time.time() - path.stat().st_mtime
    except FileNotFoundError:
        return 0.0


def _unusable(key: str, error: OSError) -> PhotoStoreError:
    why = error.strerror or "unknown reason"
    return PhotoStoreUnusableError(key, f"the pictures' folder cannot be used now ({why})")
