"""A ladder as a JSON object, `chordline.ladder/1`. docs/ladder.md describes every key."""

from typing import Any

from chordline.application.training.climb import Asked, Climbed, ClimbedRung
from chordline.application.training.climb_words import (
    WHOSE_THRESHOLDS,
    missing_in_words,
    open_in_words,
)
from chordline.catalogue.schema import Catalogue
from chordline.catalogue.training_schema import TrainingCatalogue

SCHEMA = "chordline.ladder/1"


def ladder_to_json(
    climbed: Climbed, *, catalogue: Catalogue, training: TrainingCatalogue
) -> dict[str, Any]:
    """Return a JSON-ready dictionary."""
    known, following = climbed.known, climbed.next
    return {
        "schema": SCHEMA,
        "gymnast": known.name,
        "gymnast_id": known.gymnast_id,
        "card": known.card,
        "screen": None if known.screened_on is None else known.screened_on.isoformat(),
        "signs": list(known.signs),
        "next": None if following is None else following.id,
        "rungs": [_rung(one, climbed, catalogue, training) for one in climbed.rungs],
        "elsewhere": [
            {"rung": one.rung, "reached_on": one.reached_on.isoformat(), "author": one.author}
            for one in climbed.elsewhere
        ],
        "together": "independent" if known.correlations is None else "correlated",
        "thresholds": WHOSE_THRESHOLDS,
        "catalogue": training.version,
    }


def _rung(
    one: ClimbedRung, climbed: Climbed, catalogue: Catalogue, training: TrainingCatalogue
) -> dict[str, Any]:
    judged = one.judged
    return {
        "rung": one.id,
        "title": one.entry.title,
        "standing": one.standing,
        "p": None if judged.p is None else round(judged.p, 4),
        "p_is_bound": judged.p_is_bound,
        "gates": [_gate(asked) for asked in one.asked],
        "first": list(judged.first),
        "old_enough": judged.rung.old_enough,
        "barred_by": list(judged.rung.barred_by),
        "said": None
        if one.said is None
        else {"reached_on": one.said.reached_on.isoformat(), "author": one.said.author},
        "implied_by": judged.implied_by,
        "missing": list(missing_in_words(one, climbed, catalogue=catalogue, training=training)),
        "ask": list(open_in_words(one, catalogue)),
        "meanwhile": list(one.meanwhile),
    }


def _gate(asked: Asked) -> dict[str, Any]:
    gate = asked.judged.gate
    value = gate.value
    return {
        "kind": asked.kind,
        "test": asked.test,
        "of": asked.subject,
        "value": None if value is None else round(value.value, 3),
        "sd": None if value is None else round(value.sd, 3),
        "at_least": gate.at_least,
        "least": None if gate.least is None else round(gate.least, 3),
        "most": None if gate.most is None else round(gate.most, 3),
        "p": None if asked.judged.p is None else round(asked.judged.p, 4),
        "state": asked.judged.state,
        "ask_test": asked.ask_test,
    }
