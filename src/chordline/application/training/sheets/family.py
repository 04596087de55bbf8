"""The sheet for a gymnast and her family: one page, plain and kind."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta
from typing import Final

from chordline.application.drawn_line import DrawnLine
from chordline.application.forecast.stance import HANDSTAND
from chordline.application.sheet_forecast import handstand_among, today_line
from chordline.application.tongue import Tongue, mark
from chordline.application.training.sheets.family_words import GOING_WELL, NEXT_STEP
from chordline.application.training.sheets.her import Her
from chordline.application.training.sheets.home import days_a_week, exercises_for_home
from chordline.application.training.words import (
    ToldExercise,
    capacity_label,
    inside,
    tell_exercise,
)
from chordline.catalogue.schema import Catalogue
from chordline.catalogue.training_schema import TrainingCatalogue
from chordline.core.body.measurement import Measurement
from chordline.core.body.verdict import Verdict

#: More praise than this is not read, more dates are not kept. Assumption.
_MOST_WELL: Final = 3
_MOST_DATES: Final = 3

STOP: Final = (
    mark(
        "Does something hurt, tingle, feel numb, or feel different on one side? Stop at once and "
        "tell your coach and your family. A licensed clinician has a look before you go on."
    ),
    mark(
        "Nobody pushes you further into a stretch, not even a little. A stretch pulls gently and "
        "you can breathe and talk in it."
    ),
)


@dataclass(frozen=True)
class HomeExercise:
    """An exercise to do at home, and on how many days."""

    told: ToldExercise
    often: str


@dataclass(frozen=True)
class FamilyLine:
    """What is drawn of her.

    Attributes
    ----------
    photo : Measurement or None
        Her handstand; `photo_caption` stands under it.
    reachable : tuple of (x, y)
        The line that she can reach today, as `LineForecast.line`; empty where nobody knows.
    lying : DrawnLine or None
        Another line of hers, where there is neither.
    photo_caption, reachable_caption, lying_caption, key, spoken : str
        Captions, how to read it, and what is said to those who cannot see it.
    """

    photo: Measurement | None
    reachable: tuple[tuple[float, float], ...]
    lying: DrawnLine | None
    photo_caption: str
    reachable_caption: str
    lying_caption: str
    key: str
    spoken: str


@dataclass(frozen=True)
class FamilySheet:
    """One page for a gymnast and her family, in her language.

    Attributes
    ----------
    language : str
    kicker, gymnast, facts : str
    line_heading : str
    line : FamilyLine or None
        None where nothing was measured.
    well_heading, next_heading, home_heading, care_heading, dates_heading : str
    well : tuple of str
    next_step, next_words : str
        A name for it, which may be empty, and what it is.
    waits : str
        What waits because of a reported sign; empty where nothing does.
    home : tuple of HomeExercise
    home_words : str
        Says how to do them, or that there are none yet.
    care, dates : tuple of str
    """

    language: str
    title: str
    kicker: str
    gymnast: str
    facts: str
    line_heading: str
    line: FamilyLine | None
    well_heading: str
    well: tuple[str, ...]
    next_heading: str
    next_step: str
    next_words: str
    waits: str
    home_heading: str
    home_words: str
    home: tuple[HomeExercise, ...]
    care_heading: str
    care: tuple[str, ...]
    dates_heading: str
    dates: tuple[str, ...]


def make_family_sheet(
    her: Her, *, catalogue: Catalogue, training: TrainingCatalogue, tongue: Tongue
) -> FamilySheet:
    """Return the sheet."""
    steps = next_steps(her)
    name, words = _next_step(her, steps, catalogue, tongue)
    home = tuple(
        HomeExercise(tell_exercise(one, training, tongue), _often(one, training, tongue))
        for one in exercises_for_home(her, training, steps)
    )
    return FamilySheet(
        language=tongue.code,
        title=tongue.say("Your line: {gymnast}", gymnast=her.name),
        kicker=tongue.say("For you and your family"),
        gymnast=her.name,
        facts=f"{her.club} · {tongue.day(her.day)}",
        line_heading=tongue.say("Your line"),
        line=_line(her, catalogue, tongue),
        well_heading=tongue.say("Going well"),
        well=_going_well(her, tongue),
        next_heading=tongue.say("Your next step"),
        next_step=name,
        next_words=words,
        waits=_waits(her, catalogue, tongue),
        home_heading=tongue.say("At home"),
        home_words=_home_words(len(home), tongue),
        home=home,
        care_heading=tongue.say("Take care"),
        care=(*(tongue.say(one) for one in STOP), tongue.say(_NO_DEVICE)),
        dates_heading=tongue.say("Next dates"),
        dates=_dates(her, tongue),
    )


_NO_DEVICE: Final = mark(
    "This sheet describes shapes. It is not medical advice, and a question for your coach is "
    "always welcome."
)


def next_steps(her: Her) -> tuple[str, ...]:
    """Return the capacities to work on: what limits her, then what her plan works on."""
    limits = () if her.found is None else tuple(one.capacity for one in her.found.limiters)
    planned = () if her.hers is None else tuple(one.capacity for one in her.hers.work)
    return tuple(dict.fromkeys((*limits, *planned)))


def _next_step(
    her: Her, steps: Sequence[str], catalogue: Catalogue, tongue: Tongue
) -> tuple[str, str]:
    if her.found is None:
        return "", tongue.say(
            "We have not looked at your line yet. When we have, this page says what comes next."
        )
    if steps:
        known = NEXT_STEP.get(steps[0])
        if known is None:
            return capacity_label(steps[0], catalogue, tongue), ""
        return tongue.say(known[0]), tongue.say(known[1])
    return "", tongue.say(
        "Nothing in what we looked at stands in the way of a straight line. Keep it, and take it "
        "along into your skills."
    )


def _going_well(her: Her, tongue: Tongue) -> tuple[str, ...]:
    found = her.found
    if found is None:
        return (tongue.say("You train with us, and we are glad that you do."),)
    enough = {
        one.name
        for one in found.capacities
        if one.tested and one.verdict is Verdict.ON_THE_LINE and one.name in GOING_WELL
    }
    said = [tongue.say(words) for name, words in GOING_WELL.items() if name in enough]
    tests = len({one.test for one in her.measurements})
    if not said:
        return (
            tongue.say_n(
                "You showed us {count} position. Now we know where to begin.",
                "You showed us {count} positions. Now we know where to begin.",
                tests,
            ),
        )
    return tuple(said[:_MOST_WELL])


def _line(her: Her, catalogue: Catalogue, tongue: Tongue) -> FamilyLine | None:
    photo = handstand_among(her.measurements)
    # A photo that needs a look is her coach's business, not the family's.
    if photo is not None and not photo.trust.accepted:
        photo = None
    # One line is enough for a child: what she can reach stands in only where there is no photo.
    forecast = None if her.found is None or photo is not None else her.found.forecast
    reachable = () if forecast is None else today_line(forecast, catalogue).outline
    lying = her.line if photo is None and her.line is not None else None
    if lying is not None and (
        lying.measurement.test == HANDSTAND or not lying.measurement.trust.accepted
    ):
        lying = None
    if photo is None and not reachable and lying is None:
        return None
    title = "" if lying is None else tongue.word("test", lying.title)
    return FamilyLine(
        photo=photo,
        reachable=reachable,
        lying=lying,
        photo_caption=tongue.say("Your handstand"),
        reachable_caption=tongue.say("What your body can do today"),
        lying_caption=title,
        key=tongue.say(
            "The thin straight line runs from your hands to your feet. The thick line is you. "
            "Where they lie together, you are straight."
        )
        if photo is not None or reachable
        else tongue.say(
            "The thin line is straight. The thick line is you. Where they lie together, you are "
            "straight."
        ),
        spoken=tongue.say("Drawing of your body line"),
    )


def _waits(her: Her, catalogue: Catalogue, tongue: Tongue) -> str:
    signs = [
        inside(tongue.word("sign", catalogue.referrals[flag].label), tongue)
        for flag in her.flags
        if flag in catalogue.referrals
    ]
    if not signs:
        return ""
    return tongue.say(
        "You told us: {signs}. What loads it waits until a licensed clinician has had a look. "
        "Telling us was right.",
        signs=tongue.joined(signs),
    )


def _often(name: str, training: TrainingCatalogue, tongue: Tongue) -> str:
    entry = training.exercises[name]
    return tongue.say_n("{count} day a week", "{count} days a week", days_a_week(entry))


def _home_words(count: int, tongue: Tongue) -> str:
    if count == 0:
        return tongue.say("Nothing to do at home for now. Rest, play, and come back rested.")
    return tongue.say(
        "On a soft floor, warm, with somebody near. Neat and short is better than long. Leave it "
        "out on days when you are ill or very tired."
    )


def _dates(her: Her, tongue: Tongue) -> tuple[str, ...]:
    dates = []
    for one in her.evenings:
        if her.id in one.absent:
            continue
        day = tongue.weekday(one.held_on)
        dates.append(
            day
            if one.starts_at is None
            else tongue.say("{day}, {clock}", day=day, clock=tongue.clock(one.starts_at))
        )
    said = [tongue.say("Training:"), *dates[:_MOST_DATES]] if dates else []
    if her.plan is not None and her.plan.last_day >= her.day:
        again = her.plan.last_day + timedelta(days=1)
        said.append(
            tongue.say("We look at your line again from {day} on.", day=tongue.weekday(again))
        )
    if not said:
        said.append(tongue.say("Your coach tells you the next date."))
    return tuple(said)
