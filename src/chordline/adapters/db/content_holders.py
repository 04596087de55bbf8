"""What has a file of its own in the photo store."""

from typing import Any, NamedTuple

from sqlalchemy import Column, Table

from chordline.adapters.db.schema import PHOTO
from chordline.adapters.db.video_schema import VIDEO


class ContentHolder(NamedTuple):
    """A table whose rows have a file in the store.

    Its columns are ``id``, ``club_id``, ``screen_id`` (None = nobody's yet) and `content`.
    """

    table: Table
    content: Column[Any]


#: By the word for a row of it.
CONTENT_HOLDERS = {
    "photo": ContentHolder(PHOTO, PHOTO.c.content_key),
    "video": ContentHolder(VIDEO, VIDEO.c.content_key),
}
