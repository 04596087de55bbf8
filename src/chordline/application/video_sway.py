"""How quietly she stood in a hold on her hands, from its landmarks."""

from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from chordline.catalogue.motion import MotionCatalogue
from chordline.catalogue.segments_schema import SegmentCatalogue
from chordline.core.estimate import Estimate
from chordline.core.mechanics.lengths import lengths_of_stature
from chordline.core.motion.course import Course, Footage, smooth_footage
from chordline.core.motion.hold import Hold
from chordline.core.motion.sway import (
    Path,
    Sway,
    mass_centre_of,
    measure_sway,
    trace_point,
)
from chordline.core.motion.untold import Untold

#: Body length from hand to malleolus upside-down as a share of stature: arms overhead, feet
#: pointed (assumption; only where a landmark was never seen).
_LINE_OF_STATURE = 1.2
#: Relative sd of the mean of |normal| a step: √(π/2 − 1).
_OF_STEPS = float(np.sqrt(np.pi / 2.0 - 1.0))


@dataclass(frozen=True)
class Amount:
    """A value with its sd; `told` False = not more than the landmarks' own noise would show."""

    value: float
    sd: float
    unit: str
    told: bool


@dataclass(frozen=True)
class SwayTold:
    """Sway of the centre of mass over the hand along one axis, to the front and back of her body.

    Attributes
    ----------
    rms_distance, range : Amount
        About its mean place; from the rearmost to the foremost place. In cm where the scale is
        known, else in % of her line's length (``pct``).
    mean_speed : Amount
        All ways over the time; the unit a second.
    duration_s : float
    cutoff_hz : float
        Only sways of one cut-off compare.
    """

    rms_distance: Amount
    range: Amount
    mean_speed: Amount
    duration_s: float
    cutoff_hz: float


def sway_of_hold(
    footage: Footage,
    hold: Hold,
    *,
    motion: MotionCatalogue,
    segments: SegmentCatalogue,
    m_per_px: Estimate | None,
) -> SwayTold | None:
    """Return the sway over a hold; None where it cannot be told.

    Parameters
    ----------
    footage : Footage
    hold : Hold
    motion : MotionCatalogue
    segments : SegmentCatalogue
    m_per_px : Estimate or None [m/px]
        Scale in her plane.
    """
    course = smooth_footage(
        footage,
        cutoff_hz=motion.setting("sway_cutoff_hz"),
        bridge_s=motion.setting("bridge_s"),
        memory_s=motion.setting("landmark_memory_s"),
    )
    if isinstance(course, Untold):
        return None
    inside = (course.t_s >= hold.began_at_s) & (course.t_s <= hold.began_at_s + hold.seconds)
    if not inside.any():
        return None
    length_px = _line_px(course, inside)
    if not np.isfinite(length_px):
        return None
    cm = m_per_px is not None
    path = trace_point(
        course,
        mass_centre_of(
            course.body.names,
            segments.all_parts()[0],
            trunk_fraction=segments.trunk_fraction,
            lengths_px=lengths_of_stature(
                segments.link_fractions(), np.asarray(length_px / _LINE_OF_STATURE)
            ),
        ),
        base="hand",
        px_per_unit=0.01 / m_per_px.value if m_per_px is not None else 0.01 * length_px,
        unit="cm" if cm else "pct",
    )
    sway = measure_sway(_part(path, inside), most_lost_share=motion.setting("most_lost_share"))
    if isinstance(sway, Untold):
        return None
    return _told(sway, 0.0 if m_per_px is None else m_per_px.sd / m_per_px.value)


def _line_px(course: Course, inside: NDArray[np.bool_]) -> float:
    """Return the median length from hand to malleolus [px]."""
    ends = course.body.get("malleolus") - course.body.get("hand")
    lengths = np.linalg.norm(ends[inside], axis=-1)
    seen = lengths[np.isfinite(lengths)]
    return float(np.median(seen)) if len(seen) else float("nan")


def _part(path: Path, inside: NDArray[np.bool_]) -> Path:
    return replace(
        path, t_s=path.t_s[inside], front=path.front[inside], random_sd=path.random_sd[inside]
    )


def _told(sway: Sway, scale_rel_sd: float) -> SwayTold:
    """Return the amounts with their sds.

    Notes
    -----
    Three parts: what noise scatters a figure by, with 2·cut-off·T independent samples; what noise
    adds to it on the whole (the figure less what is left when noise is taken out in squares); and
    the scale.
    """
    independent = max(2.0 * sway.cutoff_hz * sway.duration_s, 2.0)

    def amount(value: float, *, noise: float, scatter: float, unit: str, told: bool) -> Amount:
        added = value - np.sqrt(max(value**2 - noise**2, 0.0))
        sd = float(np.sqrt(scatter**2 + added**2 + (scale_rel_sd * value) ** 2))
        return Amount(value, sd, unit, told)

    return SwayTold(
        rms_distance=amount(
            sway.rms_distance,
            noise=sway.noise_rms,
            scatter=sway.noise_rms / np.sqrt(independent),
            unit=sway.unit,
            told=sway.is_told,
        ),
        range=amount(
            sway.range,
            noise=0.0,
            scatter=np.sqrt(2.0) * sway.noise_rms,
            unit=sway.unit,
            told=sway.is_told,
        ),
        mean_speed=amount(
            sway.mean_speed,
            noise=sway.noise_speed,
            scatter=_OF_STEPS * sway.noise_speed / np.sqrt(independent),
            unit=f"{sway.unit}_per_s",
            told=sway.speed_is_told,
        ),
        duration_s=sway.duration_s,
        cutoff_hz=sway.cutoff_hz,
    )


def sway_to_json(sway: SwayTold) -> dict[str, Any]:
    """Return a JSON-ready dictionary."""
    amounts = {
        name: {
            "value": round(one.value, 3),
            "sd": round(one.sd, 3),
            "unit": one.unit,
            "told": bool(one.told),
        }
        for name in _AMOUNTS
        for one in [getattr(sway, name)]
    }
    return {
        "of": "centre of mass",
        **amounts,
        "duration_s": round(sway.duration_s, 3),
        "cutoff_hz": sway.cutoff_hz,
    }


def sway_from_json(record: Mapping[str, Any]) -> SwayTold:
    """Return the sway that `sway_to_json` wrote."""
    return SwayTold(
        **{name: Amount(**record[name]) for name in _AMOUNTS},
        duration_s=record["duration_s"],
        cutoff_hz=record["cutoff_hz"],
    )


_AMOUNTS = tuple(one.name for one in fields(SwayTold) if one.type in (Amount, "Amount"))
