"""Sentences of the forecast, from one place. They describe the line, never the person."""

from collections.abc import Sequence

from chordline.application.findings_words import lower_first, unit_of_capacity, upper_first
from chordline.application.forecast.told import Gain, LineForecast
from chordline.application.summary import percent_in_words
from chordline.application.wording import with_unit
from chordline.catalogue.schema import Catalogue
from chordline.core.estimate import Estimate

#: What is no capacity, in a coach's words.
_OTHER_STOPS = {
    "wrist": "the wrists",
    "trunk arching": "the lower back's range",
    "balance at the heel of the hand": "balance at the heel of the hand",
    "balance at the knuckles": "balance at the knuckles",
}
#: A joint that bends by less than this is not spoken of [deg].
_SPOKEN_DEG = 5.0

RANGE_ONLY = (
    "Range only: it says what her joints allow, not whether she can balance it. Shoulder range "
    "alone has not been shown to decide a handstand."
)


def forecast_in_words(forecast: LineForecast, catalogue: Catalogue) -> str:
    """Return the headline: what stops her line, and how straight it can be."""
    bow = f"{_pct(forecast.bow_max_pct)}"
    if forecast.stopped_by is None:
        return f"Nothing in her range stops a straight line on the hands (bow {bow})."
    stop = stop_in_words(forecast.stopped_by, catalogue)
    return f"{upper_first(stop)}: the straightest line she can reach bows {bow}."


def stop_in_words(stopped_by: str, catalogue: Catalogue) -> str:
    """Return what stops a line, e.g. ``shoulders, passive, stop it``."""
    entry = catalogue.capacities.get(stopped_by)
    if entry is not None:
        return f"{lower_first(entry.label)} stop it first"
    return f"{_OTHER_STOPS.get(stopped_by, stopped_by)} stops it first"


def posture_in_words(forecast: LineForecast) -> str:
    """Return where that line bends, or an empty string where it hardly does."""
    words = {
        "shoulder": ("the shoulders open", "the shoulders closed"),
        "trunk": ("the lower back arched", "the lower back rounded"),
        "hip": ("the hips open", "the hips closed"),
    }
    bends = [
        f"{words[name][0 if one.value > 0 else 1]} by {with_unit(one.value, 'deg')} "
        f"± {with_unit(1.96 * one.sd, 'deg')}"
        for name, one in forecast.openings_deg.items()
        if abs(one.value) >= _SPOKEN_DEG
    ]
    return "" if not bends else f"It has {_listed(bends)}; balance over the hands asks for it."


def chances_in_words(forecast: LineForecast) -> str:
    """Return how likely the line is straight, and how likely within ten degrees of vertical."""
    return (
        f"Straight (bow within {forecast.straight_within_pct:g} %, no arch to be seen): "
        f"{percent_in_words(forecast.p_straight)}. Within 10° of vertical: "
        f"{percent_in_words(forecast.p_within_10deg)}."
    )


def gain_in_words(gain: Gain, catalogue: Catalogue) -> str:
    """Return what one gain would give."""
    label = lower_first(catalogue.capacities[gain.capacity].label)
    by = with_unit(gain.by, unit_of_capacity(gain.capacity))
    return f"{by} more of {label} would straighten it most: then it bows {_pct(gain.bow_max_pct)}."


def gap_in_words(measured: Estimate, forecast: LineForecast) -> str:
    """Return what a photo of her handstand shows beyond what her range allows.

    Parameters
    ----------
    measured : Estimate
        Magnitude of the largest bow in the photo, with its whole error [% of chord].
    forecast : LineForecast
    """
    gap = measured.value - forecast.bow_max_pct.value
    sd = (measured.sd**2 + forecast.bow_max_pct.sd**2) ** 0.5
    shown = f"Her photo bows {_pct(measured)}"
    if gap > 1.96 * sd:
        return (
            f"{shown}, {gap:.1f} % ± {1.96 * sd:.1f} % more than her range asks for: "
            "balance and push, or range that she does not use on her hands yet."
        )
    if gap < -1.96 * sd:
        return (
            f"{shown}, less than the forecast: her range on the hands is better than the tests "
            "lying down say, or the photo is not square to her."
        )
    return f"{shown}: as straight as her range allows, as far as can be told."


def missing_in_words(missing: Sequence[str]) -> str:
    """Return why there is no forecast yet."""
    return f"Cannot tell yet: {_listed([lower_first(one) for one in missing])} not tested."


def _listed(parts: Sequence[str]) -> str:
    if len(parts) == 1:
        return parts[0]
    return f"{', '.join(parts[:-1])} and {parts[-1]}"


def _pct(one: Estimate) -> str:
    return f"{abs(one.value):.1f} % ± {1.96 * one.sd:.1f} %"
