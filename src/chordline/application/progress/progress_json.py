"""Progress as JSON objects, `chordline.progress/1` and `chordline.retest/1`."""

from collections.abc import Sequence
from datetime import date
from typing import Any

from chordline.application.progress.numbers import ProgressNumbers
from chordline.application.progress.progress_words import (
    decider_in_words,
    note_in_words,
    told_in_words,
    why_in_words,
)
from chordline.application.progress.told import CurvePoint, HerRetest, Progress, Since
from chordline.core.progress.change_measured import MeasuredChange

SCHEMA = "chordline.progress/1"
RETEST_SCHEMA = "chordline.retest/1"


def progress_to_json(progress: Progress, numbers: ProgressNumbers) -> dict[str, Any]:
    """Return a JSON-ready dictionary; shortfalls in their units, positive = missing."""
    catalogue = numbers.catalogue
    retest = progress.retest
    return {
        "schema": SCHEMA,
        "gymnast": progress.gymnast.name,
        "card": progress.gymnast.card,
        "day": progress.day.isoformat(),
        "note": note_in_words(progress),
        "screens": [
            {
                "id": one.screen.id,
                "day": one.day.isoformat(),
                "marks": "hand" if one.by_hand else "auto",
                "tests": list(one.tests),
            }
            for one in progress.screens
        ],
        "capacities": {
            one.name: {
                "label": one.label,
                "curve": [_point(point) for point in one.at_screens],
                "since_last": _since(one.label, one.since_last, numbers),
                "since_first": _since(one.label, one.since_first, numbers),
            }
            for one in progress.capacities
        },
        "measured": {
            "since_last": _measured(progress.measured_last),
            "since_first": _measured(progress.measured_first),
        },
        "sure": numbers.changes.sure,
        "done_min": {name: round(minutes, 1) for name, minutes in progress.done_min.items()},
        "retest": None if retest is None else _retest(retest, why_in_words(retest, catalogue)),
        "catalogue": catalogue.version,
    }


def retest_to_json(retest: HerRetest, numbers: ProgressNumbers, *, day: date) -> dict[str, Any]:
    """Return one gymnast's re-test as a JSON-ready dictionary."""
    return {
        "schema": RETEST_SCHEMA,
        "gymnast": retest.gymnast.name,
        "card": retest.gymnast.card,
        "last": retest.last.isoformat(),
        **_retest(retest, why_in_words(retest, numbers.catalogue)),
        "is_due": retest.is_due(day),
    }


def _retest(retest: HerRetest, words: str) -> dict[str, Any]:
    return {
        "due": retest.due.isoformat(),
        "why": retest.why.name.lower(),
        "capacity": retest.capacity,
        "power": round(retest.power, 3),
        "words": words,
    }


def _point(point: CurvePoint) -> dict[str, Any]:
    return {
        "day": point.day.isoformat(),
        "mean": round(point.mean, 3),
        "sd": round(point.sd, 3),
        "measured": point.measured,
    }


def _since(label: str, since: Since | None, numbers: ProgressNumbers) -> dict[str, Any] | None:
    if since is None:
        return None
    change = since.change
    return {
        "day": since.day.isoformat(),
        "gain": {"mean": round(change.gain, 3), "sd": round(change.sd, 3)},
        "p_better": round(change.p_better, 4),
        "p_better_by_worth": round(change.p_better_by_worth, 4),
        "p_worse_by_worth": round(change.p_worse_by_worth, 4),
        "worth": since.worth,
        "better": change.better.value,
        "worse": change.worse.value,
        "standing": since.standing.name.lower(),
        "done_min": round(since.done_min, 1),
        "ask_test": since.ask,
        "words": told_in_words(label, since),
        "decide": decider_in_words(since, numbers.catalogue),
    }


def _measured(changes: Sequence[MeasuredChange]) -> list[dict[str, Any]]:
    return [
        {
            "test": one.test,
            "measure": one.measure,
            "before": round(one.before, 3),
            "after": round(one.after, 3),
            "change": round(one.change, 3),
            "sd": round(one.sd, 3),
            "detectable": round(one.detectable, 3),
            "beyond_error": one.beyond_error,
        }
        for one in changes
    ]
