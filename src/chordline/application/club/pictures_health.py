"""The stored pictures as `chordline doctor` tells of them: there, needed, and opening."""

from collections.abc import Sequence

from chordline.application.club.photo_store import PhotoStore
from chordline.application.club.ports import Records
from chordline.application.club.vault_ports import Vault
from chordline.application.health import Finding
from chordline.errors import PhotoStoreError, VaultError

#: So many pictures are opened, spread over all (assumption: a fault of a disk hits many).
_SAMPLE = 12
#: Younger files may be somebody's who is just filing them [s].
_STRAY_S = 3600.0
_PIECE = 1 << 20


def examine_pictures(
    records: Records, club_id: int, store: PhotoStore, vault: Vault
) -> tuple[Finding, ...]:
    """Return what there is to say of the files of pictures and videos."""
    there = frozenset(store.keys())
    with records.reading() as tx:
        # Named first and looked for later: what is taken out meanwhile is asked for again.
        named = tx.keys.content_keys(club_id)
        missing = [key for key in named - there if not store.has(key)]
    with records.reading() as tx:
        unneeded = frozenset(tx.photos.not_needed(missing))
        strays = tx.photos.not_needed(store.keys(older_than_s=_STRAY_S))
    missing = [key for key in missing if key not in unneeded]
    if missing:
        told = (
            f"{len(missing)} of the files that the records name are missing; restore them from a "
            "backup ('chordline restore … --to' beside the present folder)"
        )
        return (Finding("picture files", "broken", told),)
    told = f"{len(there)} there"
    if strays:
        told += f", {len(strays)} that nothing needs ('chordline vault seal' sweeps them away)"
    if vault.locked:
        return (Finding("picture files", "well", f"{told}; none was opened, they are locked"),)
    # What nothing names may be left of somebody who was erased: its key is gone, as it should be.
    opened, damaged = _open_some(store, sorted(there & named))
    if damaged:
        broken = f"{damaged} of {opened + damaged} that were opened are damaged"
        return (Finding("picture files", "broken", f"{broken}; restore them from a backup"),)
    return (Finding("picture files", "well", f"{told}; {opened} were opened and are whole"),)


def _open_some(store: PhotoStore, keys: Sequence[str]) -> tuple[int, int]:
    opened = damaged = 0
    for key in keys[:: max(1, -(-len(keys) // _SAMPLE))]:
        try:
            with store.open_file(key) as file:
                while file.read(_PIECE):
                    pass
            opened += 1
        except (PhotoStoreError, VaultError):
            # Taken out meanwhile is no damage.
            damaged += store.has(key)
    return opened, damaged
