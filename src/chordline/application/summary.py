"""A gymnast's findings in one line, and the words for how sure and how long."""

from chordline.application.findings import Findings
from chordline.application.findings_words import either_in_words, lower_first

NO_LIMITER = "No limiter found in these tests."

#: From which probability on a word is said.
_SURENESS = ((0.97, "almost certain"), (0.9, "very likely"), (0.75, "likely"))


def sureness_in_words(p: float) -> str:
    """Return how sure something is, e.g. ``very likely``."""
    return next((words for least, words in _SURENESS if p >= least), "more likely than not")


def percent_in_words(p: float) -> str:
    """Return a probability in per cent; never a certainty that no measurement gives."""
    if p > 0.99:
        return "over 99 %"
    return "under 1 %" if p < 0.01 else f"{100.0 * p:.0f} %"


def minutes_in_words(minutes: float) -> str:
    """Return gym time as a coach says it, to the half minute."""
    halves = max(1, round(2.0 * minutes))
    if halves == 1:
        return "half a minute"
    if halves == 2:
        return "1 minute"
    return f"{halves // 2}{'½' if halves % 2 else ''} minutes"


def limits_in_words(found: Findings) -> tuple[str, ...]:
    """Return every limiter in a few words, the one to work on first in front."""
    return tuple(f"{one.label}: {one.words} ({sureness_in_words(one.p)})" for one in found.limiters)


def open_names(found: Findings) -> tuple[str, ...]:
    """Return what cannot be told yet, by name only."""
    labels = {one.name: one.label for one in found.capacities}
    return tuple(
        either_in_words([labels[name] for name in one.capacities]) for one in found.undecided
    )


def summary_in_words(found: Findings) -> str:
    """Return what limits her, what is open and what to test next, in one line."""
    parts = [f"Stop: {stop.label}." for stop in found.stops]
    limits = limits_in_words(found)
    parts.append(f"Limits her: {'; '.join(limits)}." if limits else NO_LIMITER)
    if found.undecided:
        parts.append(f"Open: {'; '.join(lower_first(name) for name in open_names(found))}.")
    if found.not_used:
        count = len({line.partition(":")[0] for line in found.not_used})
        parts.append(f"{count} {'picture needs' if count == 1 else 'pictures need'} a look.")
    if found.next_test is not None:
        parts.append(f"Next: {lower_first(found.next_test.title)}.")
    return " ".join(parts)
