"""The pictures' lock with keyboard and finger: set, locked, unlocked; no accessibility fault."""

import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from editor_pages import ROOT, missing_browser

sys.path.insert(0, str(ROOT / "tools"))
sys.path.insert(0, str(ROOT / "tests" / "web"))
from club_pages import open_club

import fetch_axe
from gym_site import listening
from vault_stories import CHEAP, PASSPHRASE

pytestmark = pytest.mark.browser

_TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
_TOO_SMALL = """() => [...document.querySelectorAll('main :is(a, button, summary, input)')]
    .map(one => [one.getBoundingClientRect(), one.outerHTML.slice(0, 80)])
    .filter(([box]) => box.width && (box.width < 43.5 || box.height < 43.5)
        ).map(([, told]) => told)"""


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    with open_club(tmp_path_factory.mktemp("club")) as club:
        club.screen(club.add("Ada Berg", 7), kept=True)
        club.app.vault._cost = CHEAP  # type: ignore[attr-defined]
        with listening(club.app, measure=False) as port:
            yield f"http://127.0.0.1:{port}"


def check(tab: Any) -> None:
    if not fetch_axe.PATH.is_file():
        missing_browser("axe-core is not there; 'python tools/fetch_axe.py' fetches it")
    tab.add_script_tag(content=Path(fetch_axe.PATH).read_text(encoding="utf-8"))
    for scheme in ("light", "dark"):
        tab.emulate_media(color_scheme=scheme)
        found = tab.evaluate("tags => axe.run(document, {runOnly: tags})", _TAGS)
        assert [(one["id"], one["nodes"][0]["html"]) for one in found["violations"]] == []
    for width in (400, 820, 1280):
        tab.set_viewport_size({"width": width, "height": 900})
        assert tab.evaluate("document.documentElement.scrollWidth <= innerWidth"), width
        assert tab.evaluate(_TOO_SMALL) == [], width


def test_a_passphrase_is_set_and_opens_after_locking_by_keyboard_alone(
    browser: Any, site: str
) -> None:
    context = browser.new_context(bypass_csp=True)
    tab = context.new_page()
    tab.set_default_timeout(10_000)
    tab.goto(f"{site}/settings")
    tab.get_by_label("Passphrase").focus()
    tab.keyboard.type(PASSPHRASE)
    tab.keyboard.press("Tab")
    tab.keyboard.type(PASSPHRASE)
    tab.keyboard.press("Enter")
    assert "Print the recovery sheet now" in tab.get_by_role("status").inner_text()
    check(tab)
    tab.get_by_role("button", name="Lock the pictures now").press("Enter")
    tab.get_by_role("link", name="Unlock").last.press("Enter")
    tab.wait_for_url("**/unlock")
    tab.get_by_text("The passphrase is forgotten").press("Enter")
    check(tab)
    # The cursor stands in the field already.
    tab.goto(f"{site}/unlock")
    tab.keyboard.type("not the right words")
    tab.keyboard.press("Enter")
    assert "not the club's passphrase" in tab.get_by_role("alert").inner_text()
    check(tab)
    tab.keyboard.type(PASSPHRASE)
    tab.get_by_label("Passphrase").press("Enter")
    tab.wait_for_url(f"{site}/?said=*")
    assert "locked" not in tab.locator("main").inner_text().replace("unlocked", "")
    context.close()
