"""The forecast as a JSON object, and back. docs/records.md describes every key."""

from collections.abc import Mapping
from typing import Any

from chordline.application.forecast.told import Gain, LineForecast, Outline
from chordline.core.estimate import Estimate


def forecast_to_json(forecast: LineForecast | None) -> dict[str, Any] | None:
    """Return a JSON-ready dictionary; None where there is no forecast."""
    f = forecast
    if f is None:
        return None
    return {
        "bow_max_pct": _estimate(f.bow_max_pct),
        "lean_deg": _estimate(f.lean_deg),
        "openings_deg": {name: _estimate(one) for name, one in f.openings_deg.items()},
        "p_within_10deg": round(f.p_within_10deg, 4),
        "p_straight": round(f.p_straight, 4),
        "p_arrived": round(f.p_arrived, 4),
        "straight_within_pct": f.straight_within_pct,
        "stopped_by": f.stopped_by,
        "stopped_share": round(f.stopped_share, 4),
        "payoffs": {
            name: {"value": round(one.value, 5), "sd": round(one.sd, 5)}
            for name, one in f.payoffs.items()
        },
        "line": _outline(f.line),
        "best": None
        if f.best is None
        else {
            "capacity": f.best.capacity,
            "by": f.best.by,
            "straightened_pct": _estimate(f.best.straightened_pct),
            "bow_max_pct": _estimate(f.best.bow_max_pct),
            "line": _outline(f.best.line),
        },
        "draws": f.draws,
        "table": f.table,
        "segments": f.version,
    }


def forecast_from_json(record: Mapping[str, Any] | None) -> LineForecast | None:
    """Return the forecast that `forecast_to_json` wrote.

    Raises
    ------
    KeyError, TypeError
        For anything that is no such record.
    """
    if record is None:
        return None
    best = record["best"]
    return LineForecast(
        bow_max_pct=_read(record["bow_max_pct"]),
        lean_deg=_read(record["lean_deg"]),
        openings_deg={name: _read(one) for name, one in record["openings_deg"].items()},
        p_within_10deg=record["p_within_10deg"],
        p_straight=record["p_straight"],
        p_arrived=record["p_arrived"],
        straight_within_pct=record["straight_within_pct"],
        stopped_by=record["stopped_by"],
        stopped_share=record["stopped_share"],
        payoffs={name: Estimate(**one) for name, one in record["payoffs"].items()},
        line=_points(record["line"]),
        best=None
        if best is None
        else Gain(
            capacity=best["capacity"],
            by=best["by"],
            straightened_pct=_read(best["straightened_pct"]),
            bow_max_pct=_read(best["bow_max_pct"]),
            line=_points(best["line"]),
        ),
        draws=record["draws"],
        version=record["segments"],
        table=record["table"],
    )


def _estimate(one: Estimate) -> dict[str, float]:
    return {"mean": round(one.value, 3), "sd": round(one.sd, 3)}


def _read(one: Mapping[str, float]) -> Estimate:
    return Estimate(one["mean"], one["sd"])


def _outline(line: Outline) -> list[list[float]]:
    return [[round(x, 2), round(y, 2)] for x, y in line]


def _points(line: list[list[float]]) -> Outline:
    return tuple((float(x), float(y)) for x, y in line)
