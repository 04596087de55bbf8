"""How likely a gymnast grows fast, as the progress model asks for it."""

from collections.abc import Sequence
from datetime import date

from chordline.application.club.records import BodySize, GymnastRecord
from chordline.application.growth.tell_growth import tell_growth
from chordline.application.progress.timelines import GrowthChance
from chordline.catalogue.growth_schema import GrowthCatalogue


def growth_chance(growth: GrowthCatalogue) -> GrowthChance:
    """Return what tells the chance of fast growth; None wherever growth is not told."""

    def chance(her: GymnastRecord, sizes: Sequence[BodySize], day: date) -> float | None:
        told = tell_growth(her, sizes, day=day, growth=growth).fast_growth_probability
        return told if isinstance(told, float) else None

    return chance
