"""Files go after the rows that named them, and where no row came to name them."""

from collections.abc import Iterable

from chordline.application.club.photo_store import PhotoStore
from chordline.application.club.ports import Records


def let_go(records: Records, store: PhotoStore, keys: Iterable[str | None]) -> int:
    """Delete the files under keys that nothing needs any more; return how many.

    Called after the transaction that removed their rows or should have made them, never within it:
    a kill between a file and its row would leave a record whose picture is gone. Killed here, files
    are left that nothing names; the next start of a server sweeps them away (`SealPictures.all`).
    """
    asked = [one for one in keys if one is not None]
    if not asked:
        return 0
    with records.reading() as tx:
        unneeded = tx.photos.not_needed(asked)
    for key in unneeded:
        store.delete(key)
    return len(unneeded)
