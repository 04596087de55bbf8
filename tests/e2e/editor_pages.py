"""The mark editor on a page of its own: a server for its files, a browser, a demo photo."""

import json
import os
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from functools import partial
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from chordline.application.mark_editor_json import battery_test_to_json, words_to_json
from chordline.catalogue.loader import load_catalogue
from chordline.conventions import facing_of
from chordline.core.body.points import BodyPoints
from chordline.core.body.reading import Reading, read_body

ROOT = Path(__file__).resolve().parents[2]
CLUB = ROOT / "src" / "chordline" / "demo" / "club"
SERVED = {
    "/static/": ROOT / "src" / "chordline" / "web" / "static",
    "/club/": CLUB,
    "/unit/": ROOT / "tests" / "unit" / "web",
    "/": Path(__file__).resolve().parent,
}
CHROMIUM = Path("/usr/bin/chromium")
CHROMIUM_ARGS = ["--no-sandbox", "--disable-gpu", "--disable-background-networking"]
CATALOGUE = load_catalogue()
TRUTH = json.loads((ROOT / "tests" / "data" / "squad_truth.json").read_text(encoding="utf-8"))


def missing_browser(reason: str) -> None:
    """Skip, or fail where the browser is required."""
    if os.environ.get("CHORDLINE_REQUIRE_BROWSER") == "1":
        pytest.fail(reason)
    pytest.skip(reason)


@contextmanager
def launched() -> Iterator[Any]:
    """Yield Debian's chromium; nothing is downloaded."""
    try:
        from playwright.sync_api import sync_playwright  # noqa: PLC0415
    except ImportError:
        missing_browser("playwright is not installed")
    if not CHROMIUM.is_file():
        missing_browser(f"{CHROMIUM} is not installed")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=str(CHROMIUM), args=CHROMIUM_ARGS)
        try:
            yield browser
        finally:
            browser.close()


class _Handler(SimpleHTTPRequestHandler):
    def translate_path(self, path: str) -> str:
        clean = path.partition("?")[0]
        prefix = next(prefix for prefix in SERVED if clean.startswith(prefix))
        return str(SERVED[prefix] / clean.removeprefix(prefix))

    def log_message(self, *args: object) -> None:
        pass


@contextmanager
def served() -> Iterator[str]:
    """Yield the address of a server on a free port of this machine."""
    with ThreadingHTTPServer(("127.0.0.1", 0), partial(_Handler)) as server:
        thread = threading.Thread(target=server.serve_forever, daemon=True)
        thread.start()
        try:
            yield f"http://127.0.0.1:{server.server_address[1]}"
        finally:
            server.shutdown()
            thread.join()


def true_marks(photo: str, *, sd_px: float = 4.0) -> dict[str, Any]:
    """Return near side, front and landmarks of a demo picture as they truly are."""
    truth = next(one for one in TRUTH["pictures"] if one["image"] == photo)
    names = {"knuckle": "hand", "big_toe": "toe"}
    return {
        "nearSide": truth["near_side"],
        "front": truth["anterior"],
        "landmarks": {
            names.get(name, name): {
                "x_px": round(x - 0.5, 2),
                "y_px": round(y - 0.5, 2),
                "sd_px": sd_px,
                "origin": "auto",
            }
            for name, (x, y) in truth["joints_px"][truth["near_side"]].items()
        },
    }


def editor_options(photo: str) -> dict[str, Any]:
    """Return what the harness hands to the editor, its callbacks left out."""
    test_id = Path(photo).stem.partition("_")[2]
    return {
        **true_marks(photo),
        "photoUrl": f"/club/{photo}",
        "photo": {"width_px": 1600, "height_px": 1200},
        "test": battery_test_to_json(test_id, CATALOGUE.tests[test_id]),
        "words": words_to_json(CATALOGUE),
        "version": 1,
    }


def python_reading(record: dict[str, Any], test_id: str) -> Reading:
    """Return what Python measures for marks that the editor would save."""
    marks = record["landmarks"]
    test = CATALOGUE.tests[test_id]
    body = BodyPoints(
        names=tuple(marks),
        xy_px=np.array([[[mark["x_px"], mark["y_px"]] for mark in marks.values()]]),
        facing=float(facing_of(record["near_side"])),
        chord=test.chord_among(marks),
    )
    return read_body(body, np.array([mark["sd_px"] for mark in marks.values()]), test.measures)
