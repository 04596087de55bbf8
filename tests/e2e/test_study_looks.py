"""The pages of studies: no accessibility fault, no sideways scrolling, nothing too small to tap."""

import sys
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import pytest
from editor_pages import ROOT, missing_browser

sys.path.insert(0, str(ROOT / "tools"))

import fetch_axe
from gym_site import listening
from study_stories import Hand, mark_all, open_club, take_twice

pytestmark = [pytest.mark.browser, pytest.mark.slow]

PAGES = ("/studies", "/studies/1", "/studies/1?without=Lea", "/studies/2", "/studies/2/mark")
SIZES = ((1280, 800), (1180, 820), (820, 1180), (400, 800))
_TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
_TOO_SMALL = """() => [...document.querySelectorAll('main :is(a, button, select, summary, \
        input:not([type=hidden]))')]
    .map(one => [one.closest('label') || one, one.outerHTML.slice(0, 80)])
    .filter(([one]) => {
        const box = one.getBoundingClientRect();
        return box.width && (box.width < 43.5 || box.height < 43.5);
    }).map(([, told]) => told)"""


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """A study of two coaches with figures, in use; and one that nobody has marked."""
    with open_club(tmp_path_factory.mktemp("studied"), gymnasts=12) as app:
        study = app.mark_study()
        first = study.begin(app.club().id, count=12, twice=True, seed=3, author="Kim")
        mark_all(app, first.id, [Hand("Kim", 4.0), Hand("Lea", 5.0, 8.0)], seed=5)
        take_twice(app, 3, change_px=8.0, scatter_px=4.0, seed=9, test="prone-active")
        app.use_noise().use(app.club().id, first.id, author="Kim")
        second = study.begin(app.club().id, count=10, twice=False, seed=4, author="Kim")
        study.join(second.id, "Kim")
        with listening(app, measure=False) as port:
            yield f"http://127.0.0.1:{port}"


@dataclass(frozen=True)
class Visit:
    """What one visit of a page tells, looked at in both themes and in every size."""

    violations: dict[str, list[tuple[str, str]]]
    too_wide: list[tuple[int, int]]
    too_small: list[tuple[tuple[int, int], str]]
    complaints: list[str]


@pytest.fixture(scope="module", params=PAGES)
def visit(request: pytest.FixtureRequest, browser: Any, site: str) -> Visit:
    if not fetch_axe.PATH.is_file():
        missing_browser("axe-core is not there; 'python tools/fetch_axe.py' fetches it")
    context = browser.new_context(bypass_csp=True, viewport={"width": 1280, "height": 800})
    context.add_cookies([{"name": "coach", "value": "Kim", "url": site}])
    tab = context.new_page()
    seen = Visit({}, [], [], [])
    tab.on("console", lambda told: told.type == "error" and seen.complaints.append(told.text))
    tab.goto(site + request.param)
    tab.add_script_tag(path=str(fetch_axe.PATH))
    # What is folded away is read too.
    tab.evaluate("document.querySelectorAll('details').forEach(one => (one.open = true))")
    for scheme in ("light", "dark"):
        tab.emulate_media(color_scheme=scheme)
        found = tab.evaluate("tags => axe.run(document, {runOnly: tags})", _TAGS)
        seen.violations[scheme] = [
            (one["id"], one["nodes"][0]["html"]) for one in found["violations"]
        ]
    for width, height in SIZES:
        tab.set_viewport_size({"width": width, "height": height})
        if not tab.evaluate("document.documentElement.scrollWidth <= innerWidth"):
            seen.too_wide.append((width, height))
        seen.too_small.extend(((width, height), told) for told in tab.evaluate(_TOO_SMALL))
    context.close()
    return seen


def test_axe_finds_nothing(visit: Visit) -> None:
    assert visit.violations == {"light": [], "dark": []}


def test_everything_fits_and_can_be_tapped(visit: Visit) -> None:
    assert visit.too_wide == []
    assert visit.too_small == []
    assert visit.complaints == []
