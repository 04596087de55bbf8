"""What limits her and why, in the coach's language."""

from dataclasses import dataclass
from typing import Final

from chordline.application.findings import Findings, LimiterFinding, Reason
from chordline.application.tongue import Tongue, mark
from chordline.application.training.sheets.her import Her
from chordline.application.training.words import capacity_label, inside, missing_in_words
from chordline.application.wording import SD_95
from chordline.catalogue.schema import Catalogue
from chordline.core.capacity.observed import HOLD_MEASURE

_MOST_REASONS: Final = 2
#: From which probability on a word is said; as in `summary.sureness_in_words`.
_SURENESS: Final = (
    (0.97, mark("almost certain")),
    (0.9, mark("very likely")),
    (0.75, mark("likely")),
    (0.0, mark("more likely than not")),
)


@dataclass(frozen=True)
class ToldLimiter:
    """One limiter: what, how sure, why, and the work."""

    headline: str
    sure: str
    reasons: tuple[str, ...]
    work: str


def no_limiter_in_words(found: Findings | None, tongue: Tongue) -> str:
    """Return what is said where nothing limits her; empty where something does."""
    if found is None:
        return tongue.say("Not screened yet: the plan can only be a general one.")
    return "" if found.limiters else tongue.say("No limiter found in these tests.")


def tell_limiter(
    one: LimiterFinding, found: Findings, her: Her, catalogue: Catalogue, tongue: Tongue
) -> ToldLimiter:
    """Return a limiter in words."""
    entry = catalogue.capacities[one.capacity]
    capacity = next(each for each in found.capacities if each.name == one.capacity)
    sure = next(words for least, words in _SURENESS if one.p >= least)
    reasons = (_reason(reason, her, catalogue, tongue) for reason in one.reasons[:_MOST_REASONS])
    return ToldLimiter(
        headline=tongue.headed(
            tongue.word("capacity", entry.label), missing_in_words(capacity, entry, tongue)
        ),
        sure=tongue.say(
            "{sure} ({percent})", sure=tongue.say(sure), percent=_percent(one.p, tongue)
        ),
        reasons=tuple(filter(None, reasons)),
        work=tongue.word("capacity", entry.work),
    )


def _percent(p: float, tongue: Tongue) -> str:
    """Return a probability in per cent; never a certainty that no measurement gives."""
    if p > 0.99:
        return tongue.say("over {amount}", amount=tongue.amount(99, "pct"))
    return tongue.amount(100.0 * p, "pct")


def _reason(reason: Reason, her: Her, catalogue: Catalogue, tongue: Tongue) -> str:
    """Return what a measure showed: the test, the measure and its value with ±."""
    test = catalogue.tests.get(reason.test)
    if test is None:
        return ""
    title = tongue.word("test", test.title)
    if reason.measure == HOLD_MEASURE:
        told = (
            tongue.say("the hold ended sooner than expected")
            if reason.shift > 0.0
            else tongue.say("the hold lasted longer than expected")
        )
        return tongue.headed(title, told)
    measured = next(
        (
            one.measures[reason.measure]
            for one in her.measurements
            if one.photo == reason.source
            and one.test == reason.test
            and reason.measure in one.measures
        ),
        None,
    )
    entry = catalogue.measures.get(reason.measure)
    if measured is None or entry is None:
        return title
    digits = 0 if measured.unit == "deg" else 1
    spread = SD_95 * measured.total_sd
    value = tongue.plus_minus(abs(measured.value), spread, measured.unit, digits)
    template = entry.positive if measured.value > 0.0 else entry.negative
    label = inside(tongue.word("measure", entry.label), tongue)
    shape = tongue.word("measure", template, value=value)
    return tongue.headed(title, tongue.say("{part} {shape}", part=label, shape=shape))


def open_in_words(found: Findings | None, catalogue: Catalogue, tongue: Tongue) -> tuple[str, ...]:
    """Return what cannot be told yet, by name."""
    if found is None:
        return ()
    said = []
    for one in found.undecided:
        labels = [capacity_label(name, catalogue, tongue) for name in one.capacities]
        # Two that cannot be told apart are named with 'or', one alone stands alone.
        said.append(tongue.say(" or ").join(labels))
    return tuple(said)


def next_test_in_words(found: Findings | None, catalogue: Catalogue, tongue: Tongue) -> str:
    """Return the next test worth its time; empty where there is none."""
    offer = None if found is None else found.next_test
    if offer is None or offer.test not in catalogue.tests:
        return ""
    title = tongue.word("test", catalogue.tests[offer.test].title)
    return tongue.say("Next test: {test}.", test=title)
