"""Growth in words: what was measured and what to do, never a judgement of a child's size."""

from collections.abc import Mapping
from datetime import date, timedelta
from statistics import NormalDist
from typing import Final

from chordline.application.days import day_in_words
from chordline.application.growth.told import (
    Check,
    Code,
    Growth,
    Speed,
    Standing,
    Untold,
    UntoldReason,
)
from chordline.application.summary import percent_in_words, sureness_in_words
from chordline.application.wording import SD_95
from chordline.catalogue.growth_schema import GrowthCatalogue
from chordline.core.progress.growth_age import DAYS_PER_YEAR, MONTHS_PER_YEAR

#: From which chance on fast growth is called likely, and up to which not.
_LIKELY, _UNLIKELY = 0.75, 0.25

#: Stands wherever growth is told.
NO_JUDGEMENT: Final = (
    "Small or tall is no fault and no aim. Whether growth is healthy is for her doctor, not for "
    "this tool: a growth that stops, a stature that leaves its course, a child who eats too little."
)

#: While she probably grows fast: the sentence, and where it comes from.
CAUTIONS: Final[tuple[tuple[str, str], ...]] = (
    (
        "Bones lengthen before muscles follow, so a line may be less straight with nothing lost. "
        "Test her again sooner, and measure her stature with it.",
        "common practice",
    ),
    (
        "Arch with care: fewer times, gently, never into pain. With back pain on arching stop, and "
        "let a licensed clinician look at her back. Of 100 girls in high-level gymnastics 11 had a "
        "defect in a vertebral arch, about four times as many as others. That is seen together "
        "with the sport; it is not shown to be caused by growing.",
        "jackson-1976",
    ),
    (
        "Raise the load on the hands slowly. With wrist pain put no weight on them, and let a "
        "licensed clinician look at her wrists. Of 59 young gymnasts 56 % had wrist pain, most at "
        "10 to 14 years, and half a changed growth plate; also this is seen together, not shown to "
        "be caused.",
        "difiori-2002",
    ),
)

#: Authors whose names have a capital within.
_SPELLED: Final = {"difiori-2002": "DiFiori 2002"}

_WHY: Final[Mapping[UntoldReason, str]] = {
    "birth-date-not-said": "Her birth date is not known; enter it in her record.",
    "born-after-the-day": "Her birth date lies after this day; correct it in her record.",
    "sex-not-said": "Nobody said with whom her growth is compared; choose girls or boys in her "
    "record.",
    "not-measured": "No stature is measured yet; measure it without shoes and enter it in her "
    "record.",
    "impossible-size": "One of her sizes cannot be; measure again and correct it.",
    "one-measurement": "One stature tells no speed.",
    "stature-shrank": "Two statures contradict each other; correct the wrong one first.",
    "grew-too-fast": "Two statures hardly belong together; correct the wrong one first.",
}

_DO: Final[Mapping[Code, str]] = {
    "born-after-the-day": "Her birth date lies after this day; correct it in her record.",
    "measured-before-birth": "By her birth date she was measured before she was born ({days}); "
    "correct the birth date in her record.",
    "stature-shrank": "Her stature of {later} is {cm:.1f} cm less than that of {earlier}, more "
    "than measuring errs. One of them is wrong: measure again without shoes at the same hour, and "
    "enter the right figure under its own day.",
    "grew-too-fast": "Her stature of {later} is {cm:.1f} cm more than that of {earlier}, faster "
    "than children grow. One of them is wrong: measure again, and enter the right figure under its "
    "own day.",
    "implausible": "Her stature of {later} is so far from children of her age that a slip of the "
    "pen is likelier; measure again, and look at her birth date.",
    "sits-too-tall-or-low": "Stature and sitting height of {later} hardly belong together; measure "
    "both again, sitting on a level box with a straight back, and leave the box out.",
    "sitting-height-missing": "No sitting height was taken with the stature of {later}; with it "
    "and her mass a second equation tells of her fastest growth.",
    "stature-old": "Her latest stature is of {later}; measure her again without shoes, at the hour "
    "of the last time.",
}


def figure(value: float, decimals: int = 1, *, signed: bool = False) -> str:
    """Return a number with a true minus sign."""
    text = f"{value:+.{decimals}f}" if signed else f"{value:.{decimals}f}"
    plain = f"{0.0:.{decimals}f}"
    return plain if text.lstrip("+-") == plain else text.replace("-", "\N{MINUS SIGN}")


def age_in_words(years: float) -> str:
    """Return an age in years and months."""
    months = int(years * MONTHS_PER_YEAR)
    return f"{months // 12} years {months % 12} months"


def stature_in_words(growth: Growth) -> str:
    """Return her latest stature and where it stands, or why that is not told."""
    told = growth.standing
    if isinstance(told, Standing):
        shorter = round(100.0 * NormalDist().cdf(told.z.value))
        day, whom = day_in_words(told.at.taken_on), growth.reference
        start = f"{told.at.stature_cm:g} cm on {day}"
        if told.implausible:
            return f"{start}."
        if shorter < 1:
            return f"{start}: fewer than 1 of 100 {whom} of that age are shorter."
        if shorter > 99:
            return f"{start}: fewer than 1 of 100 {whom} of that age are taller."
        return (
            f"{start}: of 100 {whom} of that age about {shorter} are shorter "
            f"and {100 - shorter} taller."
        )
    why = _why_no_standing(told)
    return why if growth.latest_cm is None else f"{growth.latest_cm:g} cm. {why}"


def _why_no_standing(told: Untold) -> str:
    if told.reason in ("age-below-table", "age-above-table") and told.need is not None:
        years = told.need / MONTHS_PER_YEAR
        verb = "begins at" if told.reason == "age-below-table" else "ends at"
        return f"The table {verb} {round(years)} years; outside it nothing is compared."
    return why_untold(told)


def z_in_figures(growth: Growth) -> str:
    """Return her z-score with its ±; empty where it is not told."""
    told = growth.standing
    if isinstance(told, Untold):
        return ""
    return f"z {figure(told.z.value, 2, signed=True)} ± {figure(SD_95 * told.z.sd, 2)}"


def why_untold(told: Untold) -> str:
    """Return why something is not told and what to do about it."""
    return _WHY.get(told.reason, "This cannot be told.")


def speed_in_words(growth: Growth) -> str:
    """Return how fast she grows, or why that is not told."""
    told = growth.speed
    if isinstance(told, Speed):
        return f"She grew about {round(told.cm_per_year.value):d} cm a year."
    if told.reason in ("one-measurement", "too-close-together"):
        start = "One stature tells no speed" if told.reason == "one-measurement" else ""
        start = start or "The statures lie too close together for a speed"
        again = growth.points[0].taken_on + timedelta(days=_least_days(told))
        if again <= growth.day:
            return f"{start}; measure again now."
        return f"{start}; measure again from {day_in_words(again)} on."
    if told.reason == "too-far-apart" and told.have is not None:
        return (
            f"Her last two statures lie {told.have:.1f} years apart, too far for a speed; "
            "measure again now, and every half year."
        )
    return why_untold(told)


def _least_days(told: Untold) -> int:
    # One stature does not say how far the second must lie; half a year is the common practice.
    years = told.need if told.reason == "too-close-together" and told.need else 0.5
    return round(years * DAYS_PER_YEAR) + 1


def speed_in_figures(growth: Growth) -> str:
    """Return her speed with its ± and what it rests on; empty where it is not told."""
    told = growth.speed
    if isinstance(told, Untold):
        return ""
    value, half = told.cm_per_year.value, SD_95 * told.cm_per_year.sd
    return (
        f"{figure(value)} ± {figure(half)} cm/year, {day_in_words(told.since)} to "
        f"{day_in_words(told.until)}, {told.statures} statures"
    )


def chance_in_words(growth: Growth) -> str:
    """Return whether she grows fast; empty where no speed is told at all."""
    p, fast = growth.fast_growth_probability, f"more than {growth.fast_cm_per_year:g} cm a year"
    if isinstance(p, Untold):
        if p.reason == "stature-too-old":
            return "How fast she grows now is not told: her latest stature is too old."
        return ""
    if p >= _LIKELY:
        word = sureness_in_words(p)
        return f"Fast growth, {fast}: {word} ({percent_in_words(p)})."
    if p <= _UNLIKELY:
        return f"Fast growth, {fast}: not likely ({percent_in_words(p)})."
    return f"Fast growth, {fast}: cannot tell yet ({percent_in_words(p)})."


def check_in_words(check: Check) -> str:
    """Return what to measure again, to correct or to add."""
    days = [day_in_words(day) for day in check.days]
    return _DO[check.code].format(
        days=_some(check.days),
        earlier=days[0] if days else "",
        later=days[-1] if days else "",
        cm=check.cm or 0.0,
    )


def _some(days: tuple[date, ...]) -> str:
    told = ", ".join(map(day_in_words, days[:3]))
    return f"{told}, …" if len(days) > 3 else told


def cautions_in_words(growth: Growth) -> tuple[tuple[str, str], ...]:
    """Return (sentence, source id) of what to be careful with; none unless she may grow fast."""
    return CAUTIONS if growth.cautious else ()


def source_in_words(source: str) -> str:
    """Return a source id as it is read, e.g. ``Jackson 1976``."""
    if not any(map(str.isdigit, source)):
        return source
    return _SPELLED.get(source, source.replace("-", " ").capitalize())


def equation_in_words(name: str, growth: GrowthCatalogue) -> str:
    """Return an equation's authors and, where they have two for a table, what it starts from."""
    said = source_in_words(growth.maturity[name].source)
    for ending, words in (("_sitting", "from sitting height"), ("_stature", "from stature")):
        if name.endswith(ending):
            return f"{said}, {words}"
    return said
