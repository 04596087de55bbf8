"""Writes tests/data/measure_vectors.json: bodies with their measures as Python computes them.

    python tools/write_vectors.py

The mark editor computes the same measures in the browser; a test holds it to these numbers.

`sd` is what Python prints. Where that comes from 8192 sampled points it carries a sampling error of
its own, a few percent where a rare sign decides; `sd_fine` is the same moment from a much larger
low-discrepancy set, to tell whose error a difference is.
"""

import json
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri
from scipy.stats import qmc

from chordline.adapters.printing.words import with_error
from chordline.application.mark_editor_json import (
    battery_test_to_json,
    frame_to_json,
    view_to_json,
    words_to_json,
)
from chordline.application.wording import describe_measure, headline_of
from chordline.catalogue.loader import load_catalogue
from chordline.catalogue.schema import Catalogue, TestEntry
from chordline.conventions import SIDES, Side, facing_of
from chordline.core.body.measurement import Measure
from chordline.core.body.measures import DERIVED, MEASURES, compute_measures, unit_of
from chordline.core.body.orientation import front_word
from chordline.core.body.points import BodyPoints
from chordline.core.body.reading import Reading, read_body
from chordline.core.body.systematic import (
    Viewpoint,
    definition_error,
    near_side_parallax,
    pitch_error,
    yaw_error,
)
from chordline.core.estimate import Estimate
from chordline.core.geometry.plane import PlaneFrame

PATH = Path(__file__).resolve().parents[1] / "tests" / "data" / "measure_vectors.json"
SCHEMA = "chordline.measure-vectors/1"
_SEED = 11
#: Segment lengths in shares of stature: shank, thigh, trunk, upper arm, forearm, hand.
_SHARES = (0.23, 0.24, 0.29, 0.16, 0.14, 0.05)
_PATH = ("malleolus", "knee", "hip", "shoulder", "elbow", "wrist", "hand")
#: Points behind `sd_fine`, as powers of two: of the bows, and of the places along a curve.
_FINE_BOWS, _FINE_CURVE = 19, 15
#: What may be missing from a body; malleolus, hip and shoulder stay.
_MAY_MISS = ("knee", "elbow", "wrist", "hand", "ear", "heel", "toe")

Floats = NDArray[np.float64]


def build_vectors(*, fine: bool = True) -> dict[str, Any]:
    """Return the whole file as a dictionary; without `sd_fine` in a moment."""
    catalogue = load_catalogue()
    rng = np.random.default_rng(_SEED)
    cases = [
        _case(rng, catalogue, test_id=test_id, near_side=side, variant=variant, fine=fine)
        for test_id in catalogue.tests
        for side in SIDES
        for variant in ("whole", "gaps")
    ]
    tests = {name: battery_test_to_json(name, test) for name, test in catalogue.tests.items()}
    return {"schema": SCHEMA, "words": words_to_json(catalogue), "tests": tests, "cases": cases}


def _case(
    rng: np.random.Generator,
    catalogue: Catalogue,
    *,
    test_id: str,
    near_side: Side,
    variant: str,
    fine: bool,
) -> dict[str, Any]:
    test = catalogue.tests[test_id]
    marks = _random_marks(rng, straight=bool(rng.random() < 0.3))
    if variant == "gaps":
        for name in rng.choice(_MAY_MISS, size=3, replace=False):
            marks.pop(str(name))
    points = {name: (round(float(x), 2), round(float(y), 2)) for name, (x, y) in marks.items()}
    sd_px = {
        name: round(float(rng.uniform(1.0, 3.0 if "_" in name else 7.0)), 2) for name in points
    }
    roll = rng.normal(0.0, 0.02)
    frame = PlaneFrame(
        up=np.array([np.sin(roll), -np.cos(roll)]),
        m_per_px=round(float(rng.uniform(0.001, 0.002)), 6),
        floor_px=np.round(rng.uniform((0, 800), (1600, 1100)), 1),
    )
    body = BodyPoints(
        names=tuple(points),
        xy_px=np.array([list(points.values())]),
        facing=float(facing_of(near_side)),
        chord=test.chord_among(points),
        frame=frame,
    )
    sds = np.array(list(sd_px.values()))
    reading = read_body(body, sds, test.measures)
    fine_sd = _fine_sds(body, sds, reading.names) if fine else {}
    view = Viewpoint(
        yaw_rad=Estimate(round(float(rng.normal(0.0, 0.05)), 4), 0.05),
        pitch_rad=Estimate(round(float(rng.normal(0.0, 0.05)), 4), 0.04),
        ahead_px=np.round(rng.uniform((600, 300), (1000, 900)), 1),
        ahead_sd_px=round(float(rng.uniform(0.0, 200.0)), 1),
        distance_m=3.0,
    )
    systematic = _systematic(body, view, reading.names, catalogue)
    facing = body.facing
    cranial = body.get("shoulder")[0] - body.get("hip")[0]
    return {
        "test": test_id,
        "near_side": near_side,
        "facing": facing,
        "front": front_word(cranial, near_side),
        "frame": frame_to_json(frame),
        "view": view_to_json(view, catalogue),
        "landmarks": {
            name: {"x_px": x, "y_px": y, "sd_px": sd_px[name]} for name, (x, y) in points.items()
        },
        "measures": {
            name: {
                "value": float(f"{reading.values[i]:.12g}"),
                "sd": float(f"{reading.sd[name]:.6g}"),
                **({"sd_fine": float(f"{fine_sd[name]:.5g}")} if name in fine_sd else {}),
                "systematic": {k: float(f"{v[i]:.9g}") for k, v in systematic.items()},
            }
            for i, name in enumerate(reading.names)
        },
        **_words(reading, systematic, test, catalogue),
    }


def _random_marks(rng: np.random.Generator, *, straight: bool) -> dict[str, Floats]:
    """Return a body somewhere in the picture; `straight` ones bow within their errors."""
    stature_px = rng.uniform(500.0, 1100.0)
    heading = rng.uniform(0.0, 2.0 * np.pi)
    spread = np.deg2rad(1.0 if straight else 14.0)
    at = rng.uniform((500.0, 400.0), (1100.0, 800.0))
    marks: dict[str, Floats] = {_PATH[0]: at}
    for name, share in zip(_PATH[1:], _SHARES, strict=True):
        step = stature_px * share * rng.uniform(0.9, 1.1)
        at = at + step * np.array([np.cos(heading), np.sin(heading)])
        marks[name] = at
        heading += rng.normal(0.0, spread)
    trunk = marks["shoulder"] - marks["hip"]
    across = np.array([-trunk[1], trunk[0]])
    marks["ear"] = marks["shoulder"] + rng.uniform(0.2, 0.5) * trunk + rng.normal(0, 0.12) * across
    marks["heel"] = marks["malleolus"] + rng.normal(0.0, 20.0, 2)
    marks["toe"] = marks["malleolus"] + rng.normal(0.0, 45.0, 2)
    for curve in ("back", "seam", "belly"):
        count = int(rng.integers(4, 9))
        t = np.linspace(0.0, 1.0, count)[:, None]
        bulge = rng.normal(0.0, 0.08) * 4.0 * t * (1.0 - t) + rng.normal(0.0, 0.2)
        row = marks["hip"] + t * trunk + bulge * across + rng.normal(0.0, 1.5, (count, 2))
        marks |= {f"{curve}_{i + 1}": point for i, point in enumerate(row)}
    return marks


def _systematic(
    body: BodyPoints, view: Viewpoint, names: tuple[str, ...], catalogue: Catalogue
) -> dict[str, Floats]:
    breadths = view_to_json(view, catalogue)["half_breadth_m"]
    chord_px = float(np.linalg.norm(body.get(body.chord[-1]) - body.get(body.chord[0])))
    if not np.isfinite(chord_px):
        chord_px = 0.0
    joints = np.array(["_" not in name for name in body.names])
    share = catalogue.setting("hand_definition_pct") / 100.0
    return {
        "yaw": yaw_error(body, view, names),
        "pitch": pitch_error(body, view, names),
        "near_side_parallax": near_side_parallax(
            body,
            view,
            names,
            half_breadth_m=np.array([breadths.get(name, 0.0) for name in body.names]),
        ),
        "landmark_definition": definition_error(
            body, names, sd_px=np.where(joints, share * chord_px, 0.0)
        ),
    }


def _fine_sds(body: BodyPoints, sd_px: Floats, names: tuple[str, ...]) -> dict[str, float]:
    """Return the sd of each sampled measure from a large low-discrepancy set."""
    found: dict[str, float] = {}
    for name in names:
        if name in DERIVED:
            parents = read_body(body, sd_px, DERIVED[name].of)
            values, vectors = np.linalg.eigh(parents.covariance)
            root = vectors * np.sqrt(np.clip(values, 0.0, None))
            normal = _normal(len(values), _FINE_BOWS)
            out = DERIVED[name].compute(parents.values + normal @ root.T)
        elif not MEASURES[name].straight:
            moved = _moved_by(body, name)
            normal = _normal(2 * len(moved), _FINE_CURVE).reshape(-1, len(moved), 2)
            xy = np.repeat(body.xy_px, len(normal), axis=0)
            xy[:, moved] += normal * sd_px[moved][:, None]
            out = compute_measures(body.with_xy(xy), (name,))[:, 0]
        else:
            continue
        found[name] = float(np.std(out))
    return found


def _normal(dimension: int, power: int) -> Floats:
    uniform = qmc.Sobol(dimension, seed=_SEED).random_base2(power)
    return np.asarray(ndtri(uniform))


def _moved_by(body: BodyPoints, measure: str) -> list[int]:
    """Return which points a measure rests on."""
    home = compute_measures(body, (measure,))
    moved = []
    for i in range(len(body.names)):
        xy = body.xy_px.copy()
        xy[0, i] += (3.0, 2.0)
        if (compute_measures(body.with_xy(xy), (measure,)) != home).any():
            moved.append(i)
    return moved


def _words(
    reading: Reading, systematic: dict[str, Floats], test: TestEntry, catalogue: Catalogue
) -> dict[str, Any]:
    """Return what a sheet would say of the measures."""
    lines = tuple(
        describe_measure(
            name,
            Measure(
                value=float(reading.values[i]),
                sd=reading.sd[name],
                unit=unit_of(name),
                systematic={term: float(sds[i]) for term, sds in systematic.items()},
            ),
            test=test,
            catalogue=catalogue,
        )
        for i, name in enumerate(reading.names)
    )
    return {
        "headline": headline_of(lines, accepted=True),
        "lines": {
            line.name: {
                "label": line.label,
                "words": line.words,
                "verdict": None if line.verdict is None else line.verdict.value,
                "number": with_error(line.value, line.plus_minus, line.unit),
            }
            for line in lines
        },
    }


def main() -> None:
    """Write the file."""
    PATH.write_text(json.dumps(build_vectors(), indent=None, separators=(",", ":")) + "\n", "utf-8")
    print(f"{PATH.name}: {PATH.stat().st_size / 1000:.0f} kB")


if __name__ == "__main__":
    main()
