"""The ring: a club's wrapped keys as one small file, kept apart from copies of the records.

A backup copies the records without their keys. The ring stands beside it and is replaced, in old
backups too, whenever somebody is erased: then her pictures open in no copy any more.
"""

import base64
import binascii
import hmac
import json
from datetime import datetime
from typing import Any

from chordline.application.club.ports import Tx
from chordline.application.club.vault_ports import RingImport, Vault, WrappedKey
from chordline.errors import NotThereError, VaultError

SCHEMA = "chordline.ring/1"


def export_ring(tx: Tx, club_id: int, vault: Vault) -> bytes:
    """Return the wrapped keys of a club, authenticated under its club key.

    Raises
    ------
    VaultLockedError
        Where the club key is not at hand.
    """
    keys = [_record(one) for one in tx.keys.all(club_id)]
    record = {"schema": SCHEMA, "keys": keys}
    return json.dumps(
        {**record, "seal": vault.seal_of(_canonical(record)).hex()}, indent=1
    ).encode()


def import_ring(tx: Tx, club_id: int, vault: Vault, ring: bytes) -> RingImport:
    """Take the wrapped keys of a ring into the records.

    Keys of gymnasts who are not in the records, and of those who have a key already, are left out.

    Raises
    ------
    VaultError
        Where the ring is damaged, or of another club key.
    """
    try:
        record = json.loads(ring)
        shown = bytes.fromhex(record.pop("seal"))
        ours = hmac.compare_digest(shown, vault.seal_of(_canonical(record)))
        known = record["schema"] == SCHEMA
        keys = [_key(one, club_id) for one in record["keys"]] if ours and known else []
    except (ValueError, KeyError, TypeError, AttributeError, binascii.Error):
        ours, known, keys = False, False, []
    if not ours:
        raise VaultError(
            "this ring of keys is damaged, or does not belong to this club.key; take both from one "
            "backup"
        )
    if not known:
        raise VaultError("this ring was written by a newer chordline; install that version")
    taken, left_out = 0, []
    for one in keys:
        if _take(tx, one):
            taken += 1
        else:
            left_out.append(one.id)
    return RingImport(taken, left_out)


def _take(tx: Tx, one: WrappedKey) -> bool:
    try:
        if one.gymnast_id is not None and tx.gymnasts.get(one.gymnast_id).club_id != one.club_id:
            return False
    except NotThereError:
        return False
    added = tx.keys.add(
        one.club_id, one.gymnast_id, key_id=one.id, wrapped=one.wrapped, made_at=one.made_at
    )
    return added.id == one.id


def _record(one: WrappedKey) -> dict[str, Any]:
    return {
        "id": one.id,
        "gymnast": one.gymnast_id,
        "wrapped": base64.b64encode(one.wrapped).decode(),
        "made_at": one.made_at.isoformat(),
    }


def _key(record: dict[str, Any], club_id: int) -> WrappedKey:
    gymnast_id = record["gymnast"]
    return WrappedKey(
        id=str(record["id"]),
        club_id=club_id,
        gymnast_id=None if gymnast_id is None else int(gymnast_id),
        wrapped=base64.b64decode(record["wrapped"], validate=True),
        made_at=datetime.fromisoformat(record["made_at"]),
    )


def _canonical(record: dict[str, Any]) -> bytes:
    return json.dumps(record, sort_keys=True, separators=(",", ":")).encode()
