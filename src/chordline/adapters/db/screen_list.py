"""Which screens gymnasts have, without what is in them."""

from collections.abc import Sequence

from sqlalchemy import select

from chordline.adapters.db.records import SqlTx
from chordline.adapters.db.rows import screen_of
from chordline.adapters.db.schema import SCREEN
from chordline.application.club.ports import Tx
from chordline.application.club.records import ScreenRecord

#: No database asks for more values at once.
_AT_ONCE = 500


def list_screens(tx: Tx, gymnast_ids: Sequence[int]) -> tuple[ScreenRecord, ...]:
    """Return the screens of gymnasts, the first day first; implements `ListScreens`."""
    assert isinstance(tx, SqlTx)
    found: list[ScreenRecord] = []
    for start in range(0, len(gymnast_ids), _AT_ONCE):
        some = gymnast_ids[start : start + _AT_ONCE]
        query = select(SCREEN).where(SCREEN.c.gymnast_id.in_(some))
        rows = tx._session.rows(query.order_by(SCREEN.c.screened_on, SCREEN.c.id))
        found.extend(map(screen_of, rows))
    return tuple(found)
