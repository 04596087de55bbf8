"""Prints what one frame of the live line costs, beside a bare pass of the network in the same run.

    python tools/bench_live.py [--frames N] [--page]

The server listens in this process on a club of its own. `--page` adds what the page itself shows,
picture taken to line drawn, in chromium on the same cores. Figures of a busy machine say little in
milliseconds; the load stands below the table, the ratios beside it.
"""

import argparse
import http.client
import json
import os
import statistics
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import cv2
import numpy as np

import chordline.demo
from chordline.adapters.decoding.live_reader import ChildFrameReader
from chordline.adapters.pose.networks import LANDMARK_SIZE
from chordline.application.live.ports import Fits, LiveBody, Lost
from chordline.application.live.session import LiveAsk, LiveSession
from chordline.bootstrap import App, usable_cores

ROOT = Path(__file__).resolve().parents[1]
sys.path[:0] = [str(ROOT / "tests"), str(ROOT / "tests" / "e2e")]
from gym_site import listening  # noqa: E402

PICTURE = Path(chordline.demo.__file__).parent / "club" / "13_prone-overhead.jpg"
TEST = "prone-overhead"
GAP_S = 0.08
Row = tuple[str, Sequence[float]]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--frames", type=int, default=120)
    parser.add_argument("--page", action="store_true", help="also the page, in chromium")
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        app = App(data=Path(folder))
        if app.live_eye is None:
            sys.exit("the pose weights are missing; 'chordline weights' installs them")
        frames = moving_frames(asked.frames)
        rows = [*part_rows(app, frames)]
        with listening(app, measure=False) as port:
            rows.append(("round trip over HTTP", round_trips(port, frames)))
            if asked.page:
                rows.append(("round trip of the page", page_trips(port)))
    bare = statistics.median(rows[0][1])
    print(f"{'':34}{'median ms':>10}{'p95 ms':>9}{'x bare pass':>13}")
    for name, times in rows:
        p95 = float(np.percentile(times, 95))
        middle = statistics.median(times)
        print(f"{name:34}{1e3 * middle:10.1f}{1e3 * p95:9.1f}{middle / bare:13.2f}")
    load = ", ".join(f"{one:.1f}" for one in os.getloadavg())
    print(f"{len(frames)} frames of 640 pixels; {usable_cores()} cores; load {load}")


def moving_frames(count: int) -> list[bytes]:
    """The demo picture as a camera on a bench sees it: it trembles by a pixel or two."""
    bgr = cv2.imread(str(PICTURE))
    small = cv2.resize(bgr, (640, 480), interpolation=cv2.INTER_AREA)
    frames = []
    for i in range(count):
        shift = np.array([[1.0, 0.0, 2.0 * np.sin(0.7 * i)], [0.0, 1.0, np.cos(0.9 * i)]])
        moved = cv2.warpAffine(small, shift, (640, 480), borderMode=cv2.BORDER_REPLICATE)
        frames.append(cv2.imencode(".jpg", moved, [cv2.IMWRITE_JPEG_QUALITY, 75])[1].tobytes())
    return frames


def timed(work: Callable[[], object]) -> float:
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


class Timing:
    """A watch that notes how long another one takes."""

    def __init__(self, watch: Any) -> None:
        self.watch = watch
        self.times: list[float] = []

    def see(self, rgb: Any, *, at_s: float, fits: Fits) -> LiveBody | Lost:
        start = time.perf_counter()
        try:
            seen: LiveBody | Lost = self.watch.see(rgb, at_s=at_s, fits=fits)
            return seen
        finally:
            self.times.append(time.perf_counter() - start)


def anybody(_: object) -> bool:
    return True


def part_rows(app: App, frames: list[bytes]) -> list[Row]:
    eye: Any = app.live_eye
    reader = ChildFrameReader(most_bytes=600_000, most_px=1_500_000)
    reader.read_frame(frames[0])  # its process is up from here on
    watch = Timing(eye.watch())
    session = LiveSession(watch, app.default_catalogue, app.live_catalogue)
    cut = np.zeros((LANDMARK_SIZE, LANDMARK_SIZE, 3), np.uint8)
    nobody = np.full((480, 640, 3), 180, np.uint8)
    alone = eye.watch()
    bare, decode, whole, empty = [], [], [], []
    for i, content in enumerate(frames):
        bare.append(timed(lambda: eye.network.locate(cut)))
        decode.append(timed(lambda content=content: reader.read_frame(content)))
        rgb = reader.read_frame(content)
        ask = LiveAsk(1.0 + i * GAP_S, TEST)
        whole.append(timed(lambda rgb=rgb, ask=ask: session.take(rgb, ask)))
        at_s = 1.0 + i * GAP_S
        empty.append(timed(lambda at_s=at_s: alone.see(nobody, at_s=at_s, fits=anybody)))
    measures = [all_s - seen_s for all_s, seen_s in zip(whole, watch.times, strict=True)]
    # The first frames search for her.
    return [
        ("bare pass of the landmark network", bare[5:]),
        ("unpack the JPEG", decode[5:]),
        ("find her landmarks", watch.times[5:]),
        ("measures with their ±, words, tone", measures[5:]),
        ("a frame with nobody (search)", empty[5:]),
    ]


def round_trips(port: int, frames: list[bytes]) -> list[float]:
    connection = http.client.HTTPConnection("127.0.0.1", port)
    connection.request("POST", "/api/live")
    name = json.loads(connection.getresponse().read())["session"]
    times = []
    for i, content in enumerate(frames):
        start = time.perf_counter()
        path = f"/api/live/{name}?at_ms={1000 + 1000 * GAP_S * i:.0f}&test={TEST}"
        connection.request("POST", path, body=content, headers={"Content-Type": "image/jpeg"})
        answer = connection.getresponse()
        told = json.loads(answer.read())
        times.append(time.perf_counter() - start)
        if answer.status != 200:
            sys.exit(told["detail"])
    if not told["measures"]:
        sys.exit(f"the line was not told: {told['headline']}")
    connection.close()
    return times[5:]


def page_trips(port: int) -> list[float]:
    from fake_camera import club_scene, launched_with_camera, write_y4m  # noqa: PLC0415
    from playwright.sync_api import sync_playwright  # noqa: PLC0415

    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        film = Path(folder) / "girl.y4m"
        write_y4m(film, [(club_scene(PICTURE), 3.0)])
        with launched_with_camera(playwright, film) as browser:
            page = browser.new_context(permissions=["camera"]).new_page()
            page.goto(f"http://127.0.0.1:{port}/live?test={TEST}")
            page.locator("[data-tap]").click()
            page.locator(".body-line").wait_for(state="attached", timeout=60_000)
            times = []
            for _ in range(20):
                page.wait_for_timeout(500)
                words = page.locator("[data-pace]").inner_text().split()
                if words[1:2] == ["ms"]:
                    times.append(int(words[0]) / 1e3)
            return times


if __name__ == "__main__":
    main()
