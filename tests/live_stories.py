"""A girl before a live camera, without networks: a watch that shows what a story says."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field

import cv2
import numpy as np

from application_doubles import PRONE
from chordline.application.live.ports import Fits, LiveBody, Lost
from chordline.conventions import LANDMARKS

WIDTH, HEIGHT = 640, 480
#: Frames of a camera that is answered at a usual pace [s].
STEP_S = 0.08


def girl(
    *,
    shoulder_px: float = 0.0,
    scale: float = 0.4,
    shift_px: tuple[float, float] = (0.0, 0.0),
    near_log_odds: float = 3.0,
) -> LiveBody:
    """The girl on her stomach; her shoulder raised by so much closes or opens it."""
    xy = np.array([PRONE[name] for name in LANDMARKS])
    xy[LANDMARKS.index("shoulder"), 1] -= shoulder_px / scale
    return LiveBody(xy * scale + shift_px, np.full(len(LANDMARKS), 1.0), near_log_odds)


def straight_girl(**how: float) -> LiveBody:
    """The girl with everything on one level line."""
    body = girl()
    xy = body.xy_px.copy()
    xy[:, 1] = 250.0
    return LiveBody(xy, body.sd_px, float(how.get("near_log_odds", 3.0)))


def upside_down(*, near_log_odds: float) -> LiveBody:
    """The straight girl on her hands."""
    lying = straight_girl().xy_px
    along = lying[:, 0] - lying[LANDMARKS.index("malleolus"), 0]
    xy = np.stack([np.full(len(along), 320.0), 60.0 - along], axis=-1)
    return LiveBody(xy, np.full(len(along), 1.0), near_log_odds)


@dataclass
class TellingWatch:
    """Shows one thing a frame, the last for ever."""

    story: list[LiveBody | Lost]
    seen: int = 0
    shapes: list[tuple[int, ...]] = field(default_factory=list)

    def see(self, rgb: np.ndarray, *, at_s: float, fits: Fits) -> LiveBody | Lost:
        shown = self.story[min(self.seen, len(self.story) - 1)]
        self.seen += 1
        self.shapes.append(rgb.shape)
        return shown


@dataclass
class TellingEye:
    """Every watch shows the same story."""

    story: list[LiveBody | Lost]
    hold: Callable[[], None] = lambda: None

    def watch(self) -> "TellingWatch":
        eye = self

        class Held(TellingWatch):
            def see(self, rgb: np.ndarray, *, at_s: float, fits: Fits) -> LiveBody | Lost:
                eye.hold()
                return super().see(rgb, at_s=at_s, fits=fits)

        return Held(list(self.story))


def frame(width: int = WIDTH, height: int = HEIGHT) -> bytes:
    """A grey frame as JPEG."""
    done, content = cv2.imencode(".jpg", np.full((height, width, 3), 120, np.uint8))
    assert done
    return content.tobytes()


def times(count: int, start_s: float = 1.0) -> Iterable[float]:
    return (start_s + i * STEP_S for i in range(count))
