"""The file of the club key: the key itself, or the key under a passphrase and a recovery code."""

import base64
import binascii
import hmac
import json
import unicodedata
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Self
from uuid import uuid4

from argon2.low_level import ARGON2_VERSION, Type, hash_secret_raw

from chordline.adapters.vault.places import write_first, write_whole
from chordline.adapters.vault.wrapping import KEY_BYTES, derive, seal_of, unwrap, wrap
from chordline.errors import VaultError

SCHEMA = "chordline.club-key/1"
_SALT_BYTES = 16
#: A file from elsewhere must not make this machine calculate for hours.
_MOST_MEMORY_KIB, _MOST_PASSES, _MOST_LANES = 4 << 20, 64, 64


@dataclass(frozen=True)
class Argon2:
    """What argon2id is asked for; stored beside what it protects.

    Notes
    -----
    RFC 9106, section 4, second recommended option: 3 passes, 4 lanes, 64 MiB, 128-bit salt,
    256-bit tag. The first (2 GiB) is more than a gym's laptop has to spare.
    """

    passes: int = 3
    lanes: int = 4
    memory_kib: int = 1 << 16

    def key_of(self, passphrase: str, salt: bytes) -> bytes:
        """Return the key that a passphrase makes; one typed on another keyboard is the same."""
        return hash_secret_raw(
            unicodedata.normalize("NFC", passphrase).encode(),
            salt,
            time_cost=self.passes,
            memory_cost=self.memory_kib,
            parallelism=self.lanes,
            hash_len=KEY_BYTES,
            type=Type.ID,
            version=ARGON2_VERSION,
        )


@dataclass(frozen=True)
class ByPassphrase:
    """The club key under a passphrase."""

    cost: Argon2
    salt: bytes
    wrapped: bytes


@dataclass(frozen=True)
class ClubKeyFile:
    """What ``club.key`` holds.

    Attributes
    ----------
    id : str
        Names the key; wrapped keys are bound to it.
    made_at : str
    check : bytes
        Tells whether a key is this one.
    bare : bytes or None
        The key itself, until a passphrase is set.
    by_passphrase : ByPassphrase or None
    by_code : bytes or None
        The key under a recovery code.
    code_made_on : str
        Day on which the recovery sheet was printed; empty = none.
    """

    id: str
    made_at: str
    check: bytes
    bare: bytes | None = None
    by_passphrase: ByPassphrase | None = None
    by_code: bytes | None = None
    code_made_on: str = ""

    @classmethod
    def of(cls, key: bytes) -> Self:
        """Return the file of a new key, which lies in it bare."""
        now = datetime.now(UTC).isoformat(timespec="seconds")
        return cls(id=uuid4().hex, made_at=now, check=_check_of(key), bare=key)

    def is_key(self, key: bytes | None) -> bool:
        """Return whether a key is the club's."""
        return key is not None and hmac.compare_digest(_check_of(key), self.check)

    def open_bare(self) -> bytes | None:
        """Return the key where it lies in the file; raise `VaultError` where it is damaged."""
        if self.bare is not None and not self.is_key(self.bare):
            raise _damaged()
        return self.bare

    def open_with_passphrase(self, passphrase: str) -> bytes | None:
        """Return the key, or None for a wrong passphrase."""
        slot = self.by_passphrase
        if slot is None:
            return None
        key = unwrap(slot.wrapped, slot.cost.key_of(passphrase, slot.salt), name=self._name("pass"))
        return key if self.is_key(key) else None

    def open_with_code(self, code: bytes) -> bytes | None:
        """Return the key, or None for another club's or an older code.

        A code is 160 random bits: unlike a passphrase nobody guesses it, so no slow hash is needed.
        """
        if self.by_code is None:
            return None
        key = unwrap(self.by_code, derive(code, "chordline recovery"), name=self._name("code"))
        return key if self.is_key(key) else None

    def with_passphrase(self, key: bytes, passphrase: str, salt: bytes, cost: Argon2) -> Self:
        """Return the file with the key under a passphrase, and bare no more."""
        wrapped = wrap(key, cost.key_of(passphrase, salt), name=self._name("pass"))
        return replace(self, bare=None, by_passphrase=ByPassphrase(cost, salt, wrapped))

    def without_passphrase(self, key: bytes) -> Self:
        """Return the file with the key bare."""
        return replace(self, bare=key, by_passphrase=None)

    def with_code(self, key: bytes, code: bytes, *, day: str) -> Self:
        """Return the file with the key under a recovery code; an older code opens no more."""
        under = derive(code, "chordline recovery")
        return replace(self, by_code=wrap(key, under, name=self._name("code")), code_made_on=day)

    def _name(self, slot: str) -> str:
        return f"chordline club key {self.id} {slot}"

    def written(self) -> bytes:
        """Return the file's bytes."""
        slot = self.by_passphrase
        record: dict[str, Any] = {
            "schema": SCHEMA,
            "id": self.id,
            "made_at": self.made_at,
            "check": _text(self.check),
        }
        if self.bare is not None:
            record["bare"] = _text(self.bare)
        if slot is not None:
            record["passphrase"] = {
                "kdf": "argon2id",
                "version": ARGON2_VERSION,
                "passes": slot.cost.passes,
                "lanes": slot.cost.lanes,
                "memory_kib": slot.cost.memory_kib,
                "salt": _text(slot.salt),
                "wrapped": _text(slot.wrapped),
            }
        if self.by_code is not None:
            record["recovery"] = {"made_on": self.code_made_on, "wrapped": _text(self.by_code)}
        return (json.dumps(record, indent=1) + "\n").encode()

    @classmethod
    def read(cls, text: bytes) -> Self:
        """Read a file's bytes; raise `VaultError` where they are none of this version."""
        try:
            record = json.loads(text)
            if record["schema"] != SCHEMA:
                raise VaultError(
                    "club.key was written by a newer chordline; install that version, nothing was "
                    "changed"
                )
            return cls(
                id=str(record["id"]),
                made_at=str(record["made_at"]),
                check=_bytes(record["check"]),
                bare=_bytes(record["bare"]) if "bare" in record else None,
                by_passphrase=_slot(record["passphrase"]) if "passphrase" in record else None,
                by_code=_bytes(record["recovery"]["wrapped"]) if "recovery" in record else None,
                code_made_on=str(record.get("recovery", {}).get("made_on", "")),
            )
        except (ValueError, KeyError, TypeError, AttributeError, binascii.Error):
            raise _damaged() from None


def _slot(record: dict[str, Any]) -> ByPassphrase:
    passes, lanes = int(record["passes"]), int(record["lanes"])
    memory_kib = int(record["memory_kib"])
    fits = 1 <= passes <= _MOST_PASSES and 1 <= lanes <= _MOST_LANES
    if record["kdf"] != "argon2id" or record["version"] != ARGON2_VERSION or not fits:
        raise ValueError
    if not 8 * lanes <= memory_kib <= _MOST_MEMORY_KIB:
        raise ValueError
    salt, wrapped = _bytes(record["salt"]), _bytes(record["wrapped"])
    if len(salt) < _SALT_BYTES:
        raise ValueError
    return ByPassphrase(Argon2(passes, lanes, memory_kib), salt, wrapped)


def read_key_file(place: Path) -> ClubKeyFile | None:
    """Return the file, or None where there is none."""
    try:
        return ClubKeyFile.read(place.read_bytes())
    except FileNotFoundError:
        return None
    except OSError as error:
        raise _unusable(error) from None


def save_key_file(place: Path, file: ClubKeyFile) -> None:
    """Put the file in the place of the one before; a kill leaves either."""
    try:
        write_whole(place, [file.written()])
    except OSError as error:
        raise _unusable(error) from None


def save_first_key_file(place: Path, file: ClubKeyFile) -> bool:
    """Write the first file; return False where somebody else was quicker."""
    try:
        return write_first(place, file.written())
    except OSError as error:
        raise _unusable(error) from None


def _check_of(key: bytes) -> bytes:
    return seal_of(b"chordline club key", derive(key, "chordline check"))


def _text(value: bytes) -> str:
    return base64.b64encode(value).decode()


def _bytes(text: str) -> bytes:
    return base64.b64decode(text, validate=True)


def _damaged() -> VaultError:
    return VaultError(
        "club.key is damaged; put the one from a backup in its place. The pictures are as they were"
    )


def _unusable(error: OSError) -> VaultError:
    return VaultError(f"club.key cannot be used now ({error.strerror or 'unknown reason'})")
