"""Coming in, staying in, going out; guessing, forging and lending."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from account_stories import HERE, OWN, PASSWORDS, Club, club_with_accounts, log_in
from site_client import opened
from starlette.testclient import TestClient

from chordline.web.door import Door
from chordline.web.site import make_site

COOKIE = "chordline-login"


@pytest.fixture(scope="module")
def the_club(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Club]:
    with club_with_accounts(tmp_path_factory.mktemp("club")) as club:
        yield club


@pytest.fixture
def club(the_club: Club) -> Club:
    return the_club.fresh()


def test_without_accounts_nobody_logs_in(tmp_path: Path) -> None:
    with opened(tmp_path) as (_, client):
        assert client.get("/").status_code == 200
        assert client.get("/login").headers["location"] == "/"


def test_the_first_account_is_made_on_a_page_and_everybody_logs_in_from_then_on(
    tmp_path: Path,
) -> None:
    with opened(tmp_path) as (app, client):
        word = PASSWORDS["Lea"]
        said = {"name": "Lea", "password": word, "again": word, "role": "guest"}
        assert client.get("/").status_code == 200
        assert client.post("/accounts", data=said).headers["location"].startswith("/login")
        assert app.accounts.named(app.club().id, "LEA").role == "lead"
        assert client.get("/").headers["location"] == "/login?to=%2F"
        assert log_in(client, "Lea").status_code == 303
        assert client.get("/").status_code == 200


def test_the_cookie_is_out_of_reach_of_scripts_and_other_sites(club: Club) -> None:
    cookie = log_in(club.client, "Lea").headers["set-cookie"]
    assert "HttpOnly" in cookie
    assert "samesite=strict" in cookie.lower()
    assert cookie.startswith(f"{COOKIE}=")
    assert "Domain" not in cookie
    secure = club.browser()
    secure.base_url = "https://127.0.0.1"
    own = {"Origin": "https://127.0.0.1"}
    said = {"name": "Lea", "password": PASSWORDS["Lea"]}
    cookie = secure.post("/login", data=said, headers=own).headers["set-cookie"]
    assert cookie.startswith(f"__Host-{COOKIE}=")
    assert "Secure" in cookie


def test_only_a_digest_of_the_token_is_kept(club: Club) -> None:
    log_in(club.client, "Lea")
    token = club.client.cookies[COOKIE]
    assert len(token) >= 43
    kept = b"".join(one.read_bytes() for one in club.app.data_folder.glob("records.sqlite*"))
    assert token.encode() not in kept
    assert PASSWORDS["Lea"].encode() not in kept


def test_a_token_that_was_planted_before_the_login_is_worth_nothing_after_it(club: Club) -> None:
    planted = "A" * 43
    victim = club.browser()
    said = {"name": "Cleo", "password": PASSWORDS["Cleo"]}
    headers = {**OWN, "Cookie": f"{COOKIE}={planted}"}
    answer = victim.post("/login", data=said, headers=headers)
    assert answer.status_code == 303
    assert planted not in answer.headers["set-cookie"]
    thief = club.browser()
    thief.cookies.set(COOKIE, planted)
    assert thief.get("/").status_code == 303


def test_logging_in_again_ends_the_login_before(club: Club) -> None:
    log_in(club.client, "Cleo")
    before = club.client.cookies[COOKIE]
    log_in(club.client, "Cleo")
    thief = club.browser()
    thief.cookies.set(COOKIE, before)
    assert thief.get("/").status_code == 303


def test_logging_out_ends_the_login_and_not_only_the_cookie(club: Club) -> None:
    cleo = club.as_("Cleo")
    token = cleo.client.cookies[COOKIE]
    assert cleo.post("/logout").headers["location"].startswith("/login")
    thief = club.browser()
    thief.cookies.set(COOKIE, token)
    assert thief.get("/").status_code == 303


def test_a_login_ends_when_it_is_not_used_and_after_a_month_in_any_case(club: Club) -> None:
    cleo = club.as_("Cleo")
    club.clock.on(hours=11.9)
    assert cleo.get("/").status_code == 200
    club.clock.on(hours=11.9)
    assert cleo.get("/").status_code == 200
    club.clock.on(hours=12)
    assert cleo.get("/").status_code == 303
    again = club.as_("Cleo")
    for _ in range(59):
        club.clock.on(hours=11.9)
        assert again.get("/help").status_code == 200
    club.clock.on(hours=24)
    assert again.get("/help").status_code == 303


@pytest.mark.parametrize("wrong", ["", "nobody", "1", "x" * 5000, "\u00e4\u00f6"])
def test_a_token_that_is_none_is_told_to_log_in(club: Club, wrong: str) -> None:
    headers = {"Cookie": f"{COOKIE}={wrong}".encode("latin-1")}
    answer = club.client.get("/squad", headers=headers)
    assert answer.headers["location"] == "/login?to=%2Fsquad"


def test_a_disabled_colleague_is_out_at_once_and_her_name_stays(club: Club) -> None:
    lea, cleo = club.as_("Lea"), club.as_("Cleo")
    made = cleo.ask("POST", "/api/gymnasts", json={"name": "Mila"})
    assert made.status_code == 201
    gymnast_id = made.json()["id"]
    said = {"kind": "remark", "text": "Calm today.", "what": "remark"}
    assert cleo.post(f"/gymnasts/{gymnast_id}/notes", **said).status_code == 303
    cleo_id = club.app.accounts.named(club.app.club().id, "Cleo").id
    assert lea.post(f"/accounts/{cleo_id}/disable").status_code == 303
    assert cleo.get("/").status_code == 303
    assert log_in(club.browser(), "Cleo").status_code == 403
    assert "Cleo" in lea.get(f"/gymnasts/{gymnast_id}").text
    assert lea.post(f"/accounts/{cleo_id}/enable").status_code == 303
    assert log_in(club.browser(), "Cleo").status_code == 303


def test_another_role_or_password_ends_every_login(club: Club) -> None:
    lea, cleo = club.as_("Lea"), club.as_("Cleo")
    cleo_id = club.app.accounts.named(club.app.club().id, "Cleo").id
    lea.post(f"/accounts/{cleo_id}/role", role="guest")
    assert cleo.get("/").status_code == 303
    first, second = club.as_("Cleo"), club.as_("Cleo")
    new = "copper ladder in the orchard"
    said = {"old": PASSWORDS["Cleo"], "new": new, "again": new}
    before = first.client.cookies[COOKIE]
    assert first.post("/account/password", **said).status_code == 303
    assert first.get("/").status_code == 200
    assert first.client.cookies[COOKIE] != before
    assert second.get("/").status_code == 303
    assert log_in(club.browser(), "Cleo").status_code == 403
    assert log_in(club.browser(), "Cleo", new).status_code == 303


def test_all_other_devices_are_logged_out_with_one_press(club: Club) -> None:
    here, there = club.as_("Cleo"), club.as_("Cleo")
    assert here.post("/account/devices/end").status_code == 303
    assert here.get("/").status_code == 200
    assert there.get("/").status_code == 303


def test_somebody_has_to_lead(club: Club) -> None:
    lea = club.as_("Lea")
    lea_id = club.app.accounts.named(club.app.club().id, "Lea").id
    for address, said in (("disable", {}), ("role", {"role": "coach"})):
        answer = lea.post(f"/accounts/{lea_id}/{address}", **said)
        assert answer.status_code == 422
        assert "has to lead" in answer.text


def test_a_password_that_was_handed_over_has_to_be_replaced_first(club: Club) -> None:
    lea = club.as_("Lea")
    answer = lea.post("/accounts", name="Noor", role="coach")
    handed = answer.text.partition('<p class="handed-word"><code>')[2].partition("<")[0]
    assert len(handed) == 19
    assert handed not in lea.get("/accounts").text
    noor = club.browser()
    assert log_in(noor, "Noor", handed).headers["location"] == "/account"
    assert noor.get("/squad").headers["location"] == "/account"
    assert noor.get("/api/gymnasts").status_code == 403


@pytest.mark.parametrize(
    "weak", ["short", "passwordpassword", "aaaaaaaaaaaaaaaa", "1234567890123", "Cleo Cleo 2026", ""]
)
def test_a_weak_password_is_refused_with_what_would_do(club: Club, weak: str) -> None:
    cleo = club.as_("Cleo")
    answer = cleo.post("/account/password", old=PASSWORDS["Cleo"], new=weak, again=weak)
    assert answer.status_code == 422
    assert "four words" in answer.text


def test_guessing_takes_longer_and_longer_and_a_restart_does_not_help(club: Club) -> None:
    for _ in range(4):
        assert log_in(club.browser(), "lea", "not this one at all").status_code == 403
    told = log_in(club.browser(), "LEA", PASSWORDS["Lea"])
    assert told.status_code == 429
    assert "wait 5 seconds" in told.text
    club.clock.on(seconds=5)
    assert log_in(club.browser(), "Lea", "nor this one").status_code == 403
    assert "wait 10 seconds" in log_in(club.browser(), "Lea").text
    started_again = make_site(club.app, measure=False)
    with TestClient(started_again, base_url=HERE) as client:
        assert "wait 10 seconds" in log_in(client, "Lea").text
    club.clock.on(seconds=10)
    assert log_in(club.browser(), "Lea").status_code == 303
    assert log_in(club.browser(), "Lea", "not this one at all").status_code == 403


def test_a_new_password_lets_her_in_whatever_others_have_guessed(club: Club) -> None:
    for _ in range(5):
        log_in(club.browser(), "Cleo", "not this one at all")
    assert log_in(club.browser(), "Cleo").status_code == 429
    cleo_id = club.app.accounts.named(club.app.club().id, "Cleo").id
    given = club.app.accounts.reset_password(club.app.club().id, cleo_id)
    assert log_in(club.browser(), "Cleo", given).status_code == 303


def test_a_night_of_guesses_at_one_account_is_a_hundred(club: Club) -> None:
    guesses = 0
    for _ in range(24 * 4):
        guesses += log_in(club.browser(), "Lea", "not this one at all").status_code == 403
        club.clock.on(minutes=15)
    assert guesses <= 100


def test_many_names_from_one_address_wait_as_well(club: Club) -> None:
    told = [log_in(club.browser(), f"name {one}", "guess").status_code for one in range(25)]
    assert told[:20] == [403] * 20
    assert set(told[20:]) == {429}


def test_a_name_that_is_nobodys_is_told_like_a_wrong_password(club: Club) -> None:
    known = log_in(club.browser(), "Lea", "not this one at all").text
    unknown = log_in(club.browser(), "Eva", "not this one at all").text
    assert known.replace('value="Lea"', "") == unknown.replace('value="Eva"', "")


@pytest.mark.parametrize(
    "headers",
    [
        {"Origin": "http://evil.example"},
        {"Origin": "null"},
        {"Sec-Fetch-Site": "cross-site"},
        {"Sec-Fetch-Site": "same-site", "Origin": HERE},
        {},
    ],
)
def test_another_page_logs_nobody_in(club: Club, headers: dict[str, str]) -> None:
    said = {"name": "Gus", "password": PASSWORDS["Gus"]}
    answer = club.client.post("/login", data=said, headers=headers)
    assert answer.status_code == 403
    assert "set-cookie" not in answer.headers


def test_a_form_without_the_key_of_its_login_changes_nothing(club: Club) -> None:
    cleo, lea = club.as_("Cleo"), club.as_("Lea")
    for key in ({}, {"form_key": ""}, {"form_key": lea.form_key}):
        said = {"name": "Red", **key}
        assert cleo.client.post("/groups", data=said, headers=OWN).status_code == 403
    for headers in (OWN, {**OWN, "X-Form-Key": lea.form_key}, {}):
        answer = cleo.client.post("/api/groups", json={"name": "Red"}, headers=headers)
        assert answer.status_code == 403
    forged = {"Origin": "http://evil.example", "X-Form-Key": cleo.form_key}
    assert cleo.client.post("/api/groups", json={"name": "Red"}, headers=forged).status_code == 403
    assert cleo.get("/api/groups").json() == []
    assert cleo.post("/groups", name="Red").status_code == 303
    assert [one["name"] for one in cleo.get("/api/groups").json()] == ["Red"]


def test_every_form_of_a_page_carries_the_key(club: Club) -> None:
    lea = club.as_("Lea")
    for address in ("/settings", "/roster", "/accounts", "/account"):
        page = lea.get(address).text
        forms = page.count('method="post"')
        assert forms > 0
        assert page.count(f'name="form_key" value="{lea.form_key}"') == forms


@pytest.mark.parametrize("host", ["evil.example", "192.0.2.7", "127.0.0.1.evil.example"])
def test_a_login_is_worth_nothing_under_a_name_that_is_bent_to_this_machine(
    club: Club, host: str
) -> None:
    lea = club.as_("Lea")
    answer = lea.client.get("/", headers={"Host": host})
    assert answer.status_code == 403
    assert "not known here" in answer.text


@pytest.mark.parametrize(
    "to", ["//evil.example", "https://evil.example", "/\\evil.example", "/login", "/\tx", ""]
)
def test_after_the_login_one_stays_here(club: Club, to: str) -> None:
    said = {"name": "Lea", "password": PASSWORDS["Lea"], "to": to}
    answer = club.client.post("/login", data=said, headers=OWN)
    assert answer.headers["location"] == "/"


def test_a_shared_server_lets_nobody_in_even_where_the_accounts_are_gone(tmp_path: Path) -> None:
    door = Door(hosts=("192.0.2.7",), address="https://192.0.2.7:8765")
    with opened(tmp_path, door=door) as (_, client):
        assert client.get("/").status_code == 303
        assert client.get("/api/gymnasts").status_code == 401
        assert client.post("/accounts", data={"name": "Eve"}, headers=OWN).status_code == 401


def test_dear_things_are_given_at_a_measured_pace(club: Club) -> None:
    cleo = club.as_("Cleo")
    told = [cleo.get("/screens/999999/sheet.pdf").status_code for _ in range(60)]
    assert told[:40] == [404] * 40
    assert 429 in told[40:]
    assert club.as_("Cleo").get("/screens/999999/sheet.pdf").status_code == 404


def test_a_tablet_comes_in_once_by_a_code_and_not_by_looking_at_it(club: Club) -> None:
    cleo_id = club.app.accounts.named(club.app.club().id, "Cleo").id
    code = club.app.come_in.make_code(cleo_id)
    tablet = club.browser()
    for _ in range(2):
        assert "Let it in" in tablet.get("/pair", params={"code": code}).text
    assert tablet.get("/").status_code == 303
    assert tablet.post("/pair", data={"code": code}, headers=OWN).status_code == 303
    assert "Cleo" in tablet.get("/").text
    other = club.browser()
    again = other.post("/pair", data={"code": code}, headers=OWN)
    assert again.status_code == 403
    assert "used already or is too old" in again.text
    assert other.get("/").status_code == 303


def test_a_code_holds_ten_minutes_and_only_the_latest(club: Club) -> None:
    cleo_id = club.app.accounts.named(club.app.club().id, "Cleo").id
    old = club.app.come_in.make_code(cleo_id)
    newer = club.app.come_in.make_code(cleo_id)
    assert club.browser().post("/pair", data={"code": old}, headers=OWN).status_code == 403
    club.clock.on(minutes=10)
    assert club.browser().post("/pair", data={"code": newer}, headers=OWN).status_code == 403
    newest = club.app.come_in.make_code(cleo_id)
    club.app.accounts.set_disabled(club.app.club().id, cleo_id, disabled=True)
    assert club.browser().post("/pair", data={"code": newest}, headers=OWN).status_code == 403


def test_another_page_pairs_nothing(club: Club) -> None:
    cleo_id = club.app.accounts.named(club.app.club().id, "Cleo").id
    code = club.app.come_in.make_code(cleo_id)
    forged = {"Origin": "http://evil.example"}
    assert club.client.post("/pair", data={"code": code}, headers=forged).status_code == 403
    assert club.client.post("/pair", data={"code": code}).status_code == 403
    assert club.client.post("/pair", data={"code": code}, headers=OWN).status_code == 303


def test_a_page_for_pairing_shows_a_square_code_where_the_club_is_shared(tmp_path: Path) -> None:
    door = Door(address="https://192.0.2.7:8765")
    with club_with_accounts(tmp_path, door=door) as club:
        cleo = club.as_("Cleo")
        page = cleo.post("/account/pair").text
        assert "<svg" in page
        address = page.partition('data-address="')[2].partition('"')[0]
        assert address.startswith("https://192.0.2.7:8765/pair?code=")
        assert club.as_("Gus").post("/account/pair").status_code == 403
