"""Measures of one smoothed frame, with the ± of a photo that has no card."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from chordline.application.viewpoint import Scene, view_of
from chordline.catalogue.schema import Catalogue, TestEntry
from chordline.conventions import LANDMARKS, Side, facing_of
from chordline.core.body.points import BodyPoints
from chordline.core.body.reading import read_body
from chordline.core.body.systematic import (
    definition_error,
    near_side_parallax,
    pitch_error,
    yaw_error,
)
from chordline.core.estimate import Estimate
from chordline.core.geometry.angles import Floats
from chordline.core.geometry.camera import Camera
from chordline.core.geometry.plane import PlaneFrame

#: Against gravity in the picture: the camera stands level.
UP: Final = PlaneFrame.of_level_phone().up


@dataclass(frozen=True)
class LiveLine:
    """Her smoothed line in one frame.

    Attributes
    ----------
    xy_px : (10, 2) float array [px]
        Of the near side.
    sd_px : (10,) float array [px]
        Of the frame alone. Networks err alike in neighbouring frames, so it is not made smaller.
    near_side : Side
    width_px, height_px : int
        Of the frame.
    """

    xy_px: Floats
    sd_px: Floats
    near_side: Side
    width_px: int
    height_px: int


def chord_of(line: LiveLine, test: TestEntry) -> Floats:
    """Return (2, 2) ends of the chord [px]."""
    return np.stack([line.xy_px[LANDMARKS.index(name)] for name in (test.chord[0], test.chord[-1])])


def read_line(
    line: LiveLine,
    test: TestEntry,
    names: Sequence[str],
    *,
    catalogue: Catalogue,
    roll_sd_deg: float,
) -> dict[str, Estimate]:
    """Return the measures of a line, with random and systematic error in one sd.

    `roll_sd_deg` is how far from level the camera may stand; it moves what is told from gravity.
    """
    shape = BodyPoints(
        names=LANDMARKS,
        xy_px=line.xy_px[None],
        facing=float(facing_of(line.near_side)),
        chord=test.chord,
    )
    reading = read_body(shape, line.sd_px, names)
    read = reading.names
    camera = Camera.of_photo(line.width_px, line.height_px, None)
    scene = Scene(None, None, shape.frame, None, camera)
    view = view_of(scene, body_px=line.xy_px.mean(axis=0), test=test, catalogue=catalogue)
    ends = chord_of(line, test)
    chord_px = float(np.linalg.norm(ends[1] - ends[0]))
    share = catalogue.setting("auto_definition_pct") / 100.0
    known = catalogue.half_breadth
    breadths = [known[name].value if name in known else 0.0 for name in LANDMARKS]
    variance = np.diag(reading.covariance).copy()
    for error in (
        yaw_error(shape, view, read),
        pitch_error(shape, view, read),
        near_side_parallax(
            shape,
            view,
            read,
            half_breadth_m=np.array(breadths) * catalogue.setting("stature_m"),
        ),
        definition_error(shape, read, sd_px=np.full(len(LANDMARKS), share * chord_px)),
    ):
        variance += error**2
    variance += np.where([_rests_on_gravity(name) for name in read], roll_sd_deg**2, 0.0)
    sds = np.sqrt(np.clip(variance, 0.0, None)).tolist()
    values = reading.values.tolist()
    return {name: Estimate(values[i], sds[i]) for i, name in enumerate(read)}


def _rests_on_gravity(name: str) -> bool:
    return name.endswith(("_from_vertical_deg", "_above_horizontal_deg"))
