"""Roster in, cards, photos in, marks checked, findings, sheet: by mouse, by finger, by keys."""

import io
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from gym_day import GIRLS, TESTS, Watched, degrees, photos, roster, serving
from pypdf import PdfReader

pytestmark = [pytest.mark.browser, pytest.mark.weights, pytest.mark.slow]

PHOTO = "13_prone-overhead.jpg"


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("day")


@pytest.fixture(scope="module")
def address(folder: Path) -> Iterator[str]:
    with serving(folder / "data") as address:
        yield address


def arrive(page: Any, pattern: str) -> None:
    """Wait until a page is there with its scripts: a hand is slower than that, a test is not."""
    page.wait_for_url(pattern)
    page.wait_for_load_state("load")


def photo_address(desk: Watched, name: str = PHOTO) -> str:
    """Return where a photo's page is, as her page links to it."""
    girl = next(one for one in desk.api("/gymnasts")["gymnasts"] if one["card"] == 13)
    (screen,) = desk.api(f"/gymnasts/{girl['id']}/screens")["screens"]
    view = desk.api(f"/screens/{screen['id']}")
    photo = next(one for one in view["photos"] if one["name"] == name)
    return f"/photos/{photo['id']}"


def hips(page: Any) -> str:
    text = page.locator('[data-measure="hip_opening_deg"]').inner_text()
    return " ".join(text.split())


def spot(page: Any, landmark: str) -> tuple[float, float]:
    box = page.locator(f'[data-landmark="{landmark}"]').bounding_box()
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def first_page_of_sheet(desk: Watched) -> str:
    """Return the words on the paper that her page leads to."""
    link = desk.page.get_by_role("link", name="Sheet as PDF").first
    paper = desk.context.request.get(f"{desk.address}{link.get_attribute('href')}")
    assert paper.headers["content-type"] == "application/pdf"
    return PdfReader(io.BytesIO(paper.body())).pages[0].extract_text()


def test_a_day_by_mouse(browser: Any, address: str, folder: Path) -> None:
    with Watched(browser, address) as desk:
        page = desk.page
        desk.go("/")
        page.get_by_role("link", name="Bring the roster").click()
        arrive(page, "**/roster")

        page.get_by_label("File", exact=True).set_input_files(roster(folder))
        page.get_by_role("button", name="Look at it first").click()
        assert page.get_by_text("2014-02-30 is not in the calendar").is_visible()
        page.get_by_role("button", name="Take in the good rows").click()
        page.get_by_role("status").get_by_text("2 new").wait_for()

        desk.go("/roster")
        with page.expect_download() as cards:
            page.get_by_role("button", name="Cards as PDF").click()
        assert len(PdfReader(cards.value.path()).pages) == len(GIRLS)

        desk.go("/screening")
        files = photos(folder)
        page.locator('[data-pick="files"]').set_input_files(files)
        desk.wait_measured(len(files))
        page.get_by_text("Nothing waits").wait_for()

        desk.go("/squad")
        row = page.get_by_role("row").filter(has_text=GIRLS[13])
        assert "Shoulders, passive" in row.inner_text()
        row.get_by_role("link", name=GIRLS[13]).click()
        page.get_by_role("heading", name="What limits her").wait_for()
        before = page.locator("main").inner_text()

        desk.go(photo_address(desk))
        page.locator('[data-landmark="hand"]').wait_for()
        was = degrees(hips(page))
        x, y = spot(page, "hip")
        page.mouse.move(x, y)
        page.mouse.down()
        page.mouse.move(x, y - 60, steps=8)
        during = degrees(hips(page))
        assert during != was, "the angle follows the finger"
        page.mouse.up()
        moved = hips(page)
        page.get_by_role("button", name="It is right").click()
        arrive(page, "**/gymnasts/*")

        desk.go(photo_address(desk))
        page.locator('[data-landmark="hand"]').wait_for()
        assert hips(page) == moved, "the mark stayed"
        assert page.get_by_text("found it right").is_visible()

        page.get_by_role("link", name="Back to her").click()
        page.get_by_role("heading", name="What limits her").wait_for()
        assert page.locator("main").inner_text() != before, "findings follow the mark"
        assert GIRLS[13] in first_page_of_sheet(desk)


def finger_drag(desk: Watched, at: tuple[float, float], dx: float, dy: float) -> None:
    link = desk.context.new_cdp_session(desk.page)

    def send(kind: str, *points: tuple[float, float]) -> None:
        touches = [{"x": x, "y": y} for x, y in points]
        link.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": touches})

    (x, y), steps = at, 8
    send("touchStart", (x, y))
    for i in range(1, steps + 1):
        send("touchMove", (x + dx * i / steps, y + dy * i / steps))
    # A finger that places a mark rests before it is lifted. One that is lifted on its way may swing
    # on, and the browser may take the next tap for the end of that swing.
    desk.page.wait_for_timeout(200)
    send("touchMove", (x + dx, y + dy))
    send("touchEnd")
    desk.page.wait_for_timeout(400)


def tap_through(page: Any, name: str, pattern: str) -> None:
    """Tap a button that leads on, and once more where nothing came of it, as a hand would.

    Not explained: in two of six runs of all tests at once the tap after the drag never reached the
    page; alone, also on a busy machine, it always did.
    """
    from playwright.sync_api import TimeoutError as TooLate  # noqa: PLC0415

    page.get_by_role("button", name=name).tap()
    try:
        page.wait_for_url(pattern, timeout=6_000)
    except TooLate:
        page.get_by_role("button", name=name).tap()
    arrive(page, pattern)


def test_a_day_on_a_tablet(browser: Any, tmp_path: Path) -> None:
    with serving(tmp_path / "data") as address:
        size = {"width": 820, "height": 1180}
        with Watched(
            browser, address, viewport=size, has_touch=True, device_scale_factor=2
        ) as desk:
            page = desk.page
            desk.go("/")
            page.get_by_role("link", name="Bring the roster").tap()
            arrive(page, "**/roster")
            page.get_by_label("File", exact=True).set_input_files(roster(tmp_path))
            page.get_by_role("button", name="Look at it first").tap()
            page.get_by_role("button", name="Take in the good rows").tap()
            page.get_by_role("status").get_by_text("2 new").wait_for()

            page.get_by_role("navigation").get_by_role("link", name="Screening").tap()
            arrive(page, "**/screening")
            # As shot: the phone names its files itself, the coach chose the test.
            page.get_by_label("Test").select_option("prone-overhead")
            for name in (PHOTO, "12_prone-overhead.jpg"):
                shot = tmp_path / f"IMG_20260{name}"
                shot.write_bytes(
                    (Path(__file__).parents[2] / "src/chordline/demo/club" / name).read_bytes()
                )
                page.locator('[data-pick="camera"]').set_input_files(shot)
            desk.wait_measured(2)

            page.get_by_role("navigation").get_by_role("link", name="Squad").tap()
            page.get_by_role("link", name=GIRLS[13]).tap()
            page.locator("a.shot").first.tap()
            page.locator('[data-landmark="hand"]').wait_for()
            was = degrees(hips(page))
            finger_drag(desk, spot(page, "hip"), 0, -70)
            moved = hips(page)
            assert degrees(moved) != was
            tap_through(page, "It is right", "**/gymnasts/*")
            page.locator("a.shot").first.tap()
            page.locator('[data-landmark="hand"]').wait_for()
            assert hips(page) == moved
            page.get_by_role("link", name="Back to her").tap()
            assert GIRLS[13] in first_page_of_sheet(desk)


def tab_to(page: Any, name: str, *, most: int = 60) -> None:
    """Press Tab until what is focused is called so."""
    for _ in range(most):
        page.keyboard.press("Tab")
        told = page.evaluate(
            """() => { const one = document.activeElement;
                if (!one.matches("a, button, input, select, summary, [data-landmark]")) return "";
                return [one.getAttribute("aria-label"), one.labels?.[0]?.innerText,
                    one.innerText, one.dataset.landmark].filter(Boolean).join(" | "); }"""
        )
        if name in told:
            return
    raise AssertionError(f"'{name}' cannot be reached by Tab")


def test_a_day_by_keys_alone(browser: Any, tmp_path: Path) -> None:
    with serving(tmp_path / "data") as address, Watched(browser, address) as desk:
        page = desk.page
        press = page.keyboard.press
        desk.go("/")
        tab_to(page, "Bring the roster")
        press("Enter")
        arrive(page, "**/roster")
        tab_to(page, "File")
        # The system's own dialog opens; what it gives comes in here.
        desk.choose_by_key(roster(tmp_path))
        tab_to(page, "Look at it first")
        press("Enter")
        arrive(page, "**/roster/preview")
        tab_to(page, "Take in the good rows")
        press("Enter")
        arrive(page, "**/squad**")

        tab_to(page, "Screening")
        press("Enter")
        arrive(page, "**/screening")
        tab_to(page, "Choose photos")
        desk.choose_by_key(photos(tmp_path)[: 2 * len(TESTS)])
        desk.wait_measured(2 * len(TESTS))

        page.get_by_text("Nothing waits").wait_for()
        tab_to(page, "Squad")
        press("Enter")
        arrive(page, "**/squad")
        tab_to(page, GIRLS[13])
        press("Enter")
        arrive(page, "**/gymnasts/*")
        tab_to(page, "arms over the ears on the floor: open the photo", most=120)
        press("Enter")
        arrive(page, "**/photos/*")
        page.locator('[data-landmark="hand"]').wait_for()
        tab_to(page, "hip", most=80)
        was = hips(page)
        for _ in range(6):
            press("Shift+ArrowUp")
        moved = hips(page)
        assert moved != was
        press("Enter")
        arrive(page, "**/gymnasts/*")
        tab_to(page, "Sheet as PDF")
        assert GIRLS[13] in first_page_of_sheet(desk)

        page.goto(f"{address}{photo_address(desk)}")
        page.locator('[data-landmark="hand"]').wait_for()
        assert hips(page) == moved
