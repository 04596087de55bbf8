"""The page of backups: one button, live progress, a schedule, and no path from a browser."""

import time
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from backup_stories import BackedUpClub, backed_up_club, open_club
from chordline.web.backing_up import BackingUp
from chordline.web.site import make_site

_HEAD = {"origin": "http://127.0.0.1"}


@pytest.fixture
def club(tmp_path: Path) -> Iterator[BackedUpClub]:
    made = backed_up_club(tmp_path)
    yield made
    made.close()


def _browser(club: BackedUpClub) -> TestClient:
    return TestClient(
        make_site(club.app, measure=False), base_url="http://127.0.0.1", headers=_HEAD
    )


def test_a_button_makes_a_backup_and_the_page_lists_it(club: BackedUpClub):
    browser = _browser(club)
    assert "There is no backup in the folder yet" in browser.get("/settings/backups").text
    answer = browser.post("/settings/backups", follow_redirects=False)
    assert (answer.status_code, answer.headers["location"]) == (303, "/settings/backups")
    asked = browser.get("/api/backing-up").json()
    assert (asked["running"], asked["words"]) == (True, "Copying the records")
    browser.app.state.backing_up.look()
    told = browser.get("/api/backing-up").json()
    assert (told["running"], told["ended"], told["total"]) == (False, 1, 4)
    assert told["words"] == "Backed up and found whole, with 4 pictures and videos"
    page = browser.get("/settings/backups").text
    assert "and 4 pictures; found whole on" in page
    (made,) = club.folder.glob("*.backup")
    browser.post("/settings/backups/check", data={"name": made.name})
    browser.app.state.backing_up.look()
    assert browser.get("/api/backing-up").json()["words"].startswith("Found whole")


def test_no_name_from_a_browser_becomes_a_path(club: BackedUpClub):
    browser = _browser(club)
    club.back_up()
    for name in ("../club/records.sqlite", "", "chordline-2020-01-01T000000Z.backup"):
        answer = browser.post("/settings/backups/check", data={"name": name})
        assert answer.status_code == 404
    assert not browser.app.state.backing_up.running.what


def test_without_a_folder_the_page_says_how_to_begin(tmp_path: Path):
    club = BackedUpClub(open_club(tmp_path / "club"), tmp_path / "stick")
    page = _browser(club).get("/settings/backups").text
    assert "chordline backup FOLDER" in page
    assert "Set a passphrase" in page
    club.close()


def test_the_time_of_the_day_is_said_and_taken_back(club: BackedUpClub):
    browser = _browser(club)
    browser.post("/settings/backups/schedule", data={"daily": "yes", "at": "20:15"})
    assert f"{club.app.backup_settings.read().daily_at:%H:%M}" == "20:15"
    wrong = browser.post("/settings/backups/schedule", data={"daily": "yes", "at": "x"})
    assert wrong.status_code == 422
    browser.post("/settings/backups/schedule", data={"at": "20:15"})
    assert club.app.backup_settings.read().daily_at is None


def test_the_server_makes_the_backup_of_the_day_and_says_when_it_fails(club: BackedUpClub):
    now = datetime.now(UTC)
    backing_up = BackingUp(club.app, now=lambda: now)
    backing_up.look()
    assert len(list(club.folder.glob("*.backup"))) == 1
    backing_up.look()
    assert len(list(club.folder.glob("*.backup"))) == 1
    club.folder.rename(club.folder.with_name("away"))
    club.folder.write_text("no folder")
    backing_up.ask()
    backing_up.look()
    assert not backing_up.running.well
    assert "cannot be used now" in backing_up.running.said
    browser = _browser(club)
    for page in ("/", "/settings/backups", "/settings"):
        assert "cannot be used now" in browser.get(page).text


def test_the_thread_does_what_is_asked_and_ends(club: BackedUpClub):
    backing_up = BackingUp(club.app)
    backing_up.start()
    backing_up.ask()
    ends = time.monotonic() + 20
    while backing_up.running.ended == 0 and time.monotonic() < ends:
        time.sleep(0.01)
    backing_up.stop()
    assert backing_up.running.well
    assert len(list(club.folder.glob("*.backup"))) == 1
