"""Pages that begin after the last row of the page before, however long the list is."""

import base64
import binascii
import json
from typing import Any

from sqlalchemy import ColumnElement, and_, or_

from chordline.errors import WrongUseError

MOST_ROWS = 500


def check_limit(limit: int) -> int:
    """Return the limit or raise `WrongUseError`."""
    if not 1 <= limit <= MOST_ROWS:
        raise WrongUseError(f"a page has 1 to {MOST_ROWS} rows, not {limit}")
    return limit


def write_cursor(order: str, *values: str | float) -> str:
    """Return the place after a row, to be handed back by a page's link."""
    return base64.urlsafe_b64encode(json.dumps([order, *values]).encode()).decode()


def read_cursor(cursor: str, order: str, *types: type) -> list[Any]:
    """Return the values of a place in an order; raise `WrongUseError` for anything else."""
    try:
        found, *values = json.loads(base64.urlsafe_b64decode(cursor.encode()))
    except (ValueError, TypeError, binascii.Error):
        found, values = None, []
    if found != order or [type(value) for value in values] != list(types):
        raise WrongUseError("this page's link does not fit the list; begin again at the top")
    return list(values)


def beyond(
    key: ColumnElement[Any],
    value: object,
    id_column: ColumnElement[int],
    id: int,
    *,
    key_down: bool,
    id_down: bool,
) -> ColumnElement[bool]:
    """Return the condition for the rows after (key, id) in an order by key, then id."""
    further = key < value if key_down else key > value
    # The first comparison alone lets an index be used; the second leaves out what was shown.
    at_or_after = key <= value if key_down else key >= value
    return and_(at_or_after, or_(further, id_column < id if id_down else id_column > id))
