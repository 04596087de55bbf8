"""The forecast with every sentence that page and paper print: nothing to look up is left."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from chordline.application.findings import Findings
from chordline.application.findings_words import lower_first, unit_of_capacity
from chordline.application.forecast.forecast_line import GAINS, missing_for_forecast
from chordline.application.forecast.forecast_words import (
    RANGE_ONLY,
    chances_in_words,
    forecast_in_words,
    gain_in_words,
    gap_in_words,
    missing_in_words,
    posture_in_words,
)
from chordline.application.forecast.stance import HANDSTAND, read_stance, stance_in_words
from chordline.application.forecast.told import LineForecast, Outline
from chordline.application.wording import SD_95, with_unit
from chordline.catalogue.schema import Catalogue
from chordline.catalogue.segments import our_segments
from chordline.core.body.measurement import Measurement
from chordline.core.estimate import Estimate

#: A payoff below this share of the largest is not worth a row, nor one that reads as nothing.
_WORTH_A_ROW = 0.05
_LEAST_PAYOFF_PCT = 0.005
#: No ± of a payoff is said to be smaller: the body is assumed, not hers [% of chord per unit].
_LEAST_ERROR_PCT = 0.01
#: Where a limit of the hands bends the drawn line.
_JOINTS = {
    "shoulder_opening_deg": "shoulder",
    "hip_opening_deg": "hip",
    "trunk_rounding_deg": "trunk",
    "shoulder_push_pct": "shoulder",
}
#: What stops a line without being a capacity; the rest is at the hand.
_OTHER_JOINTS = {"trunk arching": "trunk"}


@dataclass(frozen=True)
class ToldLine:
    """A line to draw, with its caption.

    Attributes
    ----------
    caption : str
    outline : Outline
        As `LineForecast.line`.
    bow_max_pct : Estimate
    stopped_at : str or None
        The point of `LINE_POINTS` at which it is stopped.
    """

    caption: str
    outline: Outline
    bow_max_pct: Estimate
    stopped_at: str | None


@dataclass(frozen=True)
class Lever:
    """A capacity that may be tried: what it is called and how it is counted.

    Attributes
    ----------
    capacity, label : str
    unit : str
        ``deg`` or ``pct``.
    most : int
        The largest gain that is offered, in that unit.
    """

    capacity: str
    label: str
    unit: str
    most: int


@dataclass(frozen=True)
class SheetForecast:
    """A forecast as a sheet prints it; without lines where too little is tested.

    Attributes
    ----------
    missing : str
        Why there is none; empty where there is one.
    headline, posture, chances, gain, gap : str
        All but the first two may be empty.
    stance : tuple of str
        What the photo shows of balance and load.
    payoffs : tuple of str
        What one unit of a capacity is worth, the largest first.
    lines : tuple of ToldLine
    levers : tuple of Lever
    range_only : str
    """

    missing: str
    headline: str = ""
    posture: str = ""
    chances: str = ""
    gain: str = ""
    gap: str = ""
    stance: tuple[str, ...] = ()
    payoffs: tuple[str, ...] = ()
    lines: tuple[ToldLine, ...] = ()
    levers: tuple[Lever, ...] = ()
    range_only: str = RANGE_ONLY


def forecast_for_sheet(
    found: Findings,
    catalogue: Catalogue,
    *,
    photo: Measurement | None = None,
) -> SheetForecast | None:
    """Return the forecast of `found` with its sentences; None where nobody asked for one.

    Parameters
    ----------
    found : Findings
    catalogue : Catalogue
    photo : Measurement, optional
        Of her handstand; one that needs a look says nothing.
    """
    forecast = found.forecast
    if forecast is None:
        missing = missing_for_forecast(found, catalogue)
        return SheetForecast(missing_in_words(missing)) if missing else None
    bow = None if photo is None or not photo.trust.accepted else photo.measures.get("bow_max_pct")
    levers = () if forecast.best is None else _levers(forecast, catalogue)
    return SheetForecast(
        missing="",
        headline=forecast_in_words(forecast, catalogue),
        posture=posture_in_words(forecast),
        chances=chances_in_words(forecast),
        gain="" if forecast.best is None else gain_in_words(forecast.best, catalogue),
        gap="" if bow is None else gap_in_words(Estimate(abs(bow.value), bow.total_sd), forecast),
        stance=() if photo is None else _stance(photo, catalogue),
        payoffs=tuple(_payoff_in_words(one, forecast) for one in levers),
        lines=(today_line(forecast, catalogue), *_best_line(forecast, catalogue)),
        levers=levers,
    )


def _stance(photo: Measurement, catalogue: Catalogue) -> tuple[str, ...]:
    """Return what the photo shows of balance and load; nothing where it cannot say."""
    reading = read_stance(photo, our_segments(), stature_m=catalogue.setting("stature_m"))
    bow = photo.measures.get("bow_max_pct")
    if reading is None or bow is None:
        return ()
    return stance_in_words(reading, bow_max_pct=abs(bow.value))


def handstand_among(measurements: Iterable[Measurement]) -> Measurement | None:
    """Return the photo of her handstand: one that is trusted before one that needs a look."""
    hers = [one for one in measurements if one.test == HANDSTAND]
    return min(hers, key=lambda one: not one.trust.accepted, default=None)


def today_line(forecast: LineForecast, catalogue: Catalogue) -> ToldLine:
    """Return the line that is reachable today."""
    stop = _joint_of(forecast.stopped_by, catalogue)
    return ToldLine("Reachable today", forecast.line, forecast.bow_max_pct, stop)


def tried_line(
    forecast: LineForecast, gains: Mapping[str, float], catalogue: Catalogue
) -> ToldLine:
    """Return the line of a forecast that was made with `gains`."""
    stop = _joint_of(forecast.stopped_by, catalogue)
    caption = gains_in_words(gains, catalogue)
    return ToldLine(caption, forecast.line, forecast.bow_max_pct, stop)


def gains_in_words(gains: Mapping[str, float], catalogue: Catalogue) -> str:
    """Return what was tried, e.g. ``With 10° more of shoulders, passive``."""
    parts = [
        f"{with_unit(by, unit_of_capacity(name)).replace('.0 ', ' ')} "
        f"{'more' if by > 0 else 'less'} of {lower_first(catalogue.capacities[name].label)}"
        for name, by in gains.items()
        if by
    ]
    return f"With {' and '.join(parts)}" if parts else ""


def _best_line(forecast: LineForecast, catalogue: Catalogue) -> tuple[ToldLine, ...]:
    best = forecast.best
    if best is None:
        return ()
    caption = gains_in_words({best.capacity: best.by}, catalogue)
    return (ToldLine(caption, best.line, best.bow_max_pct, None),)


def _levers(forecast: LineForecast, catalogue: Catalogue) -> tuple[Lever, ...]:
    """Return what is worth trying, the largest payoff first."""
    ranked = sorted(forecast.payoffs.items(), key=lambda one: -one[1].value)
    most = ranked[0][1].value
    levers = []
    for name, payoff in ranked:
        if payoff.value > max(_WORTH_A_ROW * most, _LEAST_PAYOFF_PCT):
            unit = unit_of_capacity(name)
            label = catalogue.capacities[name].label
            levers.append(Lever(name, label, unit, round(2.0 * GAINS[name])))
    return tuple(levers)


def _payoff_in_words(lever: Lever, forecast: LineForecast) -> str:
    payoff = forecast.payoffs[lever.capacity]
    unit = "degree" if lever.unit == "deg" else "1 %"
    error = max(SD_95 * payoff.sd, _LEAST_ERROR_PCT)
    return f"per {unit} of {lower_first(lever.label)}: {payoff.value:.2f} % ± {error:.2f} %"


def _joint_of(stopped_by: str | None, catalogue: Catalogue) -> str | None:
    """Return the point of the line at which `stopped_by` stops it."""
    if stopped_by is None:
        return None
    if stopped_by not in catalogue.capacities:
        return _OTHER_JOINTS.get(stopped_by, "wrist")
    loads = {
        limit: -entry.loads[stopped_by]
        for limit, entry in catalogue.limits.items()
        if stopped_by in entry.loads and limit != "shoulder_push_pct"
    }
    return _JOINTS[max(loads, key=loads.__getitem__)] if loads else "shoulder"
