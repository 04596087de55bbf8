"""A camera made of pictures: a file that chromium plays instead of a device, over and over."""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import cv2
import numpy as np
from editor_pages import CHROMIUM, CHROMIUM_ARGS, missing_browser
from PIL import Image

WIDTH, HEIGHT = 640, 480
RATE = 10


def club_scene(path: Path) -> np.ndarray:
    """A picture of the demo club as the camera would show it."""
    picture = Image.open(path).convert("RGB").resize((WIDTH, HEIGHT), Image.Resampling.LANCZOS)
    return np.asarray(picture)


def empty_mat() -> np.ndarray:
    return np.full((HEIGHT, WIDTH, 3), (196, 188, 170), np.uint8)


def write_y4m(path: Path, scenes: Sequence[tuple[np.ndarray, float]]) -> None:
    """Write (h, w, 3) RGB pictures with their seconds as YUV4MPEG2, 4:2:0."""
    with path.open("wb") as file:
        file.write(f"YUV4MPEG2 W{WIDTH} H{HEIGHT} F{RATE}:1 Ip A1:1 C420jpeg\n".encode())
        for rgb, seconds in scenes:
            planes = cv2.cvtColor(rgb, cv2.COLOR_RGB2YUV_I420).tobytes()
            for _ in range(round(seconds * RATE)):
                file.write(b"FRAME\n" + planes)


@contextmanager
def launched_with_camera(playwright: Any, film: Path | None) -> Iterator[Any]:
    """Yield a browser whose camera plays a film, or, without one, a browser without a camera."""
    if not CHROMIUM.is_file():
        missing_browser(f"{CHROMIUM} is not installed")
    args = [*CHROMIUM_ARGS]
    if film is not None:
        args += ["--use-fake-device-for-media-stream", f"--use-file-for-fake-video-capture={film}"]
    browser = playwright.chromium.launch(executable_path=str(CHROMIUM), args=args)
    try:
        yield browser
    finally:
        browser.close()
