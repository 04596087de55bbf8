"""What if she had more: the sliders by keyboard, one question at a time, and what is announced."""

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

pytestmark = pytest.mark.browser

HANDS = "section.hands"
SLIDER = "#try-shoulder_flexion_deg"
PUSH = "#try-shoulder_push_pct"


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    with open_club(tmp_path_factory.mktemp("club")) as club:
        club.screen(club.add("Ada Berg", 7))
        with listening(club.app, measure=False) as port:
            yield f"http://127.0.0.1:{port}"


class Tab:
    """Her page, with everything that it asked of the forecast and that went wrong."""

    def __init__(self, browser: Any, site: str, **context: Any) -> None:
        self.context = browser.new_context(viewport={"width": 1280, "height": 800}, **context)
        self.page = self.context.new_page()
        self.page.set_default_timeout(10_000)
        self.asked: list[str] = []
        self.faults: list[str] = []
        self.page.on("request", self._note)
        self.page.on("pageerror", lambda error: self.faults.append(str(error)))
        self.page.on("console", lambda told: told.type == "error" and self.faults.append(told.text))
        self.address = f"{site}/gymnasts/1"

    def _note(self, request: Any) -> None:
        if "/forecast?" in request.url:
            self.asked.append(request.url.partition("?")[2])

    def open(self) -> "Tab":
        self.page.goto(self.address)
        return self

    def text(self, place: str) -> str:
        return str(self.page.locator(f"{HANDS} {place}").text_content()).strip()

    def press(self, slider: str, key: str, times: int = 1) -> None:
        self.page.locator(slider).focus()
        for _ in range(times):
            self.page.keyboard.press(key)

    def wait_for(self, words: str, place: str = "[data-announce]") -> None:
        self.page.locator(f"{HANDS} {place}", has_text=words).wait_for(state="attached")

    def drawn(self) -> str:
        return str(self.page.locator(f"{HANDS} [data-lines]").inner_html())


@pytest.fixture
def tab(browser: Any, site: str) -> Iterator[Tab]:
    tab = Tab(browser, site).open()
    yield tab
    tab.context.close()
    assert tab.faults == []


def test_by_keyboard_the_drawing_and_the_words_follow(tab: Tab) -> None:
    before, headline = tab.drawn(), tab.text("[data-words=headline]")
    tab.press(SLIDER, "ArrowRight", 10)
    tab.wait_for("With 10° more of shoulders, passive: ")
    assert tab.text(".lever output >> nth=0") == "+10°"
    slider = tab.page.locator(SLIDER)
    assert slider.get_attribute("aria-valuetext") == "10 degrees more"
    assert slider.evaluate("one => one === document.activeElement")
    assert tab.text("[data-words=asked]") == "With 10° more of shoulders, passive:"
    assert tab.text("[data-words=headline]") != headline
    assert tab.drawn() != before
    assert tab.page.locator(f"{HANDS} svg.cl-hands").count() == 1
    assert not tab.page.locator(f"{HANDS} [data-today]").first.is_visible()
    tab.press(PUSH, "ArrowRight", 3)
    tab.wait_for("and 3 % more of shoulder push")
    assert tab.asked[-1].endswith("&shoulder_flexion_deg=10&shoulder_push_pct=3")


def test_back_to_today_is_as_it_was(tab: Tab) -> None:
    before, headline = tab.drawn(), tab.text("[data-words=headline]")
    tab.press(SLIDER, "End")
    tab.wait_for("With 20° more")
    tab.page.get_by_role("button", name="Back to today").press("Enter")
    tab.wait_for("Today: ")
    assert tab.text("[data-words=headline]") == headline
    assert tab.drawn() == before
    assert tab.page.locator(SLIDER).input_value() == "0"
    assert not tab.page.locator(f"{HANDS} [data-words=asked]").is_visible()
    assert tab.page.locator(f"{HANDS} [data-today]").last.is_visible()


def test_many_steps_are_one_question(tab: Tab) -> None:
    tab.press(SLIDER, "ArrowRight", 8)
    tab.wait_for("With 8° more")
    assert len(tab.asked) < 4
    assert tab.asked[-1].endswith("shoulder_flexion_deg=8")


def test_an_older_question_is_aborted_and_never_answers(tab: Tab) -> None:
    aborted: list[str] = []
    tab.page.on("requestfailed", lambda one: aborted.append(one.url))
    held: list[Any] = []

    def hold_the_first(route: Any) -> None:
        if held:
            route.continue_()
        else:
            held.append(route)

    tab.page.route("**/forecast?*", hold_the_first)
    tab.press(SLIDER, "ArrowRight", 5)
    tab.page.wait_for_timeout(500)
    assert len(held) == 1
    assert tab.page.locator(HANDS).get_attribute("aria-busy") == "true"
    tab.press(SLIDER, "ArrowRight", 7)
    tab.wait_for("With 12° more")
    assert [one.endswith("shoulder_flexion_deg=5") for one in aborted] == [True]
    assert tab.page.locator(HANDS).get_attribute("aria-busy") is None
    assert tab.text("[data-announce]").startswith("With 12° more")


def test_a_refusal_is_said_and_goes_with_the_next_answer(browser: Any, site: str) -> None:
    tab = Tab(browser, site).open()
    tab.page.route("**/forecast?*", lambda route: route.abort())
    before = tab.drawn()
    tab.press(SLIDER, "ArrowRight")
    tab.wait_for("There is no connection", "[data-refused]")
    assert tab.drawn() == before
    tab.page.unroute("**/forecast?*")
    tab.press(SLIDER, "ArrowRight")
    tab.wait_for("With 2° more")
    assert not tab.page.locator(f"{HANDS} [data-refused]").is_visible()
    tab.context.close()


@pytest.mark.parametrize(
    "drawing",
    [
        "<svg",
        "<p>no drawing</p>",
        '<svg xmlns="http://www.w3.org/2000/svg"><script>window.harm = 1</script></svg>',
        '<svg xmlns="http://www.w3.org/2000/svg"><foreignObject/></svg>',
    ],
)
def test_what_is_no_drawing_is_not_shown(tab: Tab, drawing: str) -> None:
    def answer(route: Any) -> None:
        real = route.fetch().json()
        route.fulfill(json={**real, "drawing": drawing})

    tab.page.route("**/forecast?*", answer)
    before = tab.drawn()
    tab.press(SLIDER, "ArrowRight")
    tab.wait_for("could not be drawn", "[data-refused]")
    assert tab.drawn() == before
    assert tab.page.evaluate("window.harm") is None


def test_without_a_script_the_section_is_whole_and_has_no_sliders(browser: Any, site: str) -> None:
    tab = Tab(browser, site, java_script_enabled=False).open()
    assert tab.page.locator(f"{HANDS} svg.cl-hands").is_visible()
    assert "the straightest line she can reach" in tab.text("[data-words=headline]")
    assert not tab.page.locator(SLIDER).is_visible()
    tab.context.close()


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing_before_and_after(browser: Any, site: str, scheme: str) -> None:
    axe: Path = fetch_axe.PATH
    if not axe.is_file():
        missing_browser("axe-core is not there; 'python tools/fetch_axe.py' fetches it")
    tab = Tab(browser, site, color_scheme=scheme, bypass_csp=True).open()
    tab.page.add_script_tag(path=str(axe))
    tags = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
    run = "tags => axe.run(document, {runOnly: tags})"
    found = tab.page.evaluate(run, tags)["violations"]
    tab.press(SLIDER, "ArrowRight", 6)
    tab.wait_for("With 6° more")
    found += tab.page.evaluate(run, tags)["violations"]
    tab.context.close()
    assert [(one["id"], one["nodes"][0]["html"]) for one in found] == []


@pytest.mark.parametrize(("width", "height"), [(1280, 800), (820, 1180), (400, 800)])
def test_sliders_are_large_enough_and_nothing_lies_sideways(
    browser: Any, site: str, width: int, height: int
) -> None:
    tab = Tab(browser, site)
    tab.page.set_viewport_size({"width": width, "height": height})
    tab.open()
    for one in tab.page.locator(f"{HANDS} input").all():
        box = one.bounding_box()
        assert box is not None
        assert box["height"] >= 44
        assert box["width"] >= 200
    assert tab.page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    tab.context.close()
