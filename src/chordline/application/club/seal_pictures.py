"""Every picture and video under its gymnast's own key: what is not is sealed anew, step by step."""

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Protocol

from chordline.application.club.let_go import let_go
from chordline.application.club.photo_store import PhotoStore
from chordline.application.club.ports import Records
from chordline.application.club.vault_ports import Holder, Misplaced
from chordline.errors import PhotoStoreError, VaultLockedError

_HOLDERS: tuple[Holder, ...] = ("photo", "video")
#: Nobody takes so long from keeping a file to filing it [s].
_STRAY_S = 3600.0
_AT_ONCE = 100
#: A key is not made anew for every evening's photos.
_UNFILED_STAYS = timedelta(days=1)


class Steps(Protocol):
    """Somebody who is told how it goes on."""

    def start(self, total: int) -> None:
        """Hear how many steps there will be."""
        ...

    def step(self, label: str) -> None:
        """Hear of one step done."""
        ...


@dataclass(frozen=True)
class SealedAll:
    """What was done.

    Attributes
    ----------
    sealed : int
        Files that are under the right key now.
    unreadable : tuple of str
        Content keys of those that are missing or damaged; they stay as they are.
    swept : int
        Files that nothing needed, left by a kill.
    """

    sealed: int
    unreadable: tuple[str, ...]
    swept: int


class SealPictures:
    """Use case: bring pictures and videos under the key of the gymnast whose they are.

    Each step writes the sealed file, then changes its row in one transaction, then deletes the file
    of before. A kill between these leaves a file that nothing needs; `all` sweeps it away.
    """

    def __init__(self, records: Records, store: PhotoStore) -> None:
        self._records = records
        self._store = store

    def filed(self, holder: Holder, id: int) -> None:
        """Bring one file under the right key; after it was filed under somebody.

        Where it cannot be done now (locked, damaged), `all` does it, or tells of it, later.
        """
        with self._records.reading() as tx:
            one = tx.keys.misplaced_one(holder, id)
        if one is None:
            return
        try:
            self._seal(one)
        except PhotoStoreError:
            return

    def all(self, club_id: int, progress: Steps | None = None) -> SealedAll:
        """Bring every file under the right key, and sweep away what nothing needs.

        Raises
        ------
        VaultLockedError
            Where the vault is locked, or gets locked meanwhile; what was done stays done.
        """
        with self._records.reading() as tx:
            total = tx.keys.count_misplaced(club_id)
        if progress is not None:
            progress.start(total)
        sealed, unreadable = 0, []
        for holder in _HOLDERS:
            after = 0
            while True:
                with self._records.reading() as tx:
                    some = tx.keys.misplaced(club_id, holder, after=after, limit=_AT_ONCE)
                if not some:
                    break
                after = some[-1].id
                for one in some:
                    try:
                        sealed += self._seal(one)
                    except VaultLockedError:
                        raise
                    except PhotoStoreError:
                        unreadable.append(one.content_key)
                    if progress is not None:
                        progress.step("")
        swept = self._sweep()
        self._retire_unfiled(club_id)
        return SealedAll(sealed, tuple(unreadable), swept)

    def _seal(self, one: Misplaced) -> bool:
        """Seal one file; False where it was moved or taken out meanwhile."""
        with self._records.transaction() as tx:
            if tx.keys.misplaced_one(one.holder, one.id) != one:
                return False
            key_id = self._store.key_for(tx.keys, one.club_id, one.gymnast_id)
        # Outside of any transaction: a video takes long, and nobody should wait for it.
        try:
            new = self._store.reseal(one.content_key, key_id)
        except PhotoStoreError:
            with self._records.reading() as tx:
                stands = tx.keys.misplaced_one(one.holder, one.id) == one
            if stands:
                raise
            return False  # somebody else sealed, moved or removed it meanwhile
        done = False
        try:
            with self._records.transaction() as tx:
                # The same key as before, unless she was erased or it was retired meanwhile.
                key = tx.keys.of(one.club_id, one.gymnast_id)
                if key is not None and key.id == key_id:
                    done = tx.keys.replace(one, new)
        finally:
            if not done:
                self._store.delete(new)
        if done:
            let_go(self._records, self._store, [one.content_key])
        return done

    def _retire_unfiled(self, club_id: int) -> None:
        """Remove the key for pictures of nobody yet once nothing lies under it; a new one comes.

        Files that are not filed yet count as well: so the store is looked at, not the records
        alone, and a key of today stays.
        """
        with self._records.reading() as tx:
            unfiled = [one for one in tx.keys.all(club_id) if one.gymnast_id is None]
        for one in unfiled:
            young = datetime.now(UTC) - one.made_at < _UNFILED_STAYS
            if not young and not self._store.in_use(one.id):
                with self._records.transaction() as tx:
                    tx.keys.retire_unfiled(club_id)
                self._store.forget_keys()
                self._records.scrub()

    def _sweep(self) -> int:
        """Delete files that nothing needs; young ones may be somebody's who is just filing them."""
        return let_go(self._records, self._store, self._store.keys(older_than_s=_STRAY_S))
