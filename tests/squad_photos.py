"""The demo squad's photos as hand marks: true near-side joints, moved by a few pixels.

Joints come from `tests/data/squad_truth.json` (rendered children). A seam is not rendered; it is
built here as an arc from a tenth of the trunk above the hip to a tenth below the shoulder that
turns as far as a story says.
"""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np

from application_doubles import FakeReader
from chordline.application.marks import HandMarks
from chordline.application.measure_photo import MeasurePhoto, MeasureRequest
from chordline.application.ports import DetectedCard
from chordline.catalogue.loader import load_catalogue
from chordline.core.body.measurement import Mark, Measurement

TRUTH = Path(__file__).parent / "data" / "squad_truth.json"
#: Names of the rendered joints that differ from ours.
OURS = {"knuckle": "hand", "big_toe": "toe"}
FRONTS = {"up": (0.0, -1.0), "down": (0.0, 1.0), "left": (-1.0, 0.0), "right": (1.0, 0.0)}
SEAM_MARKS = 9
CATALOGUE = load_catalogue()


@cache
def _pictures() -> tuple[dict[str, Any], ...]:
    return tuple(json.loads(TRUTH.read_text(encoding="utf-8"))["pictures"])


@dataclass(frozen=True)
class TrueCard:
    """The card of one picture, where it truly stands."""

    marker: Mapping[str, Any]

    def read(self, rgb: np.ndarray) -> tuple[DetectedCard, ...]:
        corners = np.array(self.marker["corners_px"]) - 0.5
        return (DetectedCard(self.marker["id"], (corners + 0.5) / 4.0 - 0.5),)


def photos_of(
    gymnast: int,
    *,
    seed: int,
    tests: tuple[str, ...] | None = None,
    mark_sd_px: float = 3.0,
    seam_turn_deg: Mapping[str, float] | None = None,
    seam_sd_px: float = 2.0,
) -> tuple[Measurement, ...]:
    """Return the measurements of one gymnast's tests.

    Parameters
    ----------
    gymnast : int
        11 to 16.
    seed : int
    tests : tuple of str, optional
        Which of her eight tests; all of them if unset.
    mark_sd_px, seam_sd_px : float [px]
        How far marks are moved along each axis; also told as their error.
    seam_turn_deg : mapping of test to degrees
        Tests on whose photo a seam is marked, and how far it turns, hollow positive.
    """
    rng = np.random.default_rng([gymnast, seed])
    measurements = []
    for picture in _pictures():
        if picture["gymnast"] != gymnast or picture["test"] not in (tests or (picture["test"],)):
            continue
        joints = {
            OURS.get(name, name): np.array(at) - 0.5
            for name, at in picture["joints_px"][picture["near_side"]].items()
        }
        marks = {
            name: _mark(at + rng.normal(0.0, mark_sd_px, 2), mark_sd_px)
            for name, at in joints.items()
        }
        turn = (seam_turn_deg or {}).get(picture["test"])
        if turn is not None:
            front = np.array(FRONTS[picture["anterior"]])
            for number, at in enumerate(_seam(joints["hip"], joints["shoulder"], front, turn), 1):
                marks[f"seam_{number}"] = _mark(at + rng.normal(0.0, seam_sd_px, 2), seam_sd_px)
        hand = HandMarks(picture["near_side"], picture["anterior"], marks)
        request = MeasureRequest(picture["test"], marks=hand)
        measure = MeasurePhoto(FakeReader(), TrueCard(picture["marker"]), None, CATALOGUE)
        measurements.append(measure(Path(picture["image"]), request))
    return tuple(measurements)


def _mark(at: np.ndarray, sd_px: float) -> Mark:
    return Mark(float(at[0]), float(at[1]), sd_px, "hand")


def _seam(hip: np.ndarray, shoulder: np.ndarray, front: np.ndarray, turn: float) -> np.ndarray:
    low, high = hip + 0.1 * (shoulder - hip), hip + 0.9 * (shoulder - hip)
    along = high - low
    forward = front - (front @ along) / (along @ along) * along
    forward /= np.linalg.norm(forward)
    half = np.deg2rad(turn) / 2.0
    radius = np.linalg.norm(along) / 2.0 / np.sin(half)
    angles = np.linspace(-half, half, SEAM_MARKS)[:, None]
    middle = (low + high) / 2.0
    across = radius * (np.cos(angles) - np.cos(half))
    return middle + radius * np.sin(angles) * along / np.linalg.norm(along) + across * forward
