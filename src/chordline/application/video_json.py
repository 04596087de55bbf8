"""A video's measurement as a JSON object, `chordline.measurement/1`, and back.

A photo's record with `hold`, `traces`, `sway` and `video` filled in. docs/records.md describes
every key.
"""

from typing import Any

import numpy as np

from chordline.application.measurement_json import measurement_from_json, measurement_to_json
from chordline.application.video_measurement import Clip, TraceTold, VideoMeasurement
from chordline.application.video_sway import sway_from_json, sway_to_json
from chordline.core.estimate import Estimate
from chordline.core.geometry.angles import Floats
from chordline.core.motion.hold import Hold, Where

_SIDES = {1: "opening", -1: "closing"}


def video_to_json(video: VideoMeasurement) -> dict[str, Any]:
    """Return a JSON-ready dictionary."""
    clip = video.clip
    return {
        **measurement_to_json(video.measurement),
        "hold": None if video.hold is None else _hold_to_json(video.hold),
        "traces": {
            name: {
                "t_s": _numbers(trace.t_s, 3),
                "value": _numbers(trace.value, 2),
                "sd": _numbers(trace.sd, 2),
            }
            for name, trace in video.traces.items()
        },
        "sway": None if video.sway is None else sway_to_json(video.sway),
        "video": {
            "from_s": round(clip.from_s, 3),
            "to_s": round(clip.to_s, 3),
            "frames": clip.frames,
            "rate_hz": round(clip.rate_hz, 3),
            "seen_share": round(clip.seen_share, 4),
            "cutoff_hz": clip.cutoff_hz,
            "key_s": round(clip.key_s, 3),
            "arrived_s": None if clip.arrived_s is None else round(clip.arrived_s, 3),
        },
    }


def video_from_json(record: dict[str, Any]) -> VideoMeasurement:
    """Return the measurement that `video_to_json` wrote.

    Raises
    ------
    ValueError, KeyError, TypeError
        For anything that is no such record.
    """
    hold = record["hold"]
    return VideoMeasurement(
        measurement=measurement_from_json(record),
        hold=None if hold is None else _hold_from_json(hold),
        traces={
            name: TraceTold(*(_array(trace[key]) for key in ("t_s", "value", "sd")))
            for name, trace in record["traces"].items()
        },
        clip=Clip(**record["video"]),
        sway=None if record["sway"] is None else sway_from_json(record["sway"]),
    )


def _hold_to_json(hold: Hold) -> dict[str, Any]:
    return {
        "seconds": round(hold.seconds, 3),
        "sd": round(hold.sd, 3),
        "low_s": round(hold.low_s, 3),
        "high_s": None if hold.high_s is None else round(hold.high_s, 3),
        "at_least": hold.reached_cap,
        "began_at_s": round(hold.began_at_s, 3),
        "began_sd_s": round(hold.began_sd_s, 3),
        "broke_at_s": None if hold.broke_at_s is None else round(hold.broke_at_s, 3),
        "where": None if hold.where is None else _where_to_json(hold.where),
        "where_p": [
            {**_where_to_json(where), "p": round(p, 4)} for where, p in hold.where_p.items()
        ],
        "p_broken_at_end": round(hold.p_broken_at_end, 4),
        "drift_per_s": {
            name: {"value": round(slope.value, 4), "sd": round(slope.sd, 4)}
            for name, slope in hold.drift.items()
        },
        "lost_share": round(hold.lost_share, 4),
        "doubts": list(hold.doubts),
    }


def _hold_from_json(record: dict[str, Any]) -> Hold:
    return Hold(
        began_at_s=record["began_at_s"],
        began_sd_s=record["began_sd_s"],
        seconds=record["seconds"],
        sd=record["sd"],
        low_s=record["low_s"],
        high_s=record["high_s"],
        broke_at_s=record["broke_at_s"],
        where=None if record["where"] is None else _where_from_json(record["where"]),
        where_p={_where_from_json(one): one["p"] for one in record["where_p"]},
        reached_cap=record["at_least"],
        p_broken_at_end=record["p_broken_at_end"],
        drift={name: Estimate(**slope) for name, slope in record["drift_per_s"].items()},
        lost_share=record["lost_share"],
        doubts=tuple(record["doubts"]),
    )


def _where_to_json(where: Where) -> dict[str, Any]:
    return {"measure": where.measure, "side": _SIDES[where.side]}


def _where_from_json(record: dict[str, Any]) -> Where:
    return Where(record["measure"], 1 if record["side"] == "opening" else -1)


def _numbers(values: Floats, digits: int) -> list[float | None]:
    return [round(one, digits) if np.isfinite(one) else None for one in values.tolist()]


def _array(values: list[float | None]) -> Floats:
    return np.array([np.nan if one is None else one for one in values], dtype=float)
