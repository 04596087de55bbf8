"""Sealing the pictures of a club of before, killed again and again: none is ever lost."""

import os
import random
import time
from dataclasses import replace
from pathlib import Path

import pytest

from chordline.application.club.records import NewGymnast
from chordline.bootstrap import App
from club_stories import MONDAY, new_photo
from killed_writers import picture, write_until_killed
from vault_stories import plant_plain

PICTURES = 40


def plain_club(folder: Path) -> dict[int, bytes]:
    """A club whose pictures are plain, half of them nobody's; their content by photo."""
    app = App(data=folder)
    contents = {}
    with app.records.transaction() as tx:
        club = tx.clubs.add("Turnverein")
        ada = tx.gymnasts.add(club.id, NewGymnast("Ada"))
        screen = tx.screens.on(ada.id, MONDAY)
        for number in range(PICTURES):
            key = plant_plain(folder / "photos", picture(number))
            owner = screen.id if number % 2 else None
            new = replace(new_photo(str(number), screen_id=owner), content_key=key)
            contents[tx.photos.file(club.id, new).photo.id] = picture(number)
    app.records.close()
    return contents


def what_opens(app: App, photo_ids: list[int]) -> tuple[dict[int, bytes], set[str]]:
    with app.records.reading() as tx:
        keys = {one: tx.photos.get(one).content_key or "" for one in photo_ids}
    return {one: app.photo_store.open(key) for one, key in keys.items()}, set(keys.values())


@pytest.mark.slow
def test_kills_while_sealing_lose_nothing_and_leave_nothing_plain(tmp_path: Path):
    contents = plain_club(tmp_path)
    moments = random.Random(8)
    steps = 0
    for _ in range(3):
        said = write_until_killed(
            "seal",
            str(tmp_path),
            first=0,
            after_s=moments.uniform(0.0, 0.02),
            words=moments.randrange(3, 6),
        )
        steps += said.count("sealed")
        app = App(data=tmp_path)
        assert what_opens(app, list(contents))[0] == contents
        app.records.close()
    assert steps < PICTURES, "the kills came too late to tell anything"
    long_ago = (time.time() - 7200.0,) * 2
    for file in (tmp_path / "photos").rglob("*-*"):
        os.utime(file, long_ago)
    app = App(data=tmp_path)
    done = app.seal_pictures().all(app.club().id)
    assert done.unreadable == ()
    opened, needed = what_opens(app, list(contents))
    assert opened == contents
    assert set(app.photo_store.keys()) == needed
    assert not list((tmp_path / "photos").rglob("plain-*"))
    app.records.close()
