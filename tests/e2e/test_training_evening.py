"""From findings to the plan, the session, the timer and the printed stations, in a browser."""

import re
import sys
from collections.abc import Iterator
from datetime import date
from typing import Any

import pytest
from editor_pages import ROOT

sys.path.insert(0, str(ROOT / "tests" / "web"))
from club_pages import CLOSED, ClubSite, open_club
from gym_day import Watched

from chordline.application.training.records import GroupTraining, StationRecord
from gym_site import listening

pytestmark = pytest.mark.browser

HIPS = {"prone-sides": {"hip": -18.0}, "supine-sides": {"hip": -16.0}, "handstand": {"hip": -16.0}}
NAMES = ("Ada Berg", "Bea Holm", "Cleo Lund", "Dora Moen")
TABLET = (820, 1180)


@pytest.fixture(scope="module")
def club(tmp_path_factory: pytest.TempPathFactory) -> Iterator[ClubSite]:
    """Four gymnasts in a group that trains every day, so that today has a session."""
    with open_club(tmp_path_factory.mktemp("club")) as club:
        born = date(date.today().year - 10, 1, 2)
        hers = [club.add(name, card, birth_date=born) for card, name in enumerate(NAMES, 1)]
        for her, shape in zip(hers, (CLOSED, HIPS, CLOSED, HIPS), strict=True):
            club.screen(her, shape)
        with club.app.records.transaction() as tx:
            group = tx.clubs.add_group(club.app.club().id, "Level 3").id
            tx.clubs.put_in_group(group, [her.id for her in hers])
            stations = (
                StationRecord("Mats", 3, ("mat", "stick", "band", "partner_space")),
                StationRecord("Wall", 2, ("mat", "wall", "box", "blocks")),
            )
            training = GroupTraining(group, tuple(range(7)), None, 34, 2, stations)
            tx.training.save_group(training)
        yield club


@pytest.fixture(scope="module")
def address(club: ClubSite) -> Iterator[str]:
    with listening(club.app, measure=False) as port:
        yield f"http://127.0.0.1:{port}"


@pytest.fixture(scope="module")
def planned(browser: Any, address: str) -> str:
    """The plan as a coach makes it: asked for, watched, shown."""
    with Watched(browser, address) as watched:
        page = watched.page
        watched.go("/training")
        page.get_by_role("link", name="Plan", exact=True).click()
        page.get_by_label("Weeks").fill("2")
        page.get_by_role("button", name="Make a plan").click()
        page.get_by_role("heading", name="Who works on what").wait_for(timeout=60_000)
    return address


@pytest.fixture
def tab(browser: Any, planned: str) -> Iterator[Watched]:
    with Watched(browser, planned) as watched:
        yield watched


def open_session(tab: Watched) -> None:
    """Open today's session; one that is open stays as it is."""
    tab.page.request.post(f"{tab.address}/groups/1/tonight", headers={"Origin": tab.address})


def test_the_plan_gives_each_the_work_of_what_limits_her(tab: Watched) -> None:
    tab.page.goto(f"{tab.address}/groups/1/plan")
    rows = tab.page.locator("table.hers tbody tr")
    said = {name: rows.filter(has_text=name).inner_text() for name in NAMES}
    for name in ("Ada Berg", "Cleo Lund"):
        assert re.search(r"Shoulders, passive.*min a week", said[name])
    for name in ("Bea Holm", "Dora Moen"):
        assert re.search(r"Hip flexors.*min a week", said[name])


def test_the_stations_are_dealt_for_who_is_here_and_printed(tab: Watched) -> None:
    page = tab.page
    tab.go("/groups/1/tonight")
    if page.get_by_role("button", name="Open the session").count():
        page.get_by_role("button", name="Open the session").click()
    page.get_by_label("Ada Berg").uncheck()
    page.get_by_role("button", name="Deal the stations for those who are here").click()
    page.get_by_text("3 here, 1 not").wait_for()
    assert page.locator(".rounds .who", has_text="Ada").count() == 0
    assert page.locator(".rounds .who", has_text="Bea").count() > 0
    printed = page.request.get(f"{tab.address}/groups/1/stations/{date.today().isoformat()}.pdf")
    assert printed.ok
    assert printed.body().startswith(b"%PDF")


def test_the_timer_runs_through_the_rounds_and_goes_on_after_a_closed_page(tab: Watched) -> None:
    page = tab.page
    open_session(tab)
    page.clock.install()
    tab.go("/groups/1/timer")
    digits, part = page.locator("[data-digits]"), page.locator("[data-part]")
    assert (part.inner_text(), digits.inner_text()) == ("Warm-up", "10:00")
    page.keyboard.press(" ")
    page.clock.run_for(60_000)
    assert digits.inner_text() in {"9:00", "9:01"}
    page.clock.run_for(9 * 60_000 + 400)
    assert part.inner_text().startswith("Round 1 of")
    assert page.locator("[data-spoken]").text_content() == (
        f"{part.inner_text()}. Change the station."
    )
    first = page.locator("[data-round]:visible .who").all_inner_texts()
    page.clock.run_for(7 * 60_000 + 40_000)
    assert page.locator("[data-hurry]").inner_text() == "Finish, then change"
    page.reload()
    page.clock.run_for(400)
    assert digits.inner_text() in {"0:20", "0:19"}
    assert page.locator("[data-round]:visible .who").all_inner_texts() == first
    page.keyboard.press("ArrowRight")
    assert part.inner_text().startswith("Round 2 of")
    page.get_by_role("button", name="Pause").click()
    page.clock.run_for(5_000)
    assert digits.inner_text() == "8:00"
    # Somebody goes home: the stations are dealt anew, the clock stays where it is.
    tab.go("/groups/1/tonight")
    page.locator("[name=here]:checked").first.uncheck()
    page.get_by_label("Rounds that have begun").select_option("2")
    page.get_by_role("button", name="Deal the stations").click()
    tab.go("/groups/1/timer")
    page.clock.run_for(400)
    assert part.inner_text().startswith("Round 2 of")


def test_the_timer_needs_no_network_once_it_is_open(tab: Watched) -> None:
    page = tab.page
    open_session(tab)
    page.clock.install()
    tab.go("/groups/1/timer")
    page.wait_for_load_state("networkidle")
    tab.context.set_offline(True)
    page.keyboard.press("ArrowRight")
    page.get_by_role("button", name="Start").click()
    page.clock.run_for(30_000)
    assert page.locator("[data-digits]").inner_text() in {"7:30", "7:31"}
    tab.context.set_offline(False)


def test_the_digits_are_read_from_five_metres(tab: Watched) -> None:
    """Letters are read at 5 m from about 25 mm on (common practice: distance over 200).

    A tablet of 820 css pixels across is about 160 mm wide.
    """
    page = tab.page
    open_session(tab)
    page.set_viewport_size({"width": TABLET[0], "height": TABLET[1]})
    tab.go("/groups/1/timer")
    height = page.locator("[data-digits]").evaluate(
        "one => parseFloat(getComputedStyle(one).fontSize)"
    )
    cap_mm = 0.7 * height * 160.0 / TABLET[0]
    assert cap_mm > 25.0
