"""Who saw and changed what is told, once, and cannot be told away."""

from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest
from account_stories import Club, club_with_accounts, log_in
from site_client import opened

from chordline.application.accounts.acting import ACTING, Act
from chordline.application.accounts.records import NewTrail, TrailQuery
from chordline.errors import RecordsBusyError
from chordline.web.trail_buffer import KEPT_FOR


@pytest.fixture(scope="module")
def the_club(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Club]:
    with club_with_accounts(tmp_path_factory.mktemp("club")) as club:
        yield club


@pytest.fixture
def club(the_club: Club) -> Club:
    return the_club.fresh()


def _girl(club: Club, name: str = "Mila") -> int:
    browser = club.as_("Cleo")
    made = browser.ask("POST", "/api/gymnasts", json={"name": name}).json()
    return int(made["id"])


def test_looking_at_a_gymnast_is_one_line_in_ten_minutes(club: Club) -> None:
    girl = _girl(club)
    gus = club.as_("Gus")
    for _ in range(3):
        gus.get(f"/gymnasts/{girl}")
        gus.get(f"/gymnasts/{girl}/progress")
        gus.get(f"/api/gymnasts/{girl}")
    assert club.trail().count(("Gus", "saw", girl)) == 1
    club.clock.on(minutes=10)
    gus.get(f"/gymnasts/{girl}")
    assert club.trail().count(("Gus", "saw", girl)) == 2


@pytest.mark.parametrize("address", ["/squad", "/ladder", "/look", "/api/ladder", "/api/videos"])
def test_a_list_with_results_of_many_leaves_a_line_as_well(club: Club, address: str) -> None:
    assert club.as_("Cleo").get(address).status_code == 200
    assert club.trail().count(("Cleo", "saw", None)) == 1


def test_what_was_refused_or_is_not_there_was_not_seen(club: Club) -> None:
    gus = club.as_("Gus")
    gus.get("/gymnasts/999999")
    gus.get("/roster/export.csv")
    club.client.get("/squad")
    assert {what for _, what, _ in club.trail()} == {"login"}


def _rename_and_fail(club: Club) -> None:
    with club.app.records.transaction() as tx:
        tx.clubs.rename(club.app.club().id, "Another")
        raise RecordsBusyError


def test_a_change_and_its_line_are_written_together_or_not_at_all(club: Club) -> None:
    girl = _girl(club)
    act = Act("changed", "POST /gymnasts", ("gymnast", girl), who="Cleo")
    token = ACTING.set(act)
    try:
        with pytest.raises(RecordsBusyError):
            _rename_and_fail(club)
        assert ("Cleo", "changed", girl) not in club.trail()
        with club.app.records.transaction() as tx:
            tx.clubs.rename(club.app.club().id, "Another")
        with club.app.records.transaction() as tx:
            tx.clubs.rename(club.app.club().id, "A third")
    finally:
        ACTING.reset(token)
    assert club.trail().count(("Cleo", "changed", girl)) == 1


def test_changes_exports_and_erasing_carry_the_name_of_who_did_it(club: Club) -> None:
    girl = _girl(club)
    lea, cleo = club.as_("Lea"), club.as_("Cleo")
    assert cleo.post(f"/gymnasts/{girl}/archive").status_code == 303
    assert lea.get("/roster/export.csv").status_code == 200
    lea.post(f"/gymnasts/{girl}/erase", sure="yes")
    found = club.trail()
    assert ("Cleo", "changed", girl) in found
    assert ("Lea", "exported", None) in found
    assert ("Lea", "erased", girl) in found


def test_of_an_erased_gymnast_only_her_number_is_left(club: Club) -> None:
    girl = _girl(club, "Ottilie")
    lea = club.as_("Lea")
    lea.get(f"/gymnasts/{girl}")
    club.trail()
    assert "Ottilie" in lea.get(f"/trail?gymnast={girl}").text
    lea.post(f"/gymnasts/{girl}/erase", sure="yes")
    page = lea.get(f"/trail?gymnast={girl}").text
    assert "Ottilie" not in page
    assert f"number {girl}, erased" in page


def test_logins_that_failed_are_told_without_what_was_typed(club: Club) -> None:
    log_in(club.browser(), "my password in the wrong field", "x")
    log_in(club.browser(), "Cleo", "not this one at all")
    assert club.trail()[:2] == [
        ("Cleo", "login failed", None),
        ("nobody known", "login failed", None),
    ]
    assert "wrong field" not in club.as_("Lea").get("/trail").text


def test_whoever_leads_filters_and_pages(club: Club) -> None:
    _girl(club)
    with club.app.records.transaction() as tx:
        for minute in range(61):
            at = club.clock.now + timedelta(minutes=minute)
            tx.trail.add(NewTrail(at=at, who="Gus", what="login", about=""))
    lea = club.as_("Lea")
    first = lea.get("/trail?who=Gus").text
    assert first.count("<time") == 60
    earlier = first.partition("before=")[2].partition('"')[0]
    assert lea.get(f"/trail?who=Gus&before={earlier}").text.count("<time") == 1
    only = lea.get("/trail?what=changed").text
    assert "Gus" not in only.partition("<tbody>")[2]
    assert "Cleo" in only.partition("<tbody>")[2]


def test_without_accounts_it_is_this_machine_that_acts(tmp_path: Path) -> None:
    with opened(tmp_path) as (app, client):
        made = client.post("/api/gymnasts", json={"name": "Mila"})
        girl = made.json()["id"]
        client.get(f"/gymnasts/{girl}")
        client.app.state.trail.write()
        with app.records.reading() as tx:
            rows = tx.trail.page(TrailQuery(app.club().id))
        told = [(row.entry.who, row.entry.what, row.entry.gymnast_id) for row in rows]
    assert ("this machine", "saw", girl) in told
    assert ("this machine", "changed", None) in told


def test_what_is_left_is_written_when_the_server_stops(tmp_path: Path) -> None:
    with club_with_accounts(tmp_path) as club:
        girl = _girl(club)
        club.as_("Gus").get(f"/gymnasts/{girl}")
        club.client.app.state.trail.stop()
        with club.app.records.reading() as tx:
            rows = tx.trail.page(TrailQuery(club.app.club().id, girl, "Gus"))
        assert len(rows) == 1


def test_lines_are_forgotten_after_three_years(club: Club) -> None:
    club.as_("Gus")
    trail = club.client.app.state.trail
    club.clock.on(days=(KEPT_FOR - timedelta(days=1)).days)
    trail.write(forget_old=True)
    assert ("Gus", "login", None) in club.trail()
    club.clock.on(days=2)
    trail.write(forget_old=True)
    assert ("Gus", "login", None) not in club.trail()
