"""Sheets of invented gymnasts, for tests of drawing and printing.

The places of the landmarks are the known truth of rendered pictures; `squad.json` holds them.
"""

import io
import json
import math
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
from PIL import Image

from chordline.application.sheet import GymnastSheet, MeasureLine, SheetPhoto
from chordline.core.body.measurement import CardView, Mark, Measure, Measurement, Scale, Trust
from chordline.core.body.verdict import Verdict, judge
from chordline.core.estimate import Estimate

WIDTH_PX, HEIGHT_PX = 1600, 1200

BATTERY = {
    "prone-sides": (
        "On the stomach, arms beside the body",
        "Do the hips reach the floor?",
    ),
    "prone-overhead": (
        "On the stomach, arms over the ears",
        "Does the shape change when the arms come over the ears?",
    ),
    "prone-raised": (
        "On the stomach, arms lifted for her",
        "How far the shoulders open when someone else lifts the arms, and what the body does then.",
    ),
    "prone-active": (
        "On the stomach, she lifts the arms",
        "How far she opens the shoulders by herself, and whether body or legs help.",
    ),
    "supine-sides": (
        "On the back, arms beside the body",
        "How hollow the lower back lies, and how far the hips open.",
    ),
    "supine-overhead": (
        "On the back, arms over the ears",
        "Do the ribs lift when the arms come over the ears?",
    ),
    "handstand": (
        "Handstand",
        "The line from the ankles to the hands, and how tall she pushes.",
    ),
    "dish-overhead": (
        "Dish, arms over the ears",
        "The shape of the backward giant's rise.",
    ),
}

CAUTIONS = {
    "handstand": "Spotter beside her, mats around. Stop at wrist pain.",
    "prone-raised": "Lift the arms slowly and only as far as they go by themselves; never force.",
}

CARE = (
    "Not a medical device. Pain, numbness, one-sided change, back pain on arching or wrist pain: "
    "stop, and refer to a licensed clinician.",
    "Hands-on help by trained coaches, with mats and spotters. Local safeguarding rules come "
    "first.",
)


@cache
def squad() -> dict[str, dict[str, Any]]:
    """Every picture of the squad: file name to its truth."""
    path = Path(__file__).with_name("squad.json")
    read: dict[str, dict[str, Any]] = json.loads(path.read_text(encoding="utf-8"))
    return read


@cache
def plain_jpeg(width_px: int = WIDTH_PX, height_px: int = HEIGHT_PX) -> bytes:
    """A picture of nothing."""
    out = io.BytesIO()
    Image.new("RGB", (width_px, height_px), (90, 120, 160)).save(out, "JPEG", quality=50)
    return out.getvalue()


def chord_of(test: str) -> tuple[str, ...]:
    legs = ("malleolus", "knee", "hip", "shoulder")
    return legs if test.endswith("sides") else (*legs, "hand")


def measurement_of(name: str, *, sd_px: float = 4.0, trust: Trust | None = None) -> Measurement:
    truth = squad()[name]
    corners = np.array(truth["card_corners_px"])
    openings = {joint: value - 180.0 for joint, value in truth["signed_deg"].items()}
    if truth["test"].endswith("sides"):
        del openings["shoulder"]
    measures = {
        f"{joint}_opening_deg": Measure(
            value, 1.4, "deg", {"yaw": 0.4, "near_side_parallax": 1.0, "landmark_definition": 1.5}
        )
        for joint, value in openings.items()
    }
    return Measurement(
        photo=name,
        test=truth["test"],
        near_side=truth["near_side"],
        front=truth["front"],
        front_origin="card",
        width_px=WIDTH_PX,
        height_px=HEIGHT_PX,
        sha256="0" * 64,
        card=CardView(
            id=truth["card"],
            corners_px=corners,
            side_m=0.16,
            roll_deg=Estimate(0.0, 0.2),
            yaw_deg=Estimate(0.0, 6.0),
            distance_m=Estimate(3.0, 0.1),
            phone_height_m=Estimate(0.4, 0.05),
        ),
        scale=Scale(0.0018, 0.01, "card"),
        landmarks={
            key: Mark(x_px=x, y_px=y, sd_px=sd_px, origin="auto")
            for key, (x, y) in truth["xy_px"].items()
        },
        measures=measures,
        covariance=np.eye(len(measures)),
        trust=trust or Trust(accepted=True),
        cautions=(),
        model="invented",
    )


def lines_of(measurement: Measurement, bow_pct: float) -> tuple[MeasureLine, ...]:
    reason = (
        "Half of the ± comes from where the joint's centre lies under the skin, "
        "the rest from the camera's angle."
    )
    lines = [
        MeasureLine(
            name="bow_max_pct",
            label="Bow",
            verdict=judge(bow_pct, sd=0.9, sense="both", on_line=2.0, close=5.0, certainty=0.6),
            words=f"{abs(bow_pct):.1f} % of her line away from it",
            value=bow_pct,
            plus_minus=1.76,
            unit="pct",
            reason="From the marks' own error, about 4 px each.",
        )
    ]
    for joint, label in (("shoulder", "Shoulders"), ("hip", "Hips"), ("knee", "Knees")):
        measure = measurement.measures.get(f"{joint}_opening_deg")
        if measure is None:
            continue
        closed = round(-measure.value)
        if closed > 0:
            words = f"{'bent' if joint == 'knee' else 'closed'} by {closed}°"
        else:
            words = f"open {-closed}° beyond straight" if closed else "straight"
        lines.append(
            MeasureLine(
                name=f"{joint}_opening_deg",
                label=label,
                verdict=judge(
                    measure.value,
                    sd=measure.total_sd,
                    sense="both" if joint == "hip" else "closing",
                    on_line=5.0,
                    close=12.0,
                    certainty=0.6,
                ),
                words=words,
                value=measure.value,
                plus_minus=1.96 * measure.total_sd,
                unit="deg",
                reason=reason,
            )
        )
    lines.append(
        MeasureLine(
            name="hip_height_cm",
            label="Hips above the floor",
            verdict=None,
            words="9.4 cm above the floor",
            value=9.4,
            plus_minus=1.2,
            unit="cm",
            reason="The scale comes from the card.",
        )
    )
    return tuple(lines)


def photo_of(
    name: str, *, jpeg: bytes | None = None, trust: Trust | None = None, sd_px: float = 4.0
) -> SheetPhoto:
    measurement = measurement_of(name, trust=trust, sd_px=sd_px)
    chord = chord_of(measurement.test)
    title, reads = BATTERY[measurement.test]
    bow = _greatest_bow(measurement, chord)
    lines = lines_of(measurement, bow)
    worst = max(lines[1:-1], key=lambda line: -line.value)
    short = [line for line in lines if line.verdict is Verdict.SHORT]
    headline = f"{worst.label} {worst.words}" if short else "The body lies close to its line"
    return SheetPhoto(
        title=title,
        reads=reads,
        headline=headline,
        jpeg=jpeg if jpeg is not None else plain_jpeg(),
        jpeg_width_px=WIDTH_PX,
        jpeg_height_px=HEIGHT_PX,
        measurement=measurement,
        chord=chord,
        lines=lines,
        front=measurement.front,
        caution=CAUTIONS.get(measurement.test, ""),
    )


def sheet_of(
    card: int, *, gymnast: str = "Mira Example", pictures: dict[str, bytes] | None = None
) -> GymnastSheet:
    given = pictures or {}
    return GymnastSheet(
        gymnast=gymnast,
        card=card,
        screened_on="14 March 2025",
        photos=tuple(
            photo_of(name, jpeg=given.get(name)) for name in (f"{card}_{t}.jpg" for t in BATTERY)
        ),
        left_out=(
            "IMG_0412.jpg: no body was found; step nearer, she fills a third of the picture",
        ),
        care=CARE,
    )


def _greatest_bow(measurement: Measurement, chord: tuple[str, ...]) -> float:
    marks = [measurement.landmarks[name] for name in chord]
    first, last = marks[0], marks[-1]
    dx, dy = last.x_px - first.x_px, last.y_px - first.y_px
    facing = 1 if measurement.near_side == "left" else -1
    bows = [
        facing
        * 100.0
        * ((m.x_px - first.x_px) * dy - (m.y_px - first.y_px) * dx)
        / math.hypot(dx, dy) ** 2
        for m in marks
    ]
    return max(bows, key=abs)
