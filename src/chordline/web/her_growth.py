"""A gymnast's growth as her page shows it: words first, figures beside them, one drawing."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from chordline.adapters.printing.growth_chart import draw_growth
from chordline.application.club.growth_reference import sex_of_table
from chordline.application.club.records import BodySize, GymnastRecord
from chordline.application.days import day_in_words
from chordline.application.growth.growth_words import (
    NO_JUDGEMENT,
    age_in_words,
    cautions_in_words,
    chance_in_words,
    check_in_words,
    source_in_words,
    speed_in_figures,
    speed_in_words,
    stature_in_words,
    z_in_figures,
)
from chordline.application.growth.maturity_words import (
    MATURITY_WARNING,
    maturity_in_words,
    offsets_in_figures,
)
from chordline.application.growth.tell_growth import STATURE, tell_growth
from chordline.application.growth.told import Growth
from chordline.catalogue.growth_schema import GrowthCatalogue
from chordline.core.progress.growth_maturity import Maturity


@dataclass(frozen=True)
class ShownGrowth:
    """What the section says; empty text and tuples where there is nothing to say.

    Attributes
    ----------
    contradictions, missing : tuple of str
    stature, z : str
    speed, speed_figures, chance : str
    maturity : str
    offsets : tuple of str
    warning : str
    cautions : tuple of (sentence, source)
    retest_sooner : bool
    drawing : str
        SVG; empty without a stature at a known age.
    rows : tuple of (day, age, stature)
        What the drawing shows, the latest first.
    no_judgement : str
    """

    contradictions: tuple[str, ...]
    missing: tuple[str, ...]
    stature: str
    z: str
    speed: str
    speed_figures: str
    chance: str
    maturity: str
    offsets: tuple[str, ...]
    warning: str
    cautions: tuple[tuple[str, str], ...]
    retest_sooner: bool
    drawing: str
    rows: tuple[tuple[str, str, str], ...]
    no_judgement: str = NO_JUDGEMENT


def show_growth(
    her: GymnastRecord, sizes: Sequence[BodySize], *, day: date, growth: GrowthCatalogue
) -> ShownGrowth:
    """Return what her page says of her growth on a day."""
    told = tell_growth(her, sizes, day=day, growth=growth)
    known = isinstance(told.maturity, Maturity)
    return ShownGrowth(
        contradictions=tuple(check_in_words(one) for one in told.checks if one.contradicts),
        missing=tuple(check_in_words(one) for one in told.checks if not one.contradicts),
        stature=stature_in_words(told),
        z=z_in_figures(told),
        speed=speed_in_words(told) if told.points else "",
        speed_figures=speed_in_figures(told),
        chance=chance_in_words(told),
        maturity=maturity_in_words(told) if known else "",
        offsets=offsets_in_figures(told, growth),
        warning=MATURITY_WARNING if offsets_in_figures(told, growth) else "",
        cautions=tuple((said, source_in_words(source)) for said, source in cautions_in_words(told)),
        retest_sooner=told.retest_sooner,
        drawing=_draw(told, growth),
        rows=tuple(
            (day_in_words(one.taken_on), age_in_words(one.age_years), f"{one.stature_cm:g} cm")
            for one in reversed(told.points)
        ),
    )


def _draw(told: Growth, growth: GrowthCatalogue) -> str:
    if not told.points:
        return ""
    table = growth.table(STATURE, sex_of_table(told.reference))
    beside = ""
    if told.reference is not None:
        beside = (
            f" Behind them the band of two standard deviations about the median of "
            f"{told.reference}, from the WHO reference of 2007."
        )
    statures = "; ".join(
        f"{one.stature_cm:g} cm at {age_in_words(one.age_years)}" for one in told.points
    )
    return draw_growth(
        [(one.age_years, one.stature_cm) for one in told.points],
        table,
        title=f"Statures of {told.name} by age",
        desc=f"{statures}.{beside}",
    )
