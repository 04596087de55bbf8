"""Before or after her fastest growth, in words: to a year at best, and always with its warning."""

from typing import Final

from chordline.application.growth.growth_words import equation_in_words, figure, why_untold
from chordline.application.growth.told import Growth, Untold
from chordline.application.wording import SD_95
from chordline.catalogue.growth_schema import GrowthCatalogue
from chordline.core.progress.abstained import Abstained
from chordline.core.progress.growth_maturity import Maturity, MaturityOffset

MATURITY_WARNING: Final = (
    "Good to a year at best, and worst for those who mature late: they are told a peak too early, "
    "and many gymnasts mature late. Do not plan or select by it, and do not tell it to a child as "
    "her future."
)

#: The same where many gymnasts stand below one another, and the whole of it once.
MATURITY_BRIEF: Final = "Good to a year at best, worst for those who mature late."


def maturity_in_words(growth: Growth) -> str:
    """Return where she stood on the day of her latest stature, or why that is not told."""
    told = growth.maturity
    if isinstance(told, Untold):
        return why_untold(told)
    if not told.offsets:
        return "No equation fits her: " + _why_none(told)
    if told.disagree:
        return "The equations lie more than a year apart: believe neither."
    offset = sum(one.offset_years for one in told.offsets) / len(told.offsets)
    return f"By the equations {offset_in_words(offset)}."


def offset_in_words(offset_years: float) -> str:
    """Return an offset to the whole year, e.g. ``about 2 years before her fastest growth``."""
    if abs(offset_years) < 1.0:
        return "within about a year of her fastest growth, before or after"
    years = round(abs(offset_years))
    count = "1 year" if years == 1 else f"{years} years"
    return f"about {count} {'before' if offset_years < 0.0 else 'after'} her fastest growth"


def offsets_in_figures(growth: Growth, catalogue: GrowthCatalogue) -> tuple[str, ...]:
    """Return each equation's offset with its ±, and why others say nothing."""
    told = growth.maturity
    if isinstance(told, Untold):
        return ()
    lines = [_figures(one, catalogue) for one in told.offsets]
    lines += [
        f"{equation_in_words(name, catalogue)}: {_why(untold)}"
        for name, untold in told.untold.items()
        if told.offsets
    ]
    return tuple(lines)


def _figures(one: MaturityOffset, catalogue: GrowthCatalogue) -> str:
    name, half = equation_in_words(one.equation, catalogue), SD_95 * one.error_years
    best = catalogue.maturity[one.equation]
    outside = ""
    if "outside-best-ages" in one.cautions:
        outside = f"; works best from {best.best_from_years:g} to {best.best_to_years:g} years"
    return f"{name}: {figure(one.offset_years, 0, signed=True)} ± {figure(half)} years{outside}"


def _why_none(told: Maturity) -> str:
    reasons = {_why(untold) for untold in told.untold.values()}
    return "; ".join(sorted(reasons)) + "."


def _why(untold: Abstained) -> str:
    if untold.reason == "not-measured":
        return "needs sitting height and mass of the same day"
    if untold.reason == "age-below-table":
        return f"made from children of at least {untold.need:g} years"
    if untold.reason == "age-above-table":
        return f"made from children of at most {untold.need:g} years"
    return "a size cannot be; measure again"
