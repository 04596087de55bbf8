"""The ladder in words: the shape and the next step, never the person."""

from collections.abc import Iterable, Mapping

import numpy as np

from chordline.application.days import day_in_words
from chordline.application.findings_words import amount, amount_sd, lower_first, unit_of_capacity
from chordline.application.summary import percent_in_words
from chordline.application.training.climb import Asked, Climbed, ClimbedRung
from chordline.application.wording import SD_95, with_unit
from chordline.catalogue.schema import Catalogue, MeasureEntry
from chordline.catalogue.training_schema import TrainingCatalogue
from chordline.core.body.measures import unit_of
from chordline.core.planning.ladder import Standing

STANDING_WORDS: Mapping[Standing, str] = {
    "had": "has it",
    "ready": "ready",
    "close": "close",
    "not_yet": "not yet",
    "cannot_tell": "cannot tell yet",
    "barred": "not while",
}
STANDING_MEANING: Mapping[Standing, str] = {
    "had": "A coach said so, or said that she has a rung that leans on it.",
    "ready": "Every value clears the club's threshold with its error; the rungs before are there.",
    "close": "Near a threshold, or all that lacks is to take the rungs before.",
    "not_yet": "Something that the rung leans on is missing; it is named.",
    "cannot_tell": "A test that would tell has not been made, or told too little.",
    "barred": "A reported sign is open. A licensed clinician looks at it first.",
}
#: Above it a bound tells nothing.
_ALL_BUT_CERTAIN = 0.99
#: Stands on every page and in every listing of the ladder.
WHOSE_THRESHOLDS = (
    "No published cut-off for these skills was found. Every threshold is the club's own, and a "
    "coach decides."
)


def standing_in_words(one: ClimbedRung, catalogue: Catalogue) -> str:
    """Return how she stands to a rung, e.g. ``not while: wrist pain``."""
    word = STANDING_WORDS[one.standing]
    return f"{word}: {signs_in_words(one, catalogue)}" if one.standing == "barred" else word


def signs_in_words(one: ClimbedRung, catalogue: Catalogue) -> str:
    """Return the signs that bar a rung; empty without."""
    labels = [catalogue.referrals[sign].label for sign in one.judged.rung.barred_by]
    return "; ".join(map(lower_first, labels))


def asked_in_words(asked: Asked, catalogue: Catalogue) -> str:
    """Return one thing that a rung leans on: what was seen, with its ±, and what is asked."""
    seen = _seen(asked, catalogue)
    return f"{_subject(asked, catalogue)}: {seen}; asked: {_limit(asked, catalogue)}"


def ask_in_words(asked: Asked, catalogue: Catalogue) -> str:
    """Return what would tell of something that cannot be told yet."""
    return f"{_subject(asked, catalogue)}: {_why_open(asked, catalogue)}"


def _why_open(asked: Asked, catalogue: Catalogue) -> str:
    gate = asked.judged.gate
    if asked.hold_on_s is not None:
        why = f"stopped in shape too early to tell; let it go on until {asked.hold_on_s:.0f} s."
    elif asked.put_aside:
        why = "two takes contradict each other; look at both, take the test again."
    elif asked.kind == "hold":
        why = f"no seconds taken yet; asked: {_limit(asked, catalogue)}."
    elif gate.value is None:
        why = "not tested yet."
    else:
        why = f"{_seen(asked, catalogue)}, not sure enough; asked: {_limit(asked, catalogue)}."
    if asked.blocked:
        return f"{why} Not to be tested while a reported sign is open."
    if asked.ask_test is not None and asked.kind != "hold":
        return f"{why} To decide: {lower_first(catalogue.tests[asked.ask_test].title)}."
    return why


def missing_in_words(
    one: ClimbedRung, climbed: Climbed, *, catalogue: Catalogue, training: TrainingCatalogue
) -> tuple[str, ...]:
    """Return everything that is missing, or near its threshold, for a rung."""
    told = [f"{asked_in_words(asked, catalogue)}{_how_near(asked)}." for asked in one.missing]
    if one.judged.first and one.standing != "had":
        titles = "; ".join(training.rungs[rung].title for rung in one.judged.first)
        told.append(f"First: {titles}.")
    if one.judged.rung.old_enough is False:
        told.append(f"From {one.entry.from_age_y} years on; she is {climbed.known.age_y}.")
    return tuple(told)


def _how_near(asked: Asked) -> str:
    if asked.judged.state != "close":
        return ""
    return ", clear but not with its ±" if (asked.judged.p or 0.0) >= 0.5 else ", near"


def open_in_words(one: ClimbedRung, catalogue: Catalogue) -> tuple[str, ...]:
    """Return what would tell, for everything that cannot be told yet."""
    told = [ask_in_words(asked, catalogue) for asked in one.unknown]
    if one.judged.rung.old_enough is None:
        told.append(f"From {one.entry.from_age_y} years on; her birth date is not known.")
    return tuple(told)


def clear_in_words(one: ClimbedRung, catalogue: Catalogue) -> tuple[str, ...]:
    """Return what clears its threshold with its error."""
    return tuple(
        asked_in_words(asked, catalogue) + "."
        for asked in one.asked
        if asked.judged.state == "clear"
    )


def chance_in_words(one: ClimbedRung, catalogue: Catalogue) -> str:
    """Return the probability with its reason; empty where nothing is measured."""
    p = one.judged.p
    if p is None:
        return ""
    known = [asked for asked in one.asked if asked.judged.p is not None]
    if one.judged.p_is_bound and p > _ALL_BUT_CERTAIN:
        return ""
    bound = "at most " if one.judged.p_is_bound and p >= 1.0 - _ALL_BUT_CERTAIN else ""
    chance = f"{bound}{_percent(p)}"
    if len(one.asked) == 1:
        return f"Chance that it clears the club's threshold: {chance}."
    if len(known) == 1:
        return f"Chance that all of it clears together: {chance}."
    least = min(known, key=lambda asked: asked.judged.p or 0.0)
    return (
        f"Chance that all of it clears together: {chance}. Least sure: "
        f"{lower_first(_subject(least, catalogue))}, {_percent(least.judged.p or 0.0)}."
    )


def _percent(p: float) -> str:
    """Return a probability in per cent, rounded down: what is told as 95 % is no less."""
    return percent_in_words(np.floor(100.0 * p) / 100.0 if p <= _ALL_BUT_CERTAIN else p)


def joint_in_words(climbed: Climbed) -> str:
    """Return how the values of a rung are taken together."""
    if climbed.known.correlations is None:
        return "Capacities are counted as independent of each other."
    return "How her capacities hang together is taken from her latest screen."


def said_in_words(one: ClimbedRung, training: TrainingCatalogue) -> str:
    """Return who said that she has a rung, and since when; empty where nobody did."""
    if one.said is not None:
        return f"She has it since {day_in_words(one.said.reached_on)}, said by {one.said.author}."
    if one.judged.implied_by is not None:
        return f"She has “{training.rungs[one.judged.implied_by].title}”, which leans on it."
    return ""


def brief_in_words(one: ClimbedRung, *, catalogue: Catalogue, training: TrainingCatalogue) -> str:
    """Return the one thing that holds a rung back, in the few words of a table's cell."""
    told = ""
    if one.standing == "barred":
        told = signs_in_words(one, catalogue)
    elif one.standing in ("had", "ready"):
        told = ""
    elif one.missing and one.standing != "cannot_tell":
        least = min(one.missing, key=lambda asked: asked.judged.p or 0.0)
        told = lower_first(_subject(least, catalogue, brief=True))
    elif one.judged.rung.old_enough is False:
        told = f"from {one.entry.from_age_y} years"
    elif one.judged.first:
        told = f"first: {lower_first(training.rungs[one.judged.first[0]].title)}"
    elif one.unknown:
        told = f"test: {lower_first(_subject(one.unknown[0], catalogue, brief=True))}"
    elif one.judged.rung.old_enough is None:
        told = "birth date"
    return told


def next_in_words(climbed: Climbed) -> str:
    """Return the next step."""
    one = climbed.next
    if one is None:
        if any(rung.standing == "barred" for rung in climbed.rungs):
            return "Next: let a licensed clinician look at the reported sign first."
        if climbed.rungs and all(rung.standing == "had" for rung in climbed.rungs):
            return "Every rung of this ladder is there."
        return "Next: the tests named below; nothing can be told of a rung yet."
    return f"Next: {one.entry.title} ({STANDING_WORDS[one.standing]})."


def also_ready(climbed: Climbed) -> tuple[ClimbedRung, ...]:
    """Return the rungs that are ready beside the next one, from the floor up."""
    return tuple(
        one for one in climbed.rungs if one.standing == "ready" and one is not climbed.next
    )


def _subject(asked: Asked, catalogue: Catalogue, *, brief: bool = False) -> str:
    if asked.kind == "capacity":
        return catalogue.capacities[asked.subject].label
    assert asked.test is not None
    title = catalogue.tests[asked.test].title
    if asked.kind == "hold":
        return title.partition(",")[0]
    label = lower_first(catalogue.measures[asked.subject].label)
    return label if brief else f"{title}, {label}"


def _seen(asked: Asked, catalogue: Catalogue) -> str:
    value = asked.judged.gate.value
    assert value is not None
    if asked.kind == "capacity":
        entry = catalogue.capacities[asked.subject]
        told = amount(asked.subject, value.value)
        none_missing = value.value <= 0.0 or told == amount(asked.subject, 0.0)
        words = f"{entry.enough}," if none_missing else entry.missing.format(value=told)
        return f"{words} ± {amount_sd(asked.subject, value.value, value.sd)}"
    if asked.kind == "hold":
        seconds = float(np.exp(value.value))
        how = "at least " if asked.judged.gate.at_least else ""
        return f"{how}{seconds:.0f} s ± {SD_95 * value.sd * seconds:.0f} s in shape"
    measure = catalogue.measures[asked.subject]
    unit = unit_of(asked.subject)
    return f"{_shape(measure, value.value, unit)} ± {with_unit(SD_95 * value.sd, unit)}"


def _shape(entry: MeasureEntry, value: float, unit: str) -> str:
    told = with_unit(value, unit)
    if told == with_unit(0.0, unit):
        return entry.zero
    return (entry.positive if value > 0.0 else entry.negative).format(value=told)


def _limit(asked: Asked, catalogue: Catalogue) -> str:
    """Return what the club asks for, e.g. ``closed by at most 10°``."""
    gate = asked.judged.gate
    if asked.kind == "hold":
        assert gate.least is not None
        return f"at least {np.exp(gate.least):.0f} s"
    if asked.kind == "capacity":
        assert gate.most is not None
        entry = catalogue.capacities[asked.subject]
        of_target = unit_of_capacity(asked.subject) == "s"
        bound = "at least" if of_target else "at most"
        return entry.missing.format(value=f"{bound} {amount(asked.subject, gate.most)}")
    measure = catalogue.measures[asked.subject]
    return " and ".join(_ends(measure, gate.least, gate.most, unit_of(asked.subject)))


def _ends(entry: MeasureEntry, least: float | None, most: float | None, unit: str) -> Iterable[str]:
    if least is not None and most is not None and least == -most:
        yield f"at most {with_unit(most, unit)} either way"
        return
    if least is not None:
        words, bound = (entry.positive, "at least") if least > 0.0 else (entry.negative, "at most")
        yield words.format(value=f"{bound} {with_unit(least, unit)}")
    if most is not None:
        words, bound = (entry.negative, "at least") if most < 0.0 else (entry.positive, "at most")
        yield words.format(value=f"{bound} {with_unit(most, unit)}")
