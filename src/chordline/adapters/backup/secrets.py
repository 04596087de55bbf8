"""What the club's vault gives to backups; implements `Secrets`."""

import hmac
import json
from collections.abc import Callable, Mapping, Sequence
from contextlib import AbstractContextManager
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import Any

from chordline.adapters.backup.ring_file import read_ring, ring_unread, write_ring
from chordline.adapters.vault.club_key import ClubKeyFile, read_key_file
from chordline.adapters.vault.ring import export_ring
from chordline.application.backup.ports import Ring
from chordline.application.club.erased import Erased
from chordline.application.club.ports import Tx
from chordline.application.club.vault_ports import Vault
from chordline.errors import BackupError, VaultError, VaultLockedError

_ERASED_SCHEMA = "chordline.erased/1"


class VaultSecrets:
    """What the vault gives.

    Parameters
    ----------
    place : Path
        Of ``club.key``.
    vault : Vault
    reading : callable
        Begins a reading transaction.
    club_id : callable
    """

    def __init__(
        self,
        place: Path,
        vault: Vault,
        *,
        reading: Callable[[], AbstractContextManager[Tx]],
        club_id: Callable[[], int],
    ) -> None:
        self._place = place
        self._vault = vault
        self._reading = reading
        self._club_id = club_id

    def key_id(self) -> str:
        """Return the name of the club key; made where there is none yet."""
        return self._file().id

    def club_key(self) -> tuple[bytes, bool]:
        """Return the file of the club key without the key itself."""
        file = self._file()
        if file.by_passphrase is None and file.by_code is None:
            raise BackupError(
                "nothing but this machine could open the backup. Set a passphrase ('chordline "
                "vault passphrase') or print a recovery sheet ('chordline vault recovery -o "
                "recovery.pdf') first: a backup with the bare key in it would show every picture "
                "to whoever finds the disk, and without it nobody could read it"
            )
        return replace(file, bare=None).written(), file.by_passphrase is None

    def ring(self, before: bytes | None, erased_before: bytes | None) -> Ring | None:
        """Return the ring that takes the place of the one before; None where it is locked."""
        if self._vault.locked:
            return None
        club_id = self._club_id()
        with self._reading() as tx:
            try:
                ours = read_ring(export_ring(tx, club_id, self._vault), self._vault) or []
                known = {one.gymnast_number: one for one in tx.erased.all()}
                for one in _erased_or_none(erased_before, self._vault):
                    known.setdefault(one.gymnast_number, one)
                there = read_ring(before, self._vault) or []
                ids = {one["id"] for one in ours}
                stay = [one for one in there if one["id"] not in ids and not _gone(one, known, ids)]
                dropped = {one["id"] for one in there} - ids - {one["id"] for one in stay}
                return Ring(
                    write_ring([*ours, *stay], self._vault),
                    write_erased(tuple(known.values()), self._vault),
                    frozenset(dropped),
                )
            except VaultLockedError:
                return None

    def lacks(self, ring: bytes | None) -> bool:
        """Return whether a ring lacks keys of the records; the vault may be locked."""
        with self._reading() as tx:
            ours = {one.id for one in tx.keys.all(self._club_id())}
        return not ours <= {one["id"] for one in ring_unread(ring)}

    def is_due(self, ring: bytes | None) -> bool:
        """Return whether a ring holds keys of somebody who was erased; the vault may be locked."""
        with self._reading() as tx:
            known = {one.gymnast_number: one for one in tx.erased.all()}
            ours = {one.id for one in tx.keys.all(self._club_id())}
        return any(one["id"] not in ours and _gone(one, known, ours) for one in ring_unread(ring))

    def _file(self) -> ClubKeyFile:
        file = read_key_file(self._place)
        if file is None:
            # Makes the first one; where it was lost, it says so.
            self._vault.seal_of(b"")
            file = read_key_file(self._place)
        if file is None:
            raise VaultError("club.key was taken away a moment ago; put it back")
        return file


def _gone(one: dict[str, Any], erased: Mapping[int, Erased], ours: set[str]) -> bool:
    """Return whether a key that is not in the records was taken out of them on purpose."""
    if one["gymnast"] is not None:
        return one["gymnast"] in erased
    # The key for pictures of nobody yet was retired, unless the records themselves are new.
    return bool(ours)


def _erased_or_none(text: bytes | None, vault: Vault) -> tuple[Erased, ...]:
    try:
        return read_erased(text, vault)
    except BackupError:
        return ()  # replaced by what the records know


def write_erased(known: Sequence[Erased], vault: Vault) -> bytes:
    """Return the list of those who were erased, authenticated under the club key."""
    gymnasts = [[one.gymnast_number, one.erased_at.isoformat(), one.by] for one in known]
    record = {"schema": _ERASED_SCHEMA, "gymnasts": gymnasts}
    seal = vault.seal_of(_canonical(record)).hex()
    return (json.dumps({**record, "seal": seal}) + "\n").encode()


def read_erased(text: bytes | None, vault: Vault) -> tuple[Erased, ...]:
    """Return who was erased, as the list beside the backups says it.

    Raises
    ------
    BackupError
        Where it is damaged, or was written under another club key.
    """
    if text is None:
        return ()
    try:
        record = json.loads(text)
        shown = bytes.fromhex(record.pop("seal"))
        ours = hmac.compare_digest(shown, vault.seal_of(_canonical(record)))
        if ours and record["schema"] == _ERASED_SCHEMA:
            return tuple(
                Erased(int(number), datetime.fromisoformat(at), str(by))
                for number, at, by in record["gymnasts"]
            )
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
        pass
    raise BackupError(
        "the list 'erased' beside the backups is damaged or was changed: who was erased would "
        "come back. Take the folder from another disk"
    )


def _canonical(record: dict[str, Any]) -> bytes:
    return b"erased" + json.dumps(record, sort_keys=True, separators=(",", ":")).encode()
