"""Every page but the editor's: no accessibility fault, no sideways scrolling, nothing too small."""

import sys
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from editor_pages import ROOT, missing_browser

sys.path.insert(0, str(ROOT / "tools"))
sys.path.insert(0, str(ROOT / "tests" / "web"))
from club_pages import MARCH, open_club

import fetch_axe
from chordline.application.training.plan_wish import PlanWish
from chordline.core.body.measurement import Trust
from gym_site import listening

pytestmark = pytest.mark.browser

PAGES = (
    "/",
    "/roster",
    "/groups/1",
    "/groups/1?search=a",
    "/settings",
    "/settings/health",
    "/settings/backups",
    "/settings/numbers",
    "/help",
    "/screening",
    "/look",
    "/squad",
    "/squad?view=capacities",
    "/squad?search=nobody",
    "/gymnasts/1",
    "/gymnasts/2",
    "/gymnasts/3",
    "/gymnasts/1/edit",
    "/gymnasts/1/erase",
    "/screens/2",
    "/screens/3",
    "/training",
    "/groups/1/plan",
    "/groups/1/gym",
    "/groups/1/tonight",
    "/groups/1/timer",
    "/exercises",
    "/exercises/wall-handstand-shrugs",
    "/ladder",
    "/gymnasts/1/ladder",
    "/progress",
    "/gymnasts/1/progress",
)
_RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
_OF_COLOURS = {"type": "rule", "values": ["color-contrast", "link-in-text-block"]}
SIZES = {"desktop": (1280, 800), "across": (1180, 820), "upright": (820, 1180), "phone": (400, 800)}
_TOO_SMALL = """() => [...document.querySelectorAll('main :is(a:not(.prose p a, .prose li a), \
        button, select, summary, textarea, input:not([type=hidden]))')]
    .map(one => [one.closest('label') || one, one.outerHTML.slice(0, 80)])
    .filter(([one]) => {
        const box = one.getBoundingClientRect();
        return box.width && (box.width < 43.5 || box.height < 43.5);
    }).map(([, told]) => told)"""


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    with open_club(tmp_path_factory.mktemp("club")) as club:
        ada, bea, _ = club.add("Ada Berg", 7), club.add("Bea Zorn", 8), club.add("Cleo", 9)
        club.screen(ada, day=MARCH, kept=True)
        screen = club.screen(ada, kept=True)
        club.screen(bea, trust=Trust(False, ("the hip is doubtful",)))
        club.post("/groups", name="Red")
        club.post("/groups/1/members", put=str(bea.id))
        club.post(f"/gymnasts/{ada.id}/notes", what="wrist_pain", text="after vaulting")
        club.post(f"/screens/{screen}/holds", test="hold-front", seconds="14")
        today = date.today()
        club.app.make_plan()(1, PlanWish(first_day=today, weeks=1, author="Kim", today=today))
        club.app.tonight().open(1, today)
        with listening(club.app, measure=False) as port:
            yield f"http://127.0.0.1:{port}"


@dataclass
class Visit:
    """What one visit of a page tells: it is looked at in every size and in both themes."""

    page: str
    #: Addresses that the page asked for, and the bytes of our answers but for her pictures.
    asked: list[str] = field(default_factory=list)
    sent_bytes: int = 0
    complaints: list[str] = field(default_factory=list)
    violations: list[tuple[str, str]] = field(default_factory=list)
    too_wide: list[str] = field(default_factory=list)
    too_small: list[tuple[str, str]] = field(default_factory=list)


@pytest.fixture(scope="module")
def context(browser: Any) -> Iterator[Any]:
    """One for all pages: what they share is kept by the browser, as a coach's does."""
    width, height = SIZES["desktop"]
    context = browser.new_context(color_scheme="light", viewport={"width": width, "height": height})
    yield context
    context.close()


@pytest.fixture(scope="module", params=PAGES)
def visit(request: pytest.FixtureRequest, context: Any, site: str) -> Visit:
    axe: Path = fetch_axe.PATH
    if not axe.is_file():
        missing_browser("axe-core is not there; 'python tools/fetch_axe.py' fetches it")
    seen, finished = Visit(request.param), []
    tab = context.new_page()
    tab.on("console", lambda told: told.type == "error" and seen.complaints.append(told.text))
    tab.on("requestfinished", lambda request: finished.append(request))  # noqa: PLW0108
    tab.goto(site + seen.page)
    # Not as a script of the page: its content policy stays as it is.
    tab.evaluate(axe.read_text(encoding="utf-8"))
    found = tab.evaluate("rules => axe.run(document, {runOnly: rules})", _RULES)
    # Between the themes nothing but colours differs.
    tab.emulate_media(color_scheme="dark")
    dark = tab.evaluate("rules => axe.run(document, {runOnly: rules})", _OF_COLOURS)
    tab.emulate_media(color_scheme="light")
    violations = [*found["violations"], *dark["violations"]]
    seen.violations = [(one["id"], one["nodes"][0]["html"]) for one in violations]
    for size, (width, height) in SIZES.items():
        tab.set_viewport_size({"width": width, "height": height})
        if not tab.evaluate("document.documentElement.scrollWidth <= innerWidth"):
            seen.too_wide.append(size)
        seen.too_small += [(size, told) for told in tab.evaluate(_TOO_SMALL)]
    tab.wait_for_load_state("networkidle")
    for one in finished:
        seen.asked.append(one.url)
        if "/picture" not in one.url:
            sizes = one.sizes()
            seen.sent_bytes += sizes["responseBodySize"] + sizes["responseHeadersSize"]
    tab.close()
    return seen


def test_no_accessibility_fault(visit: Visit) -> None:
    assert visit.violations == []


def test_everything_fits_and_can_be_tapped(visit: Visit) -> None:
    assert visit.too_wide == []
    assert visit.too_small == []
    assert visit.complaints == []


def test_every_page_is_small_and_asks_only_this_machine(visit: Visit, site: str) -> None:
    assert [url for url in visit.asked if not url.startswith((site, "data:"))] == []
    assert 1_000 < visit.sent_bytes < 150_000


def test_both_pictures_of_a_pair_fit_on_a_tablet(browser: Any, site: str) -> None:
    context = browser.new_context(viewport={"width": 1180, "height": 820})
    tab = context.new_page()
    tab.goto(f"{site}/gymnasts/1")
    boxes = tab.locator("#test-4 .shot").evaluate_all(
        "shots => shots.map(one => one.getBoundingClientRect().toJSON())"
    )
    drawn = tab.locator("#test-4 use").first.evaluate("one => one.getBoundingClientRect().width")
    context.close()
    assert drawn > 0.5 * boxes[0]["width"]
    assert len(boxes) == 2
    assert boxes[1]["bottom"] - boxes[0]["top"] < 820
    assert min(box["width"] for box in boxes) > 0.75 * (1180 - 168)
