"""From what is believed of her capacities to the straightest handstand she can reach."""

from collections.abc import Mapping
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from chordline.application.findings import Findings
from chordline.application.forecast.told import Gain, LineForecast, Outline
from chordline.catalogue.schema import Catalogue
from chordline.catalogue.segments import (
    build_body,
    build_goal,
    build_stance,
    build_steps,
    default_limits,
)
from chordline.catalogue.segments_schema import SegmentCatalogue
from chordline.core.capacity.model import Belief
from chordline.core.estimate import Estimate
from chordline.core.geometry.angles import Floats
from chordline.core.mechanics.attainable import AttainableLine, Steps
from chordline.core.mechanics.forecast import Body, Forecast, Goal, ask_what_if, forecast_line
from chordline.core.mechanics.limits import Limits, Stance

#: Draws of what is believed; the same numbers every time, so that the same screen says the same.
_DRAWS = 240
_SEED = 13
#: Without these told of, a forecast would be made of what is believed of anybody.
_NEEDED = ("shoulder_flexion_deg", "hip_extension_deg")
#: What the gain of each capacity is tried with, in its unit.
GAINS = {
    "shoulder_flexion_deg": 10.0,
    "shoulder_active_lag_deg": 10.0,
    "hip_extension_deg": 10.0,
    "pelvic_tuck_deg": 10.0,
    "shoulder_push_pct": 5.0,
}
#: No gain that is asked about may be larger, in the capacity's unit.
MOST_GAIN = 60.0
#: Limit of the catalogue → field of `Limits`.
_FIELDS = {
    "shoulder_opening_deg": "shoulder_opening_rad",
    "hip_opening_deg": "hip_opening_rad",
    "trunk_rounding_deg": "trunk_rounding_rad",
    "shoulder_push_pct": "shoulder_push_m",
}
#: What stops a line → the limit it comes from.
_STOPS = {
    "shoulder": "shoulder_opening_deg",
    "hip": "hip_opening_deg",
    "trunk rounding": "trunk_rounding_deg",
}
#: Farther than this no joint of the model may be held closed [rad].
_FARTHEST = np.deg2rad(60.0)
#: From this share of straight draws on nothing is said to stop her.
_FREE = 0.5
#: Column of the lower back among the openings.
_TRUNK = 1
#: Pushing beyond these is no body any more [% of the trunk].
_PUSH_PCT = (-20.0, 10.0)
#: A gain that straightens by less than this is none [% of chord].
_WORTH_PCT = 0.05


class ForecastLine:
    """Use case: forecast a gymnast's handstand from her findings."""

    def __init__(self, catalogue: Catalogue, segments: SegmentCatalogue) -> None:
        self._catalogue = catalogue
        self._segments = segments

    def missing(self, found: Findings) -> tuple[str, ...]:
        """Return the labels of what must be tested before a forecast says anything of her."""
        return missing_for_forecast(found, self._catalogue)

    def __call__(
        self, found: Findings, *, gains: Mapping[str, float] | None = None
    ) -> LineForecast | None:
        """Return the forecast; None where too little is tested to say anything of her.

        Parameters
        ----------
        found : Findings
        gains : mapping of capacity to float, optional
            As if she had gained so much already, in the capacity's unit.

        Raises
        ------
        KeyError
            For a gain of something that no limit depends on.
        """
        if self.missing(found):
            return None
        shortfalls = _draw(found.belief, list(self._catalogue.capacities))
        for name, gain in (gains or {}).items():
            if name not in GAINS:
                raise KeyError(name)
            shortfalls[name] = shortfalls[name] - gain
        limits = self._limits(shortfalls)
        body = self._body
        core = forecast_line(body, limits, self._stance, self._steps, self._goal)
        tried = {name: self._try(core, limits, shortfalls, name) for name in GAINS}
        best = max(tried.values(), key=lambda one: one.straightened_pct.value)
        straight = self._is_straight(core.line)
        upright = np.abs(core.line.lean_rad) <= self._goal.upright_rad
        stopped, share = next(iter(core.stopped_by.items()))
        if straight.mean() >= _FREE:
            stopped, share = "nothing", float(straight.mean())
        worth = stopped != "nothing" and best.straightened_pct.value > _WORTH_PCT
        return LineForecast(
            bow_max_pct=core.bow_max_pct,
            lean_deg=_in_degrees(core.lean_rad),
            openings_deg={
                name: _in_degrees(opening) for name, opening in core.openings_rad.items()
            },
            p_within_10deg=core.p_upright,
            p_straight=float(straight.mean()),
            p_arrived=float((straight & upright).mean()),
            straight_within_pct=self._goal.straight_pct,
            stopped_by=self._stopped_by(stopped, shortfalls),
            stopped_share=share,
            payoffs={name: self._payoff(core, name) for name in GAINS},
            line=_outline(core.points_pct),
            best=best if worth else None,
            draws=_DRAWS,
            version=self._segments.version,
            table=self._table,
        )

    def _is_straight(self, line: AttainableLine) -> NDArray[np.bool_]:
        """Return which draws are straight: little bow, and no arch of the lower back to be seen."""
        arch = np.abs(line.openings[:, _TRUNK])
        straight: NDArray[np.bool_] = (
            line.possible
            & (np.abs(line.bow_max_pct) <= self._goal.straight_pct)
            & (arch <= np.deg2rad(self._catalogue.setting("forecast_arch_deg")))
        )
        return straight

    @cached_property
    def _table(self) -> str:
        # Girls' squads are the usual case (assumption); the tables differ by less than the ±.
        return next(name for name in self._segments.tables if "female" in name)

    @cached_property
    def _body(self) -> Body:
        stature_m = self._catalogue.setting("stature_m")
        # Everything below is in shares of stature and weight: her own size changes nothing.
        return build_body(self._segments, table=self._table, stature_m=stature_m)

    @cached_property
    def _stance(self) -> Stance:
        return build_stance(self._segments)

    @cached_property
    def _steps(self) -> Steps:
        return build_steps(self._segments)

    @cached_property
    def _goal(self) -> Goal:
        return build_goal(self._segments)

    def _limits(self, shortfalls: Mapping[str, Floats]) -> Limits:
        """Return her limits on the hands, draw by draw."""
        given = {name: self._limit(name, shortfalls) for name in self._catalogue.limits}
        rounding = self._segments.assumed("trunk_rounding") + given["trunk_rounding_deg"]
        return default_limits(
            self._segments,
            shoulder_opening_rad=_within(np.deg2rad(given["shoulder_opening_deg"])),
            hip_opening_rad=_within(np.deg2rad(given["hip_opening_deg"])),
            trunk_rounding_rad=np.maximum(
                np.deg2rad(rounding), -0.5 * np.deg2rad(self._segments.assumed("trunk_arching"))
            ),
            shoulder_push_m=np.clip(given["shoulder_push_pct"], *_PUSH_PCT) * self._push_unit_m,
        )

    def _limit(self, name: str, shortfalls: Mapping[str, Floats]) -> Floats:
        loads = self._catalogue.limits[name].loads
        parts = [load * shortfalls[capacity] for capacity, load in loads.items()]
        return np.asarray(np.sum(parts, axis=0))

    def _try(
        self, core: Forecast, limits: Limits, shortfalls: Mapping[str, Floats], capacity: str
    ) -> Gain:
        """Return what a gain of one capacity would give, solved anew."""
        by = GAINS[capacity]
        better = self._limits({**shortfalls, capacity: shortfalls[capacity] - by})
        changes = {
            field: getattr(better, field) - getattr(limits, field) for field in _FIELDS.values()
        }
        asked = ask_what_if(self._body, core, self._stance, self._steps, self._goal, gains=changes)
        bow = np.abs(asked.line.bow_max_pct)
        return Gain(
            capacity=capacity,
            by=by,
            straightened_pct=asked.straightened_pct,
            bow_max_pct=Estimate(float(bow.mean()), float(bow.std())),
            line=_outline(_middle(asked.line)),
        )

    def _payoff(self, core: Forecast, capacity: str) -> Estimate:
        """Return the slope of the bow by one capacity, through every limit that depends on it."""
        value, sd = 0.0, 0.0
        for name, limit in self._catalogue.limits.items():
            load = limit.loads.get(capacity)
            if load is None:
                continue
            per_unit = self._push_unit_m if name.endswith("_pct") else float(np.deg2rad(1.0))
            slope = core.payoffs[_FIELDS[name]]
            value -= load * per_unit * slope.value
            sd += abs(load * per_unit) * slope.sd
        return Estimate(float(value), float(sd))

    @cached_property
    def _push_unit_m(self) -> float:
        """What one per cent of the trunk is [m]."""
        fractions = self._segments.link_fractions()
        trunk = fractions["upper_trunk"] + fractions["lower_trunk"]
        return float(trunk * self._body.stature_m / 100.0)

    def _stopped_by(self, stop: str, shortfalls: Mapping[str, Floats]) -> str | None:
        """Return the capacity behind what stops most draws; its word where it is no capacity."""
        if stop == "nothing":
            return None
        limit = _STOPS.get(stop)
        if limit is None:
            return stop
        loads = self._catalogue.limits[limit].loads
        return max(loads, key=lambda name: -loads[name] * float(shortfalls[name].mean()))


def missing_for_forecast(found: Findings, catalogue: Catalogue) -> tuple[str, ...]:
    """Return the labels of what must be tested before a forecast says anything of her."""
    tested = {one.name: one.tested for one in found.capacities}
    labels = catalogue.capacities
    return tuple(labels[name].label for name in _NEEDED if not tested.get(name, False))


def _draw(belief: Belief, names: list[str]) -> dict[str, Floats]:
    """Return draws of the shortfalls: antithetic pairs, so that their mean is the belief's own."""
    index = [belief.states.index(name) for name in names]
    covariance = belief.covariance[np.ix_(index, index)]
    values, vectors = np.linalg.eigh(covariance)
    root = vectors * np.sqrt(np.clip(values, 0.0, None))
    half = np.random.default_rng(_SEED).standard_normal((_DRAWS // 2, len(names)))
    normal = np.concatenate([half, -half])
    draws = belief.mean[index] + normal @ root.T
    return {name: draws[:, i] for i, name in enumerate(names)}


def _within(limit_rad: Floats) -> Floats:
    return np.asarray(np.clip(limit_rad, -_FARTHEST, _FARTHEST))


def _in_degrees(angle: Estimate) -> Estimate:
    return Estimate(float(np.rad2deg(angle.value)), float(np.rad2deg(angle.sd)))


def _middle(line: AttainableLine) -> Floats:
    order = np.argsort(line.bow_rms_pct, kind="stable")
    return np.asarray(line.points_pct[order[len(order) // 2]])


def _outline(points_pct: Floats) -> Outline:
    return tuple((float(x), float(y)) for x, y in points_pct)
