"""Every route by every role: the table that `web/access.py` states, tried cell by cell."""

import re
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from account_stories import OWN, ROLES, Browser, Club, club_with_accounts
from fastapi import APIRouter

from chordline.application.club.records import NewGymnast
from chordline.web.access import ACCESS, RANKS, AccessPlan
from club_stories import new_photo

#: What stands in a path where the route wants something that is no number.
_PARTS = {
    "version": "x",
    "path": "css/site.css",
    "exercise": "none",
    "day": "2026-03-01",
    "kind": "csv",
    "place": "0",
    "rung": "none",
    "session": "none",
}
#: Nobody has this number: what is let through then finds nothing, and does nothing.
_NOBODYS = "999999"


@pytest.fixture(scope="module")
def club(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Club]:
    with club_with_accounts(tmp_path_factory.mktemp("club")) as club:
        yield club


@pytest.fixture(scope="module")
def browsers(club: Club) -> dict[str, Browser]:
    return {ROLES[name]: club.as_(name) for name in ROLES}


@pytest.fixture(scope="module")
def plan(club: Club) -> AccessPlan:
    found: AccessPlan = club.client.app.state.access
    return found


def _address(path: str) -> str:
    def part(found: re.Match[str]) -> str:
        return _PARTS.get(found[1].partition(":")[0], _NOBODYS)

    return re.sub(r"\{([\w:]+)\}", part, path)


@pytest.mark.parametrize("route", sorted(ACCESS))
def test_each_role_may_use_what_the_table_allows_and_nothing_else(
    route: str, club: Club, browsers: dict[str, Browser]
) -> None:
    method, _, path = route.partition(" ")
    address = _address(path)
    least = RANKS.index(ACCESS[route])
    answer = club.browser().request(method, address, headers=OWN)
    if least > 0:
        if method == "GET" and not path.startswith("/api/"):
            assert answer.status_code == 303
            assert answer.headers["location"].startswith("/login?to=")
        else:
            assert answer.status_code == 401
    else:
        assert answer.status_code != 401
        assert not answer.headers.get("location", "").startswith("/login?to=")
    for role, browser in browsers.items():
        if path in _ENDS_A_LOGIN:
            continue
        answer = browser.ask(method, address)
        allowed = RANKS.index(role) >= least
        refused = answer.status_code == 403 and "you are here as" in answer.text
        assert refused != allowed, f"{role}: {answer.status_code} {answer.text[:300]}"
        assert answer.status_code < 500, answer.text[:300]


#: Tried in tests of their own, since the login is over afterwards.
_ENDS_A_LOGIN = frozenset(("/logout", "/login"))


def test_every_route_stands_in_the_table_and_every_entry_has_its_route(plan: AccessPlan) -> None:
    assert {f"{one.method} {one.path}" for one in plan.entries} == set(ACCESS)


def test_a_route_that_nobody_thought_of_is_refused_at_the_start() -> None:
    router = APIRouter()

    @router.get("/secrets")
    def tell() -> str:
        return "all of them"

    with pytest.raises(ValueError, match="GET /secrets"):
        AccessPlan(router.routes)


def test_what_changes_something_goes_through_the_check_of_its_form(
    plan: AccessPlan, browsers: dict[str, Browser]
) -> None:
    tried = 0
    for entry in plan.entries:
        if entry.method == "GET" or entry.least == "open" or entry.path in _ENDS_A_LOGIN:
            continue
        address = _address(entry.path)
        form = browsers["lead"].client.request(
            entry.method, address, headers=OWN, data={"form_key": "0" * 64}
        )
        assert form.status_code == 403, f"{entry.method} {entry.path}: {form.status_code}"
        assert "not sent from a page of your login" in form.text
        script = browsers["lead"].client.request(entry.method, address, headers=OWN, json={})
        assert script.status_code == 403, f"{entry.method} {entry.path}"
        tried += 1
    assert tried > 60


def test_a_guest_sees_a_picture_only_where_the_family_allows_it(
    club: Club, browsers: dict[str, Browser]
) -> None:
    with club.app.records.transaction() as tx:
        mine = club.app.club().id
        shown = []
        for name in ("Mila", "Nele"):
            her = tx.gymnasts.add(mine, NewGymnast(name))
            screen = tx.screens.on(her.id, date(2026, 3, 1))
            photo = tx.photos.file(mine, new_photo(f"{name}.jpg", screen_id=screen.id)).photo
            shown.append((her, photo.id))
        her, allowed_id = shown[0]
        consent = replace(her.consent, show_to_squad=True)
        tx.gymnasts.update(replace(her, consent=consent))
    guest = browsers["guest"]
    # Allowed, and then not there: these photos have no file.
    assert "has not allowed" not in guest.get(f"/photos/{allowed_id}/picture").text
    refused = guest.get(f"/photos/{shown[1][1]}/picture")
    assert refused.status_code == 403
    assert "has not allowed" in refused.text
    assert browsers["coach"].get(f"/photos/{shown[1][1]}/picture").status_code != 403


def test_what_was_noted_of_a_gymnast_is_for_coaches_on_her_page_too(
    club: Club, browsers: dict[str, Browser]
) -> None:
    with club.app.records.transaction() as tx:
        her = tx.gymnasts.add(club.app.club().id, NewGymnast("Orla"))
    day = date(2026, 3, 1)
    club.app.keep_notes().add(
        her.id, what="remark", text="slept badly", noted_on=day, author="Cleo", today=day
    )
    assert "slept badly" in browsers["coach"].get(f"/gymnasts/{her.id}").text
    assert "slept badly" not in browsers["guest"].get(f"/gymnasts/{her.id}").text
    assert browsers["guest"].get(f"/api/gymnasts/{her.id}/notes").status_code == 403


@pytest.mark.parametrize(
    "address",
    [
        "/static/x/../../access.py",
        "/static/x/..%2f..%2faccess.py",
        "/static/x/%2e%2e/%2e%2e/access.py",
        "/static/x/%00",
        "/exercises/..%2f..%2fsettings",
        "/exercises/%2e%2e%2f%2e%2e%2fetc%2fpasswd",
        "/roster/export...%2f..%2fetc%2fpasswd",
        "/groups/1/stations/..%2f..%2fetc.pdf",
        "/api/exercises/..%2f..%2f..%2fetc%2fpasswd",
        "/api/gymnasts/..%2f..%2fgroups",
        "/certificate/..%2fclub-key.pem",
        "/certificate/club-key.pem",
        "/%2faccounts",
        "/accounts/",
        "/./accounts/../roster/export.csv%00",
    ],
)
def test_no_part_of_a_path_leads_elsewhere(
    address: str, club: Club, browsers: dict[str, Browser]
) -> None:
    nobody = club.browser().get(address)
    assert nobody.status_code in (303, 401, 404)
    assert "root:" not in nobody.text
    guest = browsers["guest"].get(address)
    assert guest.status_code in (303, 403, 404, 422)
    assert "root:" not in guest.text
    assert "PRIVATE KEY" not in guest.text


def test_the_page_about_access_tells_what_the_table_says() -> None:
    page = (Path(__file__).parents[2] / "docs" / "access.md").read_text(encoding="utf-8")
    told = {}
    for row in re.findall(r"^\| `(\w+ /\S*)` \|([^\n]*)", page, re.MULTILINE):
        allowed = [cell.strip() == "yes" for cell in row[1].split("|")[: len(RANKS)]]
        assert allowed == sorted(allowed), row[0]
        told[row[0]] = RANKS[allowed.index(True)]
    # Written by tools/access_table.py --write docs/access.md.
    assert told == dict(ACCESS)
