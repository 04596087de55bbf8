"""Kills, a busy evening, a day, erasing and access: a small part of what `make faults` does."""

import hashlib
import importlib
import sqlite3
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from chordline.application.club.records import NewGymnast
from chordline.bootstrap import App
from club_stories import MONDAY, new_photo
from faults.day import MOST_MB_A_DAY, Seen, _judge, slope_a_day
from faults.page import SAYS, note, read_runs, write_page
from faults.parts import PARTS
from faults.row import Budget, Row
from faults.wholeness import SIGN, Wholeness

#: Part → share of its cases: the least that it does.
SHARES = {"access": 0.05, "erase": 0.01, "kills": 0.01, "load": 0.01, "day": 0.01}


@pytest.mark.slow
@pytest.mark.filterwarnings("default")
@pytest.mark.parametrize("part", SHARES)
def test_the_promise_of_each_part_holds(part, tmp_path):
    row = importlib.import_module(f"faults.{part}").run(Budget(SHARES[part], 1, tmp_path))
    assert row.cases
    assert row.found == 0, row.notes


@pytest.fixture
def club(tmp_path: Path):
    """A club of one photo that is whole, its folder, and the place of the picture."""
    app = App(data=tmp_path)
    content = SIGN + b" and more"
    with app.records.transaction() as tx:
        her = tx.gymnasts.add(tx.clubs.add("Turnverein").id, NewGymnast("Ada"))
        screen = tx.screens.on(her.id, MONDAY)
        key = app.photo_store.put(content, app.photo_store.key_for(tx.keys, her.club_id, her.id))
        digest = hashlib.sha256(content).hexdigest()
        new = new_photo("a.jpg", screen_id=screen.id, content_key=key)
        tx.photos.file(her.club_id, replace(new, sha256=digest))
    yield app, tmp_path, next(tmp_path.rglob(key))
    app.records.close()


def test_what_is_whole_has_no_faults(club):
    app, folder, _ = club
    assert Wholeness(folder).faults(app) == []


def test_a_picture_cut_short_is_found(club):
    app, folder, picture = club
    picture.write_bytes(picture.read_bytes()[:-1])
    assert any("does not open" in one for one in Wholeness(folder).faults(app))


def test_a_picture_that_is_gone_is_found(club):
    app, folder, picture = club
    picture.unlink()
    assert any("missing" in one for one in Wholeness(folder).faults(app))


def test_anything_plain_is_found(club):
    app, folder, _ = club
    (folder / "photos" / "unfinished-1").write_bytes(b"xx" + SIGN)
    assert Wholeness(folder).faults(app) == ["plain in photos/unfinished-1"]


def test_a_row_without_its_owner_is_found(club):
    app, folder, _ = club
    with sqlite3.connect(folder / "records.sqlite") as file:
        file.execute("UPDATE photo SET screen_id = 99")
    file.close()
    assert any("foreign_key_check" in one for one in Wholeness(folder).faults(app))


def seen(rss_mb: float, files: int = 30) -> Seen:
    return Seen(rss_mb, 100.0, files, 12, 2)


def judged(tmp_path, values):
    row = Row("day")
    _judge(row, Budget(1.0, 1, tmp_path), values)
    return row


def test_a_server_that_stays_as_it_is_holds(tmp_path):
    noise = np.random.default_rng(1).normal(0.0, 3.0, 200)
    assert judged(tmp_path, [seen(300.0 + one) for one in noise]).found == 0


def test_a_server_that_leaks_is_found_through_the_noise(tmp_path):
    noise = np.random.default_rng(1).normal(0.0, 3.0, 200)
    leak_mb = 3.0 * MOST_MB_A_DAY / 200
    values = [seen(300.0 + leak_mb * at + one) for at, one in enumerate(noise)]
    assert judged(tmp_path, values).found == 1


def test_files_that_are_never_closed_are_found(tmp_path):
    assert judged(tmp_path, [seen(300.0, files=30 + at // 10) for at in range(200)]).found == 1


def test_the_interval_of_growth_holds_the_truth_nine_times_in_ten_at_least():
    rng = np.random.default_rng(2)
    held = 0
    for _ in range(300):
        # A visit is like the one before it: an interval that takes each as news is too narrow.
        noise = np.zeros(100)
        for at in range(1, 100):
            noise[at] = 0.5 * noise[at - 1] + rng.normal()
        _, low, high = slope_a_day(list(noise + 0.05 * np.arange(100)))
        held += low <= 10.0 <= high
    assert held > 0.9 * 300


def test_the_page_says_of_each_part_what_it_shows_and_what_not():
    assert list(SAYS) == list(PARTS)


def test_the_page_keeps_the_rows_of_parts_that_were_not_run_again(tmp_path):
    place = tmp_path / "rows.json"
    note(place, Row("load", cases=5), took_s=1.0, share=1.0)
    note(place, Row("kills", cases=300), took_s=1.0, share=1.0)
    finding = f"a picture is gone ({tmp_path}/1.bin)"
    note(place, Row("load", cases=7, found=1, notes=[finding]), took_s=1.0, share=0.1)
    page = write_page(read_runs(place, PARTS))
    assert "| kills | " in page
    assert "| load (share 0.1) | " in page
    assert "BROKEN" in page
    assert str(tmp_path) not in page
