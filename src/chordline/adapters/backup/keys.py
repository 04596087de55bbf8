"""The keys of backup files: who may write them, and who may read them.

A backup has to be made while the vault is locked: nobody gives a passphrase at night. So the club
has a key pair for backups, both halves derived from the club key. The public half and a writing
secret lie in the data folder: they make backups, and read none.
"""

import json
from dataclasses import dataclass, field
from pathlib import Path

from cryptography.hazmat.primitives.asymmetric.x25519 import X25519PrivateKey, X25519PublicKey
from cryptography.hazmat.primitives.hashes import SHA256, Hash
from cryptography.hazmat.primitives.kdf.hkdf import HKDF

from chordline.adapters.vault.places import write_whole
from chordline.application.club.vault_ports import Vault
from chordline.errors import BackupError

_SCHEMA = "chordline.backup-key/1"
_PURPOSE = b"chordline backup file 1"
_SECRET_BYTES = 32


@dataclass(frozen=True)
class WritingKeys:
    """What writes backups.

    Attributes
    ----------
    key_id : str
        Names the club key from which they are derived.
    public, secret : bytes
    """

    key_id: str
    public: bytes
    secret: bytes = field(repr=False)

    def agree(self) -> tuple[bytes, bytes]:
        """Return a new public key and what it shares with the club's (X25519, RFC 7748)."""
        own = X25519PrivateKey.generate()
        shared = own.exchange(X25519PublicKey.from_public_bytes(self.public))
        return own.public_key().public_bytes_raw(), shared

    def file_key(self, shared: bytes, before: bytes) -> bytes:
        """Return the key of the file that begins with these bytes."""
        return _file_key(shared, self.secret, before)


@dataclass(frozen=True)
class ReadingKeys:
    """What reads backups."""

    private: bytes = field(repr=False)
    secret: bytes = field(repr=False)

    def file_key(self, agreed: bytes, before: bytes) -> bytes:
        """Return the key of a file; raise `ValueError` for a key that no file has."""
        own = X25519PrivateKey.from_private_bytes(self.private)
        return _file_key(
            own.exchange(X25519PublicKey.from_public_bytes(agreed)), self.secret, before
        )


def reading_keys(vault: Vault) -> ReadingKeys:
    """Return the keys that read; raise `VaultLockedError` where the vault is locked."""
    return ReadingKeys(
        private=vault.seal_of(b"chordline backup reader 1"),
        secret=vault.seal_of(b"chordline backup writer 1"),
    )


def writing_keys(place: Path, key_id: str, vault: Vault) -> WritingKeys:
    """Return the keys that write: derived where the vault is open, else as they were kept.

    Raises
    ------
    BackupError
        Where the vault is locked and none were kept.
    """
    if vault.state != "locked":
        reading = reading_keys(vault)
        own = X25519PrivateKey.from_private_bytes(reading.private)
        keys = WritingKeys(key_id, own.public_key().public_bytes_raw(), reading.secret)
        if _kept(place) != keys:
            _keep(place, keys)
        return keys
    kept = _kept(place)
    if kept is None or kept.key_id != key_id:
        raise BackupError(
            "unlock the pictures once, then backups are made while they are locked, too"
        )
    return kept


def _kept(place: Path) -> WritingKeys | None:
    try:
        record = json.loads(place.read_bytes())
        if record["schema"] != _SCHEMA:
            return None
        public, secret = bytes.fromhex(record["public"]), bytes.fromhex(record["secret"])
        right = len(public) == len(secret) == _SECRET_BYTES
        return WritingKeys(str(record["key_id"]), public, secret) if right else None
    except FileNotFoundError:
        return None
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return None


def _keep(place: Path, keys: WritingKeys) -> None:
    record = {
        "schema": _SCHEMA,
        "key_id": keys.key_id,
        "public": keys.public.hex(),
        "secret": keys.secret.hex(),
    }
    try:
        write_whole(place, [(json.dumps(record, indent=1) + "\n").encode()])
    except OSError as error:
        raise BackupError(f"{place} cannot be written ({error.strerror})") from None


def _file_key(shared: bytes, secret: bytes, before: bytes) -> bytes:
    digest = Hash(SHA256())
    digest.update(before)
    derive = HKDF(SHA256(), length=32, salt=digest.finalize(), info=_PURPOSE)
    return derive.derive(shared + secret)
