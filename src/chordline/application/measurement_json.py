"""The measurement as a JSON object, `chordline.measurement/1`, and back.

docs/records.md describes every key.
"""

from typing import Any

import numpy as np

from chordline.core.body.measurement import (
    CardView,
    Mark,
    Measure,
    Measurement,
    Scale,
    Trust,
)
from chordline.core.estimate import Estimate

SCHEMA = "chordline.measurement/1"

_CARD_ESTIMATES = ("roll_deg", "yaw_deg", "distance_m", "phone_height_m")


def measurement_to_json(measurement: Measurement) -> dict[str, Any]:
    """Return a JSON-ready dictionary."""
    m = measurement
    return {
        "schema": SCHEMA,
        "photo": m.photo,
        "test": m.test,
        "near_side": m.near_side,
        "front": m.front,
        "front_origin": m.front_origin,
        "image": {"width_px": m.width_px, "height_px": m.height_px, "sha256": m.sha256},
        "card": None if m.card is None else _card_to_json(m.card),
        "scale": None
        if m.scale is None
        else {
            "m_per_px": m.scale.m_per_px,
            "sd_rel": round(m.scale.sd_rel, 5),
            "origin": m.scale.origin,
        },
        "landmarks": {
            name: {
                "x_px": round(mark.x_px, 2),
                "y_px": round(mark.y_px, 2),
                "sd_px": round(mark.sd_px, 2),
                "origin": mark.origin,
            }
            for name, mark in m.landmarks.items()
        },
        "measures": {
            name: {
                "value": round(measure.value, 3),
                "sd": round(measure.sd, 3),
                "unit": measure.unit,
                "systematic": {term: round(sd, 3) for term, sd in measure.systematic.items()},
            }
            for name, measure in m.measures.items()
        },
        "covariance": [[float(f"{value:.6g}") for value in row] for row in m.covariance],
        "hold": None,
        "traces": None,
        "trust": {"accepted": m.trust.accepted, "reasons": list(m.trust.reasons)},
        "cautions": list(m.cautions),
        "model": m.model,
    }


def _card_to_json(card: CardView) -> dict[str, Any]:
    record: dict[str, Any] = {
        "id": card.id,
        "side_m": card.side_m,
        "corners_px": [[round(x, 2), round(y, 2)] for x, y in card.corners_px.tolist()],
    }
    for name in _CARD_ESTIMATES:
        estimate: Estimate = getattr(card, name)
        record[name] = {"value": round(estimate.value, 3), "sd": round(estimate.sd, 3)}
    return record


def measurement_from_json(record: dict[str, Any]) -> Measurement:
    """Return the measurement that `measurement_to_json` wrote.

    Raises
    ------
    ValueError, KeyError, TypeError
        For anything that is no such record.
    """
    if record["schema"] != SCHEMA:
        raise ValueError(f"schema is {record['schema']!r}, not {SCHEMA!r}")
    card, scale = record["card"], record["scale"]
    return Measurement(
        photo=record["photo"],
        test=record["test"],
        near_side=record["near_side"],
        front=record["front"],
        front_origin=record["front_origin"],
        width_px=record["image"]["width_px"],
        height_px=record["image"]["height_px"],
        sha256=record["image"]["sha256"],
        card=None
        if card is None
        else CardView(
            id=card["id"],
            side_m=card["side_m"],
            corners_px=np.array(card["corners_px"], dtype=float),
            **{name: Estimate(**card[name]) for name in _CARD_ESTIMATES},
        ),
        scale=None if scale is None else Scale(**scale),
        landmarks={name: Mark(**mark) for name, mark in record["landmarks"].items()},
        measures={name: Measure(**measure) for name, measure in record["measures"].items()},
        covariance=np.array(record["covariance"], dtype=float),
        trust=Trust(record["trust"]["accepted"], tuple(record["trust"]["reasons"])),
        cautions=tuple(record["cautions"]),
        model=record["model"],
    )
