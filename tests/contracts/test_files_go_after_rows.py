"""A kill between a row and its file: the row goes first, and the file is swept away later."""

import os
import time
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from chordline.application.club.pictures_health import examine_pictures
from chordline.application.club.records import Consent, NewGymnast
from chordline.bootstrap import App
from club_stories import MONDAY, new_photo

#: So long ago that her pictures have to go.
ENDED = date(2025, 1, 1)


class KilledError(BaseException):
    """Stands for the end of the process."""


@pytest.fixture
def app(tmp_path: Path):
    """A club of one gymnast, whose consent ended long ago, with one photo."""
    app = App(data=tmp_path)
    with app.records.transaction() as tx:
        consent = Consent(measure=True, until=ENDED, said_on=ENDED)
        her = tx.gymnasts.add(tx.clubs.add("Turnverein").id, NewGymnast("Ada", consent=consent))
        screen = tx.screens.on(her.id, MONDAY)
        key = app.photo_store.put(b"hers", app.photo_store.key_for(tx.keys, her.club_id, her.id))
        new = replace(new_photo("a.jpg", screen_id=screen.id), content_key=key)
        photo = tx.photos.file(her.club_id, new).photo
        tx.photos.settle(photo.id, revision=photo.revision, state="refused", reason="r", worry=1.0)
    yield app
    app.records.close()


@pytest.mark.parametrize(
    "remove",
    [
        lambda app: app.keep_her().erase(1),
        lambda app: app.move_photo().take_out(1),
        lambda app: app.apply_consent()(1, date.today()),
    ],
    ids=["erasing", "taking out", "applying a consent"],
)
def test_a_kill_before_the_file_goes_leaves_no_row_without_its_picture(
    app: App, remove: Callable[[App], object], monkeypatch: pytest.MonkeyPatch
):
    store = app.photo_store

    def die(key: str) -> bool:
        raise KilledError(key)

    with monkeypatch.context() as killing:
        killing.setattr(type(store), "delete", lambda _, key: die(key))
        with pytest.raises(KilledError):
            remove(app)
    with app.records.reading() as tx:
        named = tx.keys.content_keys(1)
    (left,) = store.keys()
    assert named == frozenset()
    # Its key went with her where she was erased; that is no damage.
    (told,) = examine_pictures(app.records, 1, store, app.vault)
    assert told.state == "well"
    long_ago = (time.time() - 7200.0,) * 2
    os.utime(store._place(left), long_ago)  # type: ignore[attr-defined]
    assert app.seal_pictures().all(1).swept == 1
    assert list(store.keys()) == []
