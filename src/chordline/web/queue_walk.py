"""Walking through the photos that need a look: what comes before and after one of them."""

from dataclasses import dataclass

from chordline.application.club.ports import Tx

#: The queue is read in pieces of this size until the photo is found.
_PIECE = 200


@dataclass(frozen=True)
class Place:
    """Where a photo stands in the queue.

    Attributes
    ----------
    previous, next : int or None
        The photos beside it; `next` is the first of the queue where the photo is not in it (any
        more).
    position : int or None
        1 for the first; None where the photo is not in the queue.
    total : int
    """

    previous: int | None
    next: int | None
    position: int | None
    total: int


def find_place(tx: Tx, club_id: int, photo_id: int) -> Place:
    """Return where a photo stands among those that need a look."""
    page = tx.photos.queue(club_id, limit=_PIECE)
    first = page.rows[0].photo.id if page.rows else None
    total, before, count = page.total, None, 0
    while True:
        ids = [row.photo.id for row in page.rows]
        if photo_id in ids:
            at = ids.index(photo_id)
            previous = ids[at - 1] if at else before
            following = ids[at + 1] if at + 1 < len(ids) else None
            if following is None and page.next is not None:
                rows = tx.photos.queue(club_id, after=page.next, limit=1).rows
                following = rows[0].photo.id if rows else None
            return Place(previous, following, count + at + 1, total)
        if page.next is None:
            return Place(None, first, None, total)
        before, count = ids[-1], count + len(ids)
        page = tx.photos.queue(club_id, after=page.next, limit=_PIECE)
