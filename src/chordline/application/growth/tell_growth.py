"""From birth date, reference and sizes to what can be told of a gymnast's growth."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from chordline.application.club.growth_reference import sex_of_table
from chordline.application.club.ports import Records
from chordline.application.club.records import BodySize, GymnastRecord
from chordline.application.growth.told import (
    CONTRADICTIONS,
    Check,
    Growth,
    Point,
    Speed,
    Standing,
    Untold,
)
from chordline.application.wording import SD_95
from chordline.catalogue.growth_schema import GrowthCatalogue
from chordline.core.estimate import Estimate
from chordline.core.progress.abstained import Abstained
from chordline.core.progress.growth_age import DAYS_PER_YEAR, MONTHS_PER_YEAR, measure_age
from chordline.core.progress.growth_lms import score_size
from chordline.core.progress.growth_maturity import Maturity, Size, judge_maturity
from chordline.core.progress.growth_velocity import (
    chance_of_fast_growth,
    find_shrunk,
    measure_velocity,
)

STATURE = "height_for_age"


class TellGrowth:
    """Use case: tell a gymnast's growth."""

    def __init__(self, records: Records, growth: GrowthCatalogue) -> None:
        self._records = records
        self._growth = growth

    def __call__(self, gymnast_id: int, *, day: date) -> Growth:
        """Return what is known of her growth on a day; later measurements are not looked at."""
        with self._records.reading() as tx:
            her, sizes = tx.gymnasts.get(gymnast_id), tx.gymnasts.sizes(gymnast_id)
        return tell_growth(her, sizes, day=day, growth=self._growth)


def tell_growth(
    her: GymnastRecord, sizes: Sequence[BodySize], *, day: date, growth: GrowthCatalogue
) -> Growth:
    """Return what is known of a gymnast's growth on a day.

    Parameters
    ----------
    her : GymnastRecord
    sizes : sequence of BodySize
        In any order; those after the day are not looked at.
    day : date
    growth : GrowthCatalogue

    Notes
    -----
    Nothing is mended: figures that contradict each other stay, what rests on them is not told.
    """
    known = sorted((one for one in sizes if one.taken_on <= day), key=lambda one: one.taken_on)
    work = _Work(her, tuple(known), day, growth)
    checks = sorted(work.checks(), key=lambda one: one.code not in CONTRADICTIONS)
    speed = work.speed()
    chance = work.chance(speed)
    statures = [one.stature_cm for one in known if one.stature_cm is not None]
    return Growth(
        gymnast_id=her.id,
        name=her.name,
        card=her.card,
        day=day,
        reference=her.growth_reference,
        age_years=work.age_on(day),
        points=work.points,
        latest_cm=statures[-1] if statures else None,
        standing=work.standing(),
        speed=speed,
        fast_growth_probability=chance,
        fast_cm_per_year=growth.setting("fast_growth"),
        maturity=work.maturity(),
        checks=tuple(checks),
        cautious=isinstance(chance, float) and chance >= growth.setting("caution_from"),
        catalogue=growth.version,
    )


@dataclass(frozen=True)
class _Work:
    """A gymnast's figures up to a day, the first first."""

    her: GymnastRecord
    sizes: tuple[BodySize, ...]
    day: date
    growth: GrowthCatalogue

    def age_on(self, day: date) -> float | Untold:
        """Return her age [years]."""
        if self.her.birth_date is None:
            return Untold("birth-date-not-said")
        age = measure_age(born=self.her.birth_date.toordinal(), day=day.toordinal())
        return Untold.of(age) if isinstance(age, Abstained) else age

    @property
    def points(self) -> tuple[Point, ...]:
        """Her statures; none before her birth, which is a check of its own."""
        return tuple(
            Point(one.taken_on, age, one.stature_cm)
            for one in self.sizes
            if one.stature_cm is not None and isinstance(age := self.age_on(one.taken_on), float)
        )

    def _no_point(self) -> Untold:
        age = self.age_on(self.day)
        return age if isinstance(age, Untold) else Untold("not-measured")

    def standing(self) -> Standing | Untold:
        """Return where her latest stature stands among children of her age."""
        if not self.points:
            return self._no_point()
        at = self.points[-1]
        table = self.growth.table(STATURE, sex_of_table(self.her.growth_reference))
        months = at.age_years * MONTHS_PER_YEAR
        sd_cm = self.growth.rules().stature_sd_cm
        score = score_size(table, age_months=months, size=at.stature_cm)
        taller = score_size(table, age_months=months, size=at.stature_cm + sd_cm)
        if isinstance(score, Abstained):
            return Untold.of(score)
        assert not isinstance(taller, Abstained)
        return Standing(at, Estimate(score.z, taller.z - score.z), score.implausible)

    def speed(self) -> Speed | Untold:
        """Return how fast she grows up to her latest stature."""
        points = self.points
        if not points:
            return self._no_point()
        told = measure_velocity(
            np.array([one.age_years for one in points]),
            np.array([one.stature_cm for one in points]),
            self.growth.rules(),
        )
        if isinstance(told, Abstained):
            return Untold.of(told)
        if told.velocity.value - SD_95 * told.velocity.sd > self.growth.setting("most_growth"):
            return Untold("grew-too-fast", told.velocity.value, self.growth.setting("most_growth"))
        return Speed(told.velocity, points[-told.used].taken_on, points[-1].taken_on, told.used)

    def chance(self, speed: Speed | Untold) -> float | Untold:
        """Return the chance that she grows fast now; an old speed says nothing of now."""
        if isinstance(speed, Untold):
            return speed
        if self._is_old(speed.until):
            old_years = (self.day - speed.until).days / DAYS_PER_YEAR
            return Untold("stature-too-old", old_years, self.growth.setting("fresh_for"))
        fast = self.growth.setting("fast_growth")
        return chance_of_fast_growth(speed.cm_per_year, fast_cm_per_year=fast)

    def _is_old(self, taken_on: date) -> bool:
        return (self.day - taken_on).days / DAYS_PER_YEAR > self.growth.setting("fresh_for")

    def maturity(self) -> Maturity | Untold:
        """Return where she stands before or after her fastest growth, by every equation."""
        if not self.points:
            return self._no_point()
        at = self.points[-1]
        of_day = self._size_on(at.taken_on)
        told = judge_maturity(
            self.growth.equations(),
            sex_of_table(self.her.growth_reference),
            Size(at.age_years, at.stature_cm, of_day.sitting_height_cm, of_day.mass_kg),
            allowed_years=self.growth.setting("equations_apart"),
        )
        return Untold.of(told) if isinstance(told, Abstained) else told

    def _size_on(self, day: date) -> BodySize:
        return next(one for one in self.sizes if one.taken_on == day)

    def checks(self) -> list[Check]:
        """Return what contradicts and what is missing."""
        found: list[Check] = []
        born = self.her.birth_date
        if born is not None and born > self.day:
            found.append(Check("born-after-the-day"))
        before = [one.taken_on for one in self.sizes if born is not None and one.taken_on < born]
        if before:
            found.append(Check("measured-before-birth", tuple(before)))
        found += self._shrunk()
        speed = self.speed()
        if isinstance(speed, Untold) and speed.reason == "grew-too-fast":
            earlier, later = self.points[-2:]
            by_cm = later.stature_cm - earlier.stature_cm
            found.append(Check("grew-too-fast", (earlier.taken_on, later.taken_on), by_cm))
        standing = self.standing()
        if isinstance(standing, Standing) and standing.implausible:
            found.append(Check("implausible", (standing.at.taken_on,)))
        for one in self.sizes:
            if one.sitting_height_cm is not None and one.stature_cm is not None:
                share = one.sitting_height_cm / one.stature_cm
                low, high = self.growth.setting("least_seated"), self.growth.setting("most_seated")
                if not low <= share <= high:
                    found.append(Check("sits-too-tall-or-low", (one.taken_on,)))
        if self.points:
            latest = self.points[-1].taken_on
            if self._is_old(latest):
                found.append(Check("stature-old", (latest,)))
            elif self._size_on(latest).sitting_height_cm is None:
                found.append(Check("sitting-height-missing", (latest,)))
        return found

    def _shrunk(self) -> list[Check]:
        # Without a birth date, too: days tell the order as well as ages do.
        statures = [one for one in self.sizes if one.stature_cm is not None]
        years = np.array([one.taken_on.toordinal() / DAYS_PER_YEAR for one in statures])
        sizes_cm = np.array([one.stature_cm for one in statures], dtype=np.float64)
        shrunk = find_shrunk(years, sizes_cm, self.growth.rules())
        if shrunk is None:
            return []
        ordinals = (shrunk.earlier_years, shrunk.later_years)
        days = tuple(date.fromordinal(round(years * DAYS_PER_YEAR)) for years in ordinals)
        return [Check("stature-shrank", days, shrunk.by_cm)]
