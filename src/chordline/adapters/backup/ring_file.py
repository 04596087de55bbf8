"""Rings of keys (`adapters.vault.ring`) as lists, to be put together and sealed anew."""

import hmac
import json
from collections.abc import Sequence
from typing import Any

from chordline.adapters.vault.ring import SCHEMA
from chordline.application.club.vault_ports import Vault

Key = dict[str, Any]


def ring_unread(ring: bytes | None) -> list[Key]:
    """Return the keys in a ring without looking whether somebody changed it."""
    try:
        keys = json.loads(ring or b"{}").get("keys", [])
        return [one for one in keys if isinstance(one["id"], str) and "gymnast" in one]
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
        return []


def read_ring(ring: bytes | None, vault: Vault) -> list[Key] | None:
    """Return the keys in a ring; None where it is damaged, or of another club key."""
    try:
        record = json.loads(ring or b"")
        shown = bytes.fromhex(record.pop("seal"))
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
        return None
    fits = hmac.compare_digest(shown, vault.seal_of(_canonical(record)))
    return list(record["keys"]) if fits and record["schema"] == SCHEMA else None


def write_ring(keys: Sequence[Key], vault: Vault) -> bytes:
    """Return a ring of these keys, authenticated under the club key."""
    record = {"schema": SCHEMA, "keys": list(keys)}
    seal = vault.seal_of(_canonical(record)).hex()
    return json.dumps({**record, "seal": seal}, indent=1).encode()


def _canonical(record: dict[str, Any]) -> bytes:
    # As `adapters.vault.ring` does; a test holds both to each other.
    return json.dumps(record, sort_keys=True, separators=(",", ":")).encode()
