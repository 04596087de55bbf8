"""Photos that nobody owned are looked at again when somebody gets a card or comes in."""

from chordline.application.club.ports import Tx
from chordline.application.club.take_in import MEASURE

#: So many at once; a club that has more photos without an owner files them by hand first.
_AT_ONCE = 500


def refile_unowned(tx: Tx, club_id: int) -> int:
    """Queue the photos that nobody owns, and return how many there are."""
    queued = 0
    after = None
    while queued < _AT_ONCE:
        page = tx.photos.unfiled(club_id, after=after, limit=100)
        for row in page.rows:
            tx.jobs.add(club_id, MEASURE, photo_id=row.photo.id)
        queued += len(page.rows)
        after = page.next
        if after is None:
            break
    return queued
