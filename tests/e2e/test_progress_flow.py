"""A second screen comes in, the change is shown, the pair is chosen, the sheet is printed."""

import io
import sys
from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
from editor_pages import ROOT, missing_browser
from pypdf import PdfReader

sys.path.insert(0, str(ROOT / "tools"))
sys.path.insert(0, str(ROOT / "tests" / "web"))
from club_pages import CLOSED, ClubSite, open_club
from gym_day import Watched

import fetch_axe
from gym_site import listening

pytestmark = pytest.mark.browser

TODAY = date.today()
SIZES = {"desktop": (1280, 800), "upright": (820, 1180), "phone": (400, 800)}
PAGES = ("/gymnasts/1/progress", "/gymnasts/2/progress", "/gymnasts/3/progress", "/progress")
_TOO_SMALL = """() => [...document.querySelectorAll('main :is(a, button, select, summary)')]
    .map(one => [one.getBoundingClientRect(), one.outerHTML.slice(0, 80)])
    .filter(([box]) => box.width && (box.width < 43.5 || box.height < 43.5))
    .map(([, told]) => told)"""


def less(share: float) -> dict[str, dict[str, float]]:
    return {
        test: {name: share * value for name, value in shown.items()}
        for test, shown in CLOSED.items()
    }


@pytest.fixture(scope="module")
def club(tmp_path_factory: pytest.TempPathFactory) -> Iterator[ClubSite]:
    """Ada was screened once, Bea three times, Cleo never."""
    with open_club(tmp_path_factory.mktemp("club")) as club:
        ada, bea, _ = club.add("Ada Berg", 7), club.add("Bea Zorn", 8), club.add("Cleo", 9)
        club.screen(ada, day=TODAY - timedelta(days=80), kept=True)
        for days, share in ((200, 1.0), (100, 0.7), (10, 0.2)):
            club.screen(bea, less(share), day=TODAY - timedelta(days=days), kept=days != 100)
        yield club


@pytest.fixture(scope="module")
def address(club: ClubSite) -> Iterator[str]:
    with listening(club.app, measure=False) as port:
        yield f"http://127.0.0.1:{port}"


def test_a_second_screen_shows_the_change_and_prints_it(
    browser: Any, club: ClubSite, address: str
) -> None:
    with Watched(browser, address) as watched:
        page = watched.page
        watched.go("/gymnasts/1")
        page.get_by_role("link", name="Progress", exact=True).click()
        page.get_by_role("heading", name="One screen only").wait_for()
        with club.app.records.reading() as tx:
            ada = tx.gymnasts.get(1)
        club.screen(ada, less(0.2), day=TODAY - timedelta(days=1), kept=True)
        page.reload()
        changed = page.locator("section", has=page.get_by_role("heading", name="What changed"))
        assert "Shoulders, passive:" in changed.inner_text()
        assert "real change: yes" in changed.inner_text()
        pictures = page.locator(".pair image")
        assert pictures.count() == 2
        boxes = page.locator(".pair svg").evaluate_all(
            "all => all.map(one => one.getBoundingClientRect().width)"
        )
        assert boxes[0] == boxes[1]
        page.get_by_label("Test", exact=True).select_option("prone-raised")
        page.get_by_role("button", name="Show").click()
        page.wait_for_url("**/progress?test=prone-raised**")
        assert page.get_by_label("Test", exact=True).input_value() == "prone-raised"
        query = page.locator("form.papers").evaluate(
            "form => new URLSearchParams(new FormData(form)).toString()"
        )
        assert "test=prone-raised" in query
        sheet = page.request.get(f"{address}/gymnasts/1/progress.pdf?{query}")
        (paper,) = PdfReader(io.BytesIO(sheet.body())).pages
        said = " ".join(paper.extract_text().split())
        assert "real change: yes" in said
        assert "arms lifted for her" in said


def test_the_squad_leads_from_who_is_due_to_her_page(browser: Any, address: str) -> None:
    with Watched(browser, address) as watched:
        page = watched.page
        watched.go("/squad")
        page.get_by_role("link", name="Progress", exact=True).click()
        page.locator(".due").get_by_role("link", name="Bea Zorn").click()
        page.get_by_role("heading", name="Bea Zorn").wait_for()
        assert page.locator(".cl-curve").count() >= 3
        summary = page.get_by_text("What the curve shows").first
        summary.click()
        assert page.get_by_role("cell", name="measured", exact=True).first.is_visible()


def test_keys_alone_reach_the_pair_and_show_another(browser: Any, address: str) -> None:
    with Watched(browser, address) as watched:
        page = watched.page
        watched.go("/gymnasts/2/progress")
        page.get_by_label("Before", exact=True).focus()
        page.keyboard.press("ArrowDown")
        page.keyboard.press("Tab")
        page.keyboard.press("Tab")
        page.keyboard.press("Enter")
        page.wait_for_url("**/progress?test=**")
        assert "(line only)" in page.locator(".pair figcaption").first.inner_text()


@pytest.mark.parametrize("size", SIZES)
def test_everything_fits_and_can_be_tapped(browser: Any, address: str, size: str) -> None:
    width, height = SIZES[size]
    with Watched(browser, address, viewport={"width": width, "height": height}) as watched:
        for path in PAGES:
            watched.go(path)
            page = watched.page
            assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), path
            assert page.evaluate(_TOO_SMALL) == [], path


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("path", PAGES)
def test_no_accessibility_fault(browser: Any, address: str, path: str, scheme: str) -> None:
    axe: Path = fetch_axe.PATH
    if not axe.is_file():
        missing_browser("axe-core is not there; 'python tools/fetch_axe.py' fetches it")
    context = browser.new_context(color_scheme=scheme, bypass_csp=True)
    tab = context.new_page()
    tab.goto(address + path)
    tab.add_script_tag(path=str(axe))
    tags = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
    found = tab.evaluate("tags => axe.run(document, {runOnly: tags})", tags)
    context.close()
    assert [(one["id"], one["nodes"][0]["html"]) for one in found["violations"]] == []
