"""One page with the mark editor on it, driven in Debian's chromium."""

import json
import sys
from typing import Any

import pytest
from editor_pages import (
    ROOT,
    editor_options,
    python_reading,
)

sys.path.insert(0, str(ROOT / "tools"))

VECTORS = ROOT / "tests" / "data" / "measure_vectors.json"
PHOTO = "13_prone-overhead.jpg"
TEST = "prone-overhead"
#: Wraps every pointermove handler with a stop-watch, before the page's own scripts run.
STOPWATCH = """
window.moveTimes = [];
const listen = EventTarget.prototype.addEventListener;
EventTarget.prototype.addEventListener = function (type, listener, how) {
    if (type !== "pointermove") return listen.call(this, type, listener, how);
    return listen.call(this, type, (event) => {
        const began = performance.now();
        listener(event);
        window.moveTimes.push(performance.now() - began);
    }, how);
};
"""


class Desk:
    """One page with the editor on it, and everything that went wrong there."""

    def __init__(self, browser: Any, address: str, **context: Any) -> None:
        self.context = browser.new_context(
            **{"viewport": {"width": 1280, "height": 800}, **context}
        )
        self.context.route("**/*", lambda route: self._guard(route, address))
        self.page = self.context.new_page()
        self.faults: list[str] = []
        self.requests: list[str] = []
        self.page.on("pageerror", lambda error: self.faults.append(str(error)))
        self.page.on(
            "console",
            lambda message: (
                message.type in {"error", "warning"} and self.faults.append(message.text)
            ),
        )
        self.page.add_init_script(STOPWATCH)
        self.page.goto(f"{address}/editor_harness.html")
        self.page.wait_for_function("window.harness")

    def _guard(self, route: Any, address: str) -> None:
        self.requests.append(route.request.url)
        if route.request.url.startswith((address, "data:")):
            route.continue_()
        else:
            route.abort()

    def mount(self, options: dict[str, Any] | None = None) -> None:
        self.page.evaluate("options => harness.mount(options)", options or editor_options(PHOTO))

    def tell(self, expression: str) -> Any:
        return self.page.evaluate(expression)

    def record(self) -> dict[str, Any]:
        return self.tell("harness.editor.record()")

    def mark(self, name: str) -> tuple[float, float]:
        mark = self.record()["landmarks"][name]
        return mark["x_px"], mark["y_px"]

    def spot(self, name: str) -> tuple[float, float]:
        """Where a landmark is on the page [client px], scaled containers included."""
        box = self.page.locator(f'[data-landmark="{name}"]').bounding_box()
        return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2

    def drag(self, name: str, dx: float, dy: float, *, steps: int = 12) -> None:
        x, y = self.spot(name)
        self.page.mouse.move(x, y)
        self.page.mouse.down()
        self.page.mouse.move(x + dx, y + dy, steps=steps)
        self.page.mouse.up()

    def touch(self, kind: str, *points: tuple[float, float]) -> None:
        if not hasattr(self, "_cdp"):
            self._cdp = self.context.new_cdp_session(self.page)
        self._cdp.send(
            "Input.dispatchTouchEvent",
            {
                "type": kind,
                "touchPoints": [{"x": x, "y": y, "id": i} for i, (x, y) in enumerate(points)],
            },
        )

    def loupe_is_clear_of(self, x: float, y: float) -> bool:
        """Whether the whole glass is in sight and at least a fingertip away from a finger."""
        glass = self.page.locator(".cl-loupe").bounding_box()
        stage = self.page.locator(".cl-stage").bounding_box()
        left, top = glass["x"], glass["y"]
        right, bottom = left + glass["width"], top + glass["height"]
        inside = (
            left >= stage["x"]
            and top >= stage["y"]
            and right <= stage["x"] + stage["width"]
            and bottom <= stage["y"] + stage["height"]
        )
        fingertip_px = 24.0
        aside = max(left - x, x - right, top - y, y - bottom)
        return inside and aside >= fingertip_px

    def agrees_with_python(self, test: str = TEST) -> None:
        """What the page measures is what Python measures for the marks it would save."""
        expected = python_reading(self.record(), test)
        told = self.tell("harness.editor.measures()")
        assert list(told) == list(expected.names)
        for i, name in enumerate(expected.names):
            assert told[name]["value"] == pytest.approx(expected.values[i], abs=1e-6), name
            assert told[name]["sd"] == pytest.approx(expected.sd[name], rel=0.05), name

    def shown(self, measure: str) -> str:
        text = self.page.locator(f'[data-measure="{measure}"]').inner_text()
        return " ".join(text.replace("\u00a0", " ").split())


def tablet(browser: Any, address: str, **more: Any) -> Desk:
    size = {"width": 1024, "height": 768}
    return Desk(browser, address, viewport=size, device_scale_factor=2, has_touch=True, **more)


def with_everything() -> dict[str, Any]:
    """Return options with three curves and a known place of the phone: the most work a move has."""
    options = editor_options(PHOTO)
    marks = options["landmarks"]
    hip, shoulder = marks["hip"], marks["shoulder"]
    for curve, off in (("back", -45.0), ("seam", 5.0), ("belly", 40.0)):
        for i in range(9):
            marks[f"{curve}_{i + 1}"] = {
                **hip,
                "x_px": hip["x_px"] + i / 8 * (shoulder["x_px"] - hip["x_px"]),
                "y_px": hip["y_px"] + off + i / 8 * (shoulder["y_px"] - hip["y_px"]) + i % 2,
            }
    (case, *_) = json.loads(VECTORS.read_text(encoding="utf-8"))["cases"]
    return {**options, "view": case["view"], "frame": case["frame"]}


def without(*names: str) -> dict[str, Any]:
    options = editor_options(PHOTO)
    for name in names:
        del options["landmarks"][name]
    return options


STALE = """
const { landmarks } = harness.editor.record();
const hip = { ...landmarks.hip, y_px: landmarks.hip.y_px + 40, origin: "hand" };
harness.answers.push({ stale: { version: 7, near_side: "left", author: "Petra",
    landmarks: { ...landmarks, hip } } });
"""


def made_stale(desk: Desk) -> dict[str, Any]:
    desk.tell(f"{{ {STALE} }}")
    desk.drag("hip", 0, -30)
    mine = desk.record()
    desk.page.keyboard.press("Enter")
    desk.page.get_by_text("Petra changed these marks meanwhile").wait_for()
    assert desk.tell("harness.went.length") == 0
    assert desk.record() == mine, "nothing is lost"
    assert desk.page.locator(".cl-theirs").get_attribute("d"), "both are shown"
    rows = desk.page.locator(".cl-stale tbody tr").all_inner_texts()
    assert any(row.startswith("Hips") and "closed" in row and "open" in row for row in rows), rows
    desk.page.keyboard.press("Enter")
    assert desk.tell("harness.saves.length") == 1, "a second Enter decides nothing"
    return mine
