"""The coach's sheet of one gymnast: what limits her, why, and the plan for it."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from chordline.application.drawn_line import DrawnLine
from chordline.application.findings_words import unit_of_capacity
from chordline.application.sheet_forecast import ToldLine, handstand_among
from chordline.application.sheet_forecast import forecast_for_sheet as drawn_forecast
from chordline.application.tongue import Tongue, mark
from chordline.application.training.planned import PlannedWork
from chordline.application.training.sheets.her import Her
from chordline.application.training.sheets.home import exercises_for_home
from chordline.application.training.sheets.limits_told import (
    ToldLimiter,
    next_test_in_words,
    no_limiter_in_words,
    open_in_words,
    tell_limiter,
)
from chordline.application.training.words import (
    CARE,
    KINDS,
    LEVELS,
    LOADS,
    ToldExercise,
    capacity_label,
    gain_in_words,
    shortfall_in_words,
    stays,
    tell_exercise,
)
from chordline.application.wording import SD_95
from chordline.catalogue.schema import Catalogue
from chordline.catalogue.training_schema import TrainingCatalogue
from chordline.core.body.measurement import Measurement
from chordline.core.body.verdict import Verdict


@dataclass(frozen=True)
class WorkRow:
    """One capacity of the plan: minutes a week, and what is expected of them, each with its ±."""

    label: str
    weekly: str
    missing: str
    gain: str
    payoff: str


@dataclass(frozen=True)
class ExerciseRow:
    """An exercise of her plan: what kind, how often, what for."""

    told: ToldExercise
    kind: str
    turns: str


@dataclass(frozen=True)
class CoachLines:
    """Her lines side by side: the photo, what she can reach today, and the best single gain."""

    photo: Measurement | None
    told: tuple[ToldLine, ...]
    captions: tuple[str, ...]
    photo_caption: str
    other: DrawnLine | None
    other_caption: str
    spoken: str


@dataclass(frozen=True)
class CoachPlanSheet:
    """One gymnast's findings and plan, in the coach's language.

    Every heading stands beside what it is above.
    """

    language: str
    title: str
    kicker: str
    gymnast: str
    facts: str
    stops: tuple[str, ...]
    lines: CoachLines | None
    limits_heading: str
    limiters: tuple[ToldLimiter, ...]
    no_limiter: str
    open_heading: str
    open: tuple[str, ...]
    next_test: str
    work_heading: str
    columns: tuple[str, ...]
    work: tuple[WorkRow, ...]
    no_work: str
    work_note: str
    too_little: str
    exercises_heading: str
    exercises: tuple[ExerciseRow, ...]
    held_back: str
    home_heading: str
    home: tuple[str, ...]
    waits_heading: str
    waits: tuple[str, ...]
    care: tuple[str, ...]


def make_coach_plan_sheet(
    her: Her, *, catalogue: Catalogue, training: TrainingCatalogue, tongue: Tongue
) -> CoachPlanSheet:
    """Return the sheet."""
    say = tongue.say
    found = her.found
    work = () if her.hers is None else tuple(one for one in her.hers.work if one.weekly_min > 0.0)
    steps = [one.capacity for one in work]
    planned = _turns(her)
    return CoachPlanSheet(
        language=tongue.code,
        title=say("Plan: {gymnast}", gymnast=her.name),
        kicker=say("Findings and plan, for the coach"),
        gymnast=her.name,
        facts=_facts(her, tongue),
        stops=_stops(her, catalogue=catalogue, training=training, tongue=tongue),
        lines=_lines(her, catalogue, tongue),
        limits_heading=say("What limits her"),
        limiters=()
        if found is None
        else tuple(tell_limiter(one, found, her, catalogue, tongue) for one in found.limiters),
        no_limiter=no_limiter_in_words(found, tongue),
        open_heading=say("Cannot tell yet"),
        open=open_in_words(found, catalogue, tongue),
        next_test=next_test_in_words(found, catalogue, tongue),
        work_heading=say("Work"),
        columns=tuple(
            map(say, ("", _WEEKLY, _MISSING, _GAIN, _PAYOFF)),
        ),
        work=tuple(_row(one, her, catalogue, tongue) for one in work),
        no_work=_no_work(her, tongue),
        work_note=say(
            "± holds the true value in 95 of 100 cases. Gains hold when the minutes are done; "
            "they are assumptions where nothing is published."
        ),
        too_little=_too_little(her, training, tongue),
        exercises_heading=say("Exercises"),
        exercises=_exercises(her, planned, training, tongue),
        held_back=_held_back(her, planned, training, tongue),
        home_heading=say("At home"),
        home=_home(her, steps, training, tongue),
        waits_heading=say("What can wait"),
        waits=_waits(her, steps, catalogue, tongue),
        care=tuple(map(say, CARE)),
    )


_WEEKLY: Final = mark("Minutes a week")
_MISSING: Final = mark("Missing today")
_GAIN: Final = mark("Expected gain")
_PAYOFF: Final = mark("Bow taken off")


def _facts(her: Her, tongue: Tongue) -> str:
    facts = [her.club, tongue.day(her.day)]
    if her.age_y is not None:
        facts.append(tongue.say_n("{count} year", "{count} years", her.age_y))
    facts.append(tongue.say("level: {level}", level=tongue.say(LEVELS[her.level])))
    if her.screened_on is not None:
        facts.append(tongue.say("screened on {day}", day=tongue.day(her.screened_on)))
    if her.plan is not None:
        facts.append(
            tongue.say(
                "plan from {first} to {last}",
                first=tongue.day(her.plan.first_day),
                last=tongue.day(her.plan.last_day),
            )
        )
    return " · ".join(facts)


def _stops(
    her: Her, *, catalogue: Catalogue, training: TrainingCatalogue, tongue: Tongue
) -> tuple[str, ...]:
    said = []
    for flag in (*her.flags, *her.seen):
        sign = catalogue.referrals.get(flag)
        if sign is not None:
            label, advice = tongue.word("sign", sign.label), tongue.word("sign", sign.advice)
            said.append(f"{label}. {advice}")
    barred = her.barred(training)
    if said and barred:
        loads = tongue.joined(tongue.say(words) for load, words in LOADS.items() if load in barred)
        said.append(tongue.say("Left out of the plan: {loads}.", loads=loads))
    return tuple(said)


def _lines(her: Her, catalogue: Catalogue, tongue: Tongue) -> CoachLines | None:
    photo = handstand_among(her.measurements)
    if photo is not None and not photo.trust.accepted:
        photo = None
    forecast = None if her.found is None else her.found.forecast
    drawn = None if her.found is None else drawn_forecast(her.found, catalogue)
    told = () if drawn is None else drawn.lines
    other = her.line if photo is None and not told else None
    if photo is None and not told and other is None:
        return None
    captions = []
    for one in told:
        label = tongue.say("Reachable today")
        if one.stopped_at is None and forecast is not None and forecast.best is not None:
            gain = forecast.best
            if one.outline == gain.line:
                label = tongue.say(
                    "With {amount} of {capacity}",
                    amount=tongue.amount(gain.by, unit_of_capacity(gain.capacity)),
                    capacity=capacity_label(gain.capacity, catalogue, tongue),
                )
        bow = _bow(one.bow_max_pct.value, one.bow_max_pct.sd, tongue)
        captions.append(tongue.headed(label, bow))
    shown = None if photo is None else photo.measures.get("bow_max_pct")
    caption = tongue.say("Photo")
    if shown is not None:
        caption = tongue.headed(caption, _bow(abs(shown.value), shown.total_sd, tongue))
    return CoachLines(
        photo=photo,
        told=told,
        captions=tuple(captions),
        photo_caption=caption,
        other=other,
        other_caption="" if other is None else tongue.word("test", other.title),
        spoken=tongue.say("Drawing of the body line"),
    )


def _bow(value: float, sd: float, tongue: Tongue) -> str:
    return tongue.say("bow {amount}", amount=tongue.plus_minus(value, SD_95 * sd, "pct", 1))


def _row(one: PlannedWork, her: Her, catalogue: Catalogue, tongue: Tongue) -> WorkRow:
    # Of one who was never screened only what is usual is known: that is no number of hers.
    known = her.hers is not None and not her.hers.never_screened
    # Payoff times gain: what the work takes off the bow; their errors are independent.
    off = one.payoff.value * one.gain.value
    spread = ((one.payoff.value * one.gain.sd) ** 2 + (one.gain.value * one.payoff.sd) ** 2) ** 0.5
    return WorkRow(
        label=capacity_label(one.capacity, catalogue, tongue),
        weekly=tongue.amount(one.weekly_min, "min"),
        missing=shortfall_in_words(one.capacity, one.shortfall, tongue)
        if known
        else tongue.say("not tested yet"),
        gain=gain_in_words(one.capacity, shortfall=one.shortfall, gain=one.gain, tongue=tongue),
        payoff=tongue.plus_minus(off, SD_95 * spread, "pct", 1) if known else "–",
    )


def _no_work(her: Her, tongue: Tongue) -> str:
    if her.plan is None:
        return tongue.say("There is no plan for her group yet.")
    if her.hers is None:
        return tongue.say("The plan was made without her; make it again.")
    if not any(one.weekly_min > 0.0 for one in her.hers.work):
        return tongue.say("The plan holds no work for her.")
    return ""


def _too_little(her: Her, training: TrainingCatalogue, tongue: Tongue) -> str:
    if her.hers is None or not her.hers.too_little:
        return ""
    names = [group_label(name, training, tongue) for name in her.hers.too_little]
    return tongue.say(
        "Fewer minutes than the least that is known to help: {groups}.", groups=tongue.joined(names)
    )


def group_label(name: str, training: TrainingCatalogue, tongue: Tongue) -> str:
    """Return what a muscle group is called."""
    entry = training.groups.get(name)
    return name if entry is None else tongue.word("group", entry.label)


def _turns(her: Her) -> Counter[str]:
    """Return how often the plan has her at each exercise."""
    evenings = () if her.plan is None else her.plan.evenings
    return Counter(
        turn.exercise
        for evening in evenings
        for round_ in evening.rounds
        for turn in round_
        if her.id in turn.gymnasts
    )


def _exercises(
    her: Her, turns: Counter[str], training: TrainingCatalogue, tongue: Tongue
) -> tuple[ExerciseRow, ...]:
    """Return what she does in the plan, in the order of an evening."""
    order = list(KINDS)
    barred = her.barred(training)
    known = [name for name in turns if stays(name, barred, training) and name in training.exercises]
    known.sort(key=lambda name: (order.index(training.exercises[name].kind), -turns[name], name))
    return tuple(
        ExerciseRow(
            told=tell_exercise(name, training, tongue),
            kind=tongue.say(KINDS[training.exercises[name].kind]),
            turns=tongue.say_n("{count} time", "{count} times", turns[name]),
        )
        for name in known
    )


def _held_back(her: Her, turns: Counter[str], training: TrainingCatalogue, tongue: Tongue) -> str:
    """Return what the plan has for her and an open sign bars."""
    barred = her.barred(training)
    names = [name for name in turns if not stays(name, barred, training)]
    if not names:
        return ""
    titles = [tell_exercise(name, training, tongue).title for name in names]
    return tongue.say(
        "In the plan, but not for her while the sign is open: {exercises}.",
        exercises=tongue.joined(titles),
    )


def _home(
    her: Her, steps: Sequence[str], training: TrainingCatalogue, tongue: Tongue
) -> tuple[str, ...]:
    limits = () if her.found is None else tuple(one.capacity for one in her.found.limiters)
    names = exercises_for_home(her, training, tuple(dict.fromkeys((*limits, *steps))))
    told = [tell_exercise(name, training, tongue) for name in names]
    return tuple(f"{one.title}, {one.dose}" for one in told)


def _waits(her: Her, steps: Sequence[str], catalogue: Catalogue, tongue: Tongue) -> tuple[str, ...]:
    """Return what needs no work now: on the line, or short but not worked on by this plan."""
    if her.found is None:
        return ()
    limits = {one.capacity for one in her.found.limiters}
    enough, later = [], []
    for one in her.found.capacities:
        if not one.tested or one.name in steps or one.name not in catalogue.capacities:
            continue
        label = capacity_label(one.name, catalogue, tongue)
        if one.verdict is Verdict.ON_THE_LINE:
            enough.append(label)
        elif one.verdict is Verdict.CLOSE or one.name in limits:
            later.append(label)
    said = []
    if enough:
        said.append(tongue.say("On the line: {names}.", names=tongue.joined(enough)))
    if later:
        said.append(tongue.say("After this plan: {names}.", names=tongue.joined(later)))
    return tuple(said)
