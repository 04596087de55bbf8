"""A group's plan at a glance: who works on what, how many minutes a week, and when."""

import math
from collections.abc import Mapping
from dataclasses import dataclass

from chordline.application.tongue import Tongue
from chordline.application.training.planned import HerPlan, ReadPlan
from chordline.application.training.sheets.coach_plan import group_label
from chordline.application.training.words import CARE, capacity_label, inside
from chordline.application.wording import SD_95
from chordline.catalogue.schema import Catalogue
from chordline.catalogue.training_schema import TrainingCatalogue


@dataclass(frozen=True)
class MinutesCell:
    """Weekly minutes of one capacity: in words, and as a share of the table's largest."""

    words: str
    share: float


@dataclass(frozen=True)
class GymnastRow:
    """One gymnast of a plan.

    `noted` says what stands beside her minutes: signs, no screen yet, too little of something.
    """

    gymnast: str
    cells: tuple[MinutesCell, ...]
    all_min: str
    noted: tuple[str, ...]


@dataclass(frozen=True)
class WeekRow:
    """A week's evenings."""

    name: str
    evenings: tuple[str, ...]


@dataclass(frozen=True)
class PlanOverview:
    """A group's plan, across."""

    language: str
    title: str
    group: str
    facts: str
    columns: tuple[str, ...]
    gymnast_heading: str
    all_heading: str
    noted_heading: str
    rows: tuple[GymnastRow, ...]
    key: str
    expected: str
    weeks_heading: str
    weeks: tuple[WeekRow, ...]
    stations_heading: str
    stations: tuple[tuple[str, str], ...]
    care: tuple[str, ...]


def make_plan_overview(
    plan: ReadPlan,
    *,
    group: str,
    names: Mapping[int, str],
    catalogue: Catalogue,
    training: TrainingCatalogue,
    tongue: Tongue,
) -> PlanOverview:
    """Return the sheet; gymnasts who are not in `names` are gone from the records."""
    hers = sorted(
        (one for id_, one in plan.hers.items() if id_ in names),
        key=lambda one: (names[one.gymnast].casefold(), one.gymnast),
    )
    worked = {one.capacity for her in hers for one in her.work if one.weekly_min > 0.0}
    columns = [name for name in catalogue.capacities if name in worked]
    columns += sorted(worked - set(columns))
    most = max((one.weekly_min for her in hers for one in her.work), default=0.0)
    say = tongue.say
    return PlanOverview(
        language=tongue.code,
        title=say("Plan: {group}", group=group),
        group=group,
        facts=_facts(plan, len(hers), tongue),
        columns=tuple(capacity_label(name, catalogue, tongue) for name in columns),
        gymnast_heading=say("Gymnast"),
        all_heading=say("All"),
        noted_heading=say("Note"),
        rows=tuple(
            GymnastRow(
                gymnast=names[one.gymnast],
                cells=_cells(one, columns, most, tongue),
                all_min=tongue.number(sum(int(each.weekly_min + 0.5) for each in one.work)),
                noted=_noted(one, catalogue, training, tongue),
            )
            for one in hers
        ),
        key=say(
            "Numbers are minutes a week for what stands above. The bar shows the same: the longer, "
            "the more of her work."
        ),
        expected=_expected(plan, len(hers), tongue),
        weeks_heading=say("Sessions"),
        weeks=_weeks(plan, tongue),
        stations_heading=say("Stations"),
        stations=tuple(
            (
                one.name,
                ", ".join(
                    tongue.word("equipment", training.equipment[each].label)
                    for each in one.equipment
                    if each in training.equipment
                ),
            )
            for one in plan.stations
        ),
        care=tuple(map(say, CARE)),
    )


def _facts(plan: ReadPlan, count: int, tongue: Tongue) -> str:
    return " · ".join(
        (
            tongue.say(
                "{first} to {last}",
                first=tongue.day(plan.first_day),
                last=tongue.day(plan.last_day),
            ),
            tongue.say_n("{count} week", "{count} weeks", plan.weeks),
            tongue.say_n("{count} session", "{count} sessions", len(plan.evenings)),
            tongue.say_n("{count} gymnast", "{count} gymnasts", count),
        )
    )


def _cells(
    her: HerPlan, columns: list[str], most: float, tongue: Tongue
) -> tuple[MinutesCell, ...]:
    minutes = {one.capacity: one.weekly_min for one in her.work}
    return tuple(
        MinutesCell(tongue.number(minutes[name]), minutes[name] / most)
        if minutes.get(name, 0.0) > 0.0
        else MinutesCell("", 0.0)
        for name in columns
    )


def _noted(
    her: HerPlan, catalogue: Catalogue, training: TrainingCatalogue, tongue: Tongue
) -> tuple[str, ...]:
    noted = [
        tongue.word("sign", catalogue.referrals[flag].label)
        for flag in her.signs
        if flag in catalogue.referrals
    ]
    if her.never_screened:
        noted.append(tongue.say("not screened yet"))
    if her.too_little:
        groups = ", ".join(
            inside(group_label(name, training, tongue), tongue) for name in her.too_little
        )
        noted.append(tongue.say("too little: {groups}", groups=groups))
    return tuple(noted)


def _expected(plan: ReadPlan, count: int, tongue: Tongue) -> str:
    if count == 0 or plan.expected is None or plan.expected.value <= 0.0:
        return ""
    mean, sd = plan.expected.value / count, plan.expected.sd / count
    said = tongue.say(
        "If the minutes are done, the bow along a handstand is expected to shrink by {amount} of "
        "the body's length, on average over the group. What a minute gives is assumed.",
        amount=tongue.plus_minus(mean, SD_95 * sd, "pct", 1),
    )
    if plan.gap > 0.0:
        said += " " + tongue.say(
            "The plan is at most {amount} below the best one for these sessions and stations.",
            amount=tongue.amount(math.ceil(100.0 * plan.gap), "pct"),
        )
    return said


def _weeks(plan: ReadPlan, tongue: Tongue) -> tuple[WeekRow, ...]:
    weeks: dict[int, list[str]] = {}
    for one in plan.evenings:
        said = tongue.brief_day(one.held_on)
        if one.starts_at is not None:
            said = f"{said}\u00a0{tongue.clock(one.starts_at)}"
        weeks.setdefault(one.week, []).append(said)
    return tuple(
        WeekRow(tongue.say("Week {number}", number=tongue.number(week + 1)), tuple(evenings))
        for week, evenings in sorted(weeks.items())
    )
