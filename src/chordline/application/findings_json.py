"""Findings as a JSON object, `chordline.findings/1`. docs/records.md describes every key."""

from typing import Any

from chordline.application.findings import Findings, TestOffer
from chordline.application.forecast.forecast_json import forecast_to_json

SCHEMA = "chordline.findings/1"


def findings_to_json(findings: Findings) -> dict[str, Any]:
    """Return a JSON-ready dictionary."""
    f = findings
    return {
        "schema": SCHEMA,
        "gymnast": f.gymnast,
        "card": f.card,
        "screen": f.screen,
        "capacities": {
            one.name: {
                "mean": round(one.mean, 3),
                "sd": round(one.sd, 3),
                "p_limiter": round(one.p_limiter, 4),
                "tested": one.tested,
                "verdict": one.verdict.value,
                "words": one.words,
            }
            for one in f.capacities
        },
        "limiters": [
            {
                "capacity": one.capacity,
                "p": round(one.p, 4),
                "straightening_deg": round(one.straightening_deg, 2),
                "work": one.work,
                "reasons": [
                    {
                        "sentence": reason.sentence,
                        "source": reason.source,
                        "test": reason.test,
                        "measure": reason.measure,
                        "shift": round(reason.shift, 3),
                    }
                    for reason in one.reasons
                ],
            }
            for one in f.limiters
        ],
        "undecided": [
            {
                "capacities": list(one.capacities),
                "sentence": one.sentence,
                "ask_test": one.ask_test,
            }
            for one in f.undecided
        ],
        "next_test": None if f.next_test is None else _offer(f.next_test),
        "compensations": [
            {
                "test": change.test,
                "base": change.base,
                "measure": change.measure,
                "change": round(change.change, 3),
                "sd": round(change.sd, 3),
                "sentence": sentence,
            }
            for change, sentence in f.compensations
        ],
        "put_aside": [
            {"source": one.source, "test": one.test, "measure": one.measure, "why": one.why}
            for one in f.faults
        ],
        "not_used": list(f.not_used),
        "stops": [
            {"flag": one.flag, "advice": one.advice, "tests": list(one.tests)} for one in f.stops
        ],
        "cautions": [*(f"{one.label}: {one.advice}" for one in f.stops), *f.cautions],
        "forecast": forecast_to_json(f.forecast),
        "minutes_spent": f.minutes_spent,
        "catalogue": f.catalogue_version,
        "models": list(f.models),
    }


def _offer(offer: TestOffer) -> dict[str, Any]:
    return {
        "test": offer.test,
        "minutes": offer.minutes,
        "gain_bits": round(offer.gain_bits, 3),
        "sentence": offer.sentence,
    }
