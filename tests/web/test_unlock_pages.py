"""The pictures' lock in the browser: set, locked, unlocked, forgotten."""

import io
import re
import time
from collections.abc import Iterator
from pathlib import Path

import pypdf
import pytest
from club_pages import ClubSite, jpeg, open_club
from site_client import opened

from chordline.adapters.db.schema import PHOTO
from chordline.bootstrap import App
from chordline.web.sealing import Sealing
from chordline.web.unlock_tries import UnlockTries
from vault_stories import CHEAP, PASSPHRASE, plant_plain


@pytest.fixture
def site(tmp_path: Path) -> Iterator[ClubSite]:
    with open_club(tmp_path) as site:
        site.app.vault._cost = CHEAP  # type: ignore[attr-defined]
        yield site


def set_passphrase(site: ClubSite, passphrase: str = PASSPHRASE) -> None:
    answer = site.post("/settings/vault/passphrase", passphrase=passphrase, again=passphrase)
    assert answer.status_code == 303, answer.text


def photo_of(site: ClubSite) -> int:
    screen = site.screen(site.add("Ada"), kept=True, judged=False)
    with site.app.records.reading() as tx:
        return tx.screens.view(screen).photos[0].photo.id


def print_sheet(site: ClubSite) -> bytes:
    answer = site.post("/settings/vault/recovery", kind="pdf", present=PASSPHRASE)
    assert answer.status_code == 200, answer.text
    return bytes(answer.content)


def code_on(answer: bytes) -> str:
    paper = pypdf.PdfReader(io.BytesIO(answer)).pages[0].extract_text()
    return "-".join(re.findall(r"\b[0-9A-HJKMNP-TV-Z]{5}\b", paper.replace("\u200b", "")))


def test_until_a_passphrase_is_set_the_settings_say_what_that_means(site: ClubSite) -> None:
    assert "the key lies beside them" in site.page("/settings")
    set_passphrase(site)
    page = site.page("/settings")
    assert "the key lies beside them" not in page
    assert "None was printed" in page


def test_locked_pictures_are_told_and_everything_else_goes_on(site: ClubSite) -> None:
    photo_id = photo_of(site)
    set_passphrase(site)
    picture = f"/photos/{photo_id}/picture?px=480"
    assert site.client.get(picture).status_code == 200
    site.post("/settings/vault/lock")
    answer = site.client.get(picture)
    assert answer.status_code == 423
    assert "unlock them with the club" in answer.text
    for address in ("/", "/squad", "/settings", f"/photos/{photo_id}", "/unlock"):
        page = site.page(address)
        assert ("The pictures are locked." in page) == (address != "/unlock")
    assert site.client.post("/api/photos?name=a.jpg", content=jpeg()).status_code == 423
    assert site.post("/unlock", passphrase=PASSPHRASE).status_code == 303
    assert site.client.get(picture).status_code == 200


def test_measuring_waits_until_the_pictures_are_unlocked(site: ClubSite) -> None:
    photo_id = photo_of(site)
    set_passphrase(site)
    with site.app.records.transaction() as tx:
        tx.jobs.add(site.app.club().id, "measure", photo_id=photo_id, payload={"again": True})
    site.post("/settings/vault/lock")
    work = site.app.work_off()
    assert work("test") is None
    with site.app.records.reading() as tx:
        assert tx.jobs.counts(site.app.club().id)["waiting"] == 1
        assert tx.photos.get(photo_id).state == "measured"
    site.post("/unlock", passphrase=PASSPHRASE)
    assert work("test") is not None


def test_the_recovery_sheet_opens_what_a_forgotten_passphrase_locked(site: ClubSite) -> None:
    set_passphrase(site)
    old = code_on(print_sheet(site))
    code = code_on(print_sheet(site))
    site.post("/settings/vault/lock")
    assert "opens nothing here" in site.post("/unlock", code=old).text
    typo = code[:-1] + ("A" if code[-1] != "A" else "B")
    assert "typo in group 8" in site.post("/unlock", code=typo).text
    assert site.post("/unlock", code=code.lower()).headers["location"].startswith("/settings")
    assert not site.app.vault.locked


def test_the_sheet_as_a_page_asks_the_network_for_nothing(site: ClubSite) -> None:
    page = site.post("/settings/vault/recovery", kind="html").text
    assert len(re.findall(r"<b>[0-9A-Z]{5}</b>", page)) == 8
    assert "default-src 'none'" in page
    assert "http://" not in page


def test_wrong_passphrases_have_to_wait_for_each_other(site: ClubSite) -> None:
    set_passphrase(site)
    site.post("/settings/vault/lock")
    answers = [site.post("/unlock", passphrase="wrong") for _ in range(4)]
    assert [one.status_code for one in answers] == [422, 422, 422, 429]
    assert int(answers[-1].headers["retry-after"]) >= 1
    assert site.post("/unlock", passphrase=PASSPHRASE).status_code == 429
    assert site.app.vault.locked


def test_the_wait_doubles_up_to_a_minute_and_ends_with_the_right_one() -> None:
    now = [0.0]
    tries = UnlockTries(lambda: now[0])
    waits = []
    for _ in range(12):
        assert tries.wait_s() == 0.0
        waits.append(tries.wait_s() if len(waits) >= 2 else 0.0)
        now[0] += waits[-1]
    assert waits == [0, 0, 1, 2, 4, 8, 16, 32, 60, 60, 60, 60]
    tries.worked()
    assert [tries.wait_s() for _ in range(3)] == [0.0, 0.0, 0.0]


@pytest.mark.parametrize(
    ("passphrase", "again", "why"),
    [
        ("short", "short", "at least 12 signs"),
        (PASSPHRASE, PASSPHRASE + "!", "not the same"),
    ],
)
def test_a_passphrase_that_cannot_be_is_refused(
    site: ClubSite, passphrase: str, again: str, why: str
) -> None:
    answer = site.post("/settings/vault/passphrase", passphrase=passphrase, again=again)
    assert answer.status_code == 422
    assert why in answer.text
    assert site.app.vault.state == "by_file"


def test_while_locked_nobody_changes_what_opens_the_pictures(site: ClubSite) -> None:
    set_passphrase(site)
    site.post("/settings/vault/lock")
    for what in ("passphrase", "remove", "recovery"):
        answer = site.post(f"/settings/vault/{what}", passphrase=PASSPHRASE, again=PASSPHRASE)
        assert answer.status_code == 423


def test_a_server_starts_locked_and_with_the_passphrase_given_open(tmp_path: Path) -> None:
    with open_club(tmp_path) as site:
        site.app.vault._cost = CHEAP  # type: ignore[attr-defined]
        set_passphrase(site)
    with opened(tmp_path) as (app, client):
        assert app.vault.locked
        assert "The pictures are locked." in client.get("/").text
    assert App(data=tmp_path, passphrase=PASSPHRASE).vault.opens()


def test_a_damaged_club_key_is_told_on_the_pages(site: ClubSite) -> None:
    site.app.vault.opens()
    (site.app.data_folder / "club.key").write_text("{}")
    assert "put the one from a backup in its place" in site.page("/settings/health")
    assert site.client.get("/").status_code == 200


def test_a_server_seals_what_lies_plain_once_the_pictures_are_unlocked(site: ClubSite) -> None:
    photo_id = photo_of(site)
    plain = plant_plain(site.app.data_folder / "photos", jpeg())
    lay_plain(site, photo_id, plain)
    set_passphrase(site)
    site.post("/settings/vault/lock")
    sealing = Sealing(site.app)
    sealing.start()
    assert site.app.photo_store.has(plain)
    site.post("/unlock", passphrase=PASSPHRASE)
    deadline = time.monotonic() + 20
    while site.app.photo_store.has(plain):
        assert time.monotonic() < deadline, "it is never sealed"
        time.sleep(0.05)
    sealing.stop()
    assert site.client.get(f"/photos/{photo_id}/picture?px=480").status_code == 200


def lay_plain(site: ClubSite, photo_id: int, key: str) -> None:
    with site.app.records.transaction() as tx:
        connection = tx.photos._session.connection  # type: ignore[attr-defined]
        connection.execute(PHOTO.update().where(PHOTO.c.id == photo_id).values(content_key=key))


@pytest.mark.parametrize("door", ["passphrase", "remove", "recovery"])
def test_whoever_finds_a_screen_open_cannot_change_what_opens_the_pictures(
    site: ClubSite, door: str
) -> None:
    set_passphrase(site)
    other = {"passphrase": "another four words", "again": "another four words"}
    fields = other if door == "passphrase" else {}
    assert site.page("/settings").count("Present passphrase") == 3
    refused = site.post(f"/settings/vault/{door}", **fields)
    assert refused.status_code == 422
    assert "present passphrase" in refused.text
    guesses = [site.post(f"/settings/vault/{door}", **fields, present=f"guess {n}") for n in "1234"]
    assert [one.status_code for one in guesses] == [422, 422, 422, 429]
    site.post("/settings/vault/lock")
    assert site.app.vault.state == "locked"
    site.app.vault.unlock(PASSPHRASE)


def test_after_the_recovery_code_a_passphrase_is_set_without_the_forgotten_one(
    site: ClubSite,
) -> None:
    set_passphrase(site)
    code = code_on(print_sheet(site))
    site.post("/settings/vault/lock")
    site.post("/unlock", code=code)
    set_passphrase(site, "another four words")
    again = {"passphrase": "a third of four words", "again": "a third of four words"}
    assert site.post("/settings/vault/passphrase", **again).status_code == 422
