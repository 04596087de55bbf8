"""Today and settings: empty states that teach, names that stay, numbers with their reasons."""

from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path

import pytest
from site_client import opened
from starlette.testclient import TestClient

from chordline.application.club.records import NewGymnast
from chordline.bootstrap import App


@pytest.fixture
def site(tmp_path: Path) -> Iterator[tuple[App, TestClient]]:
    with opened(tmp_path) as opened_site:
        yield opened_site


def test_an_empty_club_is_told_how_to_begin(site: tuple[App, TestClient]) -> None:
    page = site[1].get("/").text
    assert "Three steps to the first answer" in page
    assert 'href="/roster"' in page


def test_who_was_never_screened_or_long_ago_is_due(site: tuple[App, TestClient]) -> None:
    app, client = site
    weeks = app.catalogue.setting("screen_due_weeks")
    with app.records.transaction() as tx:
        club = app.club()
        ada, bea, _ = (
            tx.gymnasts.add(club.id, NewGymnast(name)) for name in ("Ada", "Bea", "Cleo")
        )
        tx.screens.on(ada.id, date.today() - timedelta(weeks=weeks, days=1))
        tx.screens.on(bea.id, date.today() - timedelta(weeks=weeks - 1))
    due = client.get("/").text.partition("Whose screen is due")[2]
    assert "Cleo" in due
    assert "Ada" in due
    assert "Bea" not in due
    assert due.index("Cleo") < due.index("Ada")


def test_the_club_gets_its_name(site: tuple[App, TestClient]) -> None:
    _, client = site
    assert client.post("/settings/club", data={"name": ""}).status_code == 422
    client.post("/settings/club", data={"name": "Gym <Hall> 3"})
    page = client.get("/").text
    assert "Gym &lt;Hall&gt; 3" in page


def test_a_device_keeps_the_coachs_name(site: tuple[App, TestClient]) -> None:
    _, client = site
    client.post("/settings/coach", data={"name": "Ines Ö."})
    assert 'value="Ines Ö."' in client.get("/settings").text


def test_every_number_is_shown_with_where_it_comes_from(site: tuple[App, TestClient]) -> None:
    app, client = site
    page = client.get("/settings/numbers").text
    assert [name for name in app.catalogue.settings if f"<code>{name}</code>" not in page] == []
    assert [name for name in app.segments.handstand if f"<code>{name}</code>" not in page] == []
    assert [name for name in app.catalogue.limits if f"<code>{name}</code>" not in page] == []
    assert [name for name in app.catalogue.sources if f"<b>{name}</b>" not in page] == []


def test_help_has_every_test_with_its_care(site: tuple[App, TestClient]) -> None:
    app, client = site
    page = client.get("/help").text
    assert [name for name in app.catalogue.tests if f">{name}<" not in page] == []
    assert "never diagnoses" in page


def test_the_interface_describes_itself(site: tuple[App, TestClient]) -> None:
    _, client = site
    paths = client.get("/api/openapi.json").json()["paths"]
    assert "/api/gymnasts" in paths
    assert not [path for path in paths if not path.startswith("/api/")]


def test_whether_everything_is_there_is_looked_at_on_a_page_of_its_own(
    site: tuple[App, TestClient],
) -> None:
    app, client = site
    assert 'href="/settings/health"' in client.get("/settings").text
    page = client.get("/settings/health").text
    for one in app.examine():
        assert one.what.casefold() in page.casefold()
