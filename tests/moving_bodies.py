"""Bodies whose joints follow known courses of angles, as a noisy video shows them."""

from collections.abc import Callable

import numpy as np

from chordline.core.body.points import BodyPoints
from chordline.core.geometry.angles import Floats
from chordline.core.motion.course import Course, Footage, smooth_footage
from chordline.core.motion.shape import HoldRules, ShapeLimit
from chordline.core.motion.traces import Traces, trace_measures

NAMES = ("malleolus", "knee", "hip", "shoulder", "elbow", "wrist", "hand", "ear")
#: A child of about 1.35 m at 6 px a cm: links from the feet to the hands [px].
LINKS_PX = 6.0 * np.array([35.0, 37.0, 43.0, 22.0, 19.0, 10.0])
EAR_PX = 90.0
#: 6 px a landmark turn the hip by 3.5° from frame to frame.
SD_PX = 6.0

Angle = Callable[[Floats], Floats]

LIMITS = (
    ShapeLimit("hip_opening_deg", enter=6.0, leave=12.0, still_per_s=8.0),
    ShapeLimit("shoulder_opening_deg", enter=6.0, leave=12.0, still_per_s=8.0),
    ShapeLimit("knee_opening_deg", enter=6.0, leave=12.0, still_per_s=8.0, sense="closing"),
)
OWN_LIMITS = tuple(
    ShapeLimit(one.measure, one.enter, one.leave, one.still_per_s, one.sense, against="start")
    for one in LIMITS
)
RULES = HoldRules(settle_s=1.0, shortest_break_s=0.5, certainty=0.8, most_lost_share=0.3)
MEASURES = tuple(one.measure for one in LIMITS)


def still(value: float = 0.0) -> Angle:
    return lambda t: np.full(len(t), value)


def ramp(start_s: float, per_s: float, to: float, begin: float = 0.0) -> Angle:
    """From `begin` on a straight way to `to`, starting at `start_s`."""

    def course(t: Floats) -> Floats:
        way = np.clip((t - start_s) * abs(per_s), 0.0, abs(to - begin))
        return begin + np.sign(to - begin) * way

    return course


def even_times(seconds: float, rate_hz: float = 30.0) -> Floats:
    return np.arange(round(seconds * rate_hz)) / rate_hz


def place_joints(
    t_s: Floats,
    *,
    hip: Angle | None = None,
    shoulder: Angle | None = None,
    knee: Angle | None = None,
    turn: Angle | None = None,
    heading_deg: float = 180.0,
    foot_px: tuple[float, float] = (1_400.0, 600.0),
) -> Floats:
    """Landmarks in the picture, (n, 8, 2) [px]; the left side is near.

    `heading_deg` is where the shanks point, counter-clockwise from the right: 180 lies face down
    with the head to the left, −90 stands upside-down. `turn` is added to it.
    """
    zero = still()
    headings = np.deg2rad(heading_deg + (turn or zero)(t_s))
    bends = {2: -(hip or zero)(t_s), 3: -(shoulder or zero)(t_s), 1: (knee or zero)(t_s)}
    points = [np.zeros(len(t_s), complex)]
    for i, length in enumerate(LINKS_PX):
        if i in bends:
            headings = headings + np.deg2rad(bends[i])
        points.append(points[-1] + length * np.exp(1j * headings))
    trunk = points[3] - points[2]
    points.append(points[3] + EAR_PX * trunk / np.abs(trunk))
    whole = np.stack(points, axis=1)
    return np.stack([foot_px[0] + whole.real, foot_px[1] - whole.imag], axis=-1)


def film(
    t_s: Floats,
    xy_px: Floats,
    rng: np.random.Generator | None = None,
    *,
    sd_px: float = SD_PX,
    definition_px: float = 0.0,
) -> Footage:
    """The joints with noise that is new in each frame, and offsets that stay."""
    seen = np.array(xy_px)
    if rng is not None:
        seen += rng.normal(0.0, sd_px, seen.shape)
        seen += rng.normal(0.0, 1.0, seen.shape[1:]) * definition_px
    body = BodyPoints(NAMES, seen, 1.0)
    return Footage(body, t_s, np.full(seen.shape[:2], sd_px))


def course_of(footage: Footage, *, cutoff_hz: float = 2.0, bridge_s: float = 0.2) -> Course:
    course = smooth_footage(footage, cutoff_hz=cutoff_hz, bridge_s=bridge_s)
    assert isinstance(course, Course)
    return course


def traces_of(
    footage: Footage,
    *,
    cutoff_hz: float = 2.0,
    definition_px: float = 0.0,
    names: tuple[str, ...] = MEASURES,
) -> Traces:
    course = course_of(footage, cutoff_hz=cutoff_hz)
    return trace_measures(course, names, definition_sd_px=np.full(len(NAMES), definition_px))
