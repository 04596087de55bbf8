"""Growth as a JSON object, `chordline.growth/1`. docs/records.md describes every key."""

from typing import Any

from chordline.application.growth.growth_words import (
    cautions_in_words,
    chance_in_words,
    check_in_words,
    speed_in_words,
    stature_in_words,
)
from chordline.application.growth.maturity_words import MATURITY_WARNING, maturity_in_words
from chordline.application.growth.told import Growth, Speed, Standing, Untold
from chordline.core.progress.growth_maturity import Maturity, MaturityOffset

SCHEMA = "chordline.growth/1"


def growth_to_json(growth: Growth) -> dict[str, Any]:
    """Return a JSON-ready dictionary."""
    g = growth
    chance = g.fast_growth_probability
    return {
        "schema": SCHEMA,
        "gymnast": g.name,
        "card": g.card,
        "day": g.day.isoformat(),
        "reference": g.reference,
        "age_years": None if isinstance(g.age_years, Untold) else round(g.age_years, 3),
        "statures": [
            {
                "taken_on": one.taken_on.isoformat(),
                "age_years": round(one.age_years, 3),
                "stature_cm": one.stature_cm,
            }
            for one in g.points
        ],
        "stature": _standing(g),
        "velocity": _speed(g),
        "fast_growth": {
            "probability": None if isinstance(chance, Untold) else round(chance, 4),
            "above_cm_per_year": g.fast_cm_per_year,
            "untold": chance.reason if isinstance(chance, Untold) else None,
            "words": chance_in_words(g),
        },
        "maturity": _maturity(g),
        "checks": [
            {
                "code": one.code,
                "contradicts": one.contradicts,
                "days": [day.isoformat() for day in one.days],
                "sentence": check_in_words(one),
            }
            for one in g.checks
        ],
        "cautions": [
            {"sentence": sentence, "source": source} for sentence, source in cautions_in_words(g)
        ],
        "retest_sooner": g.retest_sooner,
        "catalogue": g.catalogue,
    }


def _standing(g: Growth) -> dict[str, Any]:
    told = g.standing
    record: dict[str, Any] = {"stature_cm": g.latest_cm, "z": None, "z_sd": None}
    if isinstance(told, Standing):
        record |= {"z": round(told.z.value, 3), "z_sd": round(told.z.sd, 3)}
        record |= {"implausible": told.implausible, "untold": None}
    else:
        record |= {"implausible": False, "untold": told.reason}
    return {**record, "words": stature_in_words(g)}


def _speed(g: Growth) -> dict[str, Any]:
    told = g.speed
    record: dict[str, Any] = dict.fromkeys(("cm_per_year", "sd", "since", "until"))
    record |= {"statures": 0, "untold": told.reason if isinstance(told, Untold) else None}
    if isinstance(told, Speed):
        record |= {
            "cm_per_year": round(told.cm_per_year.value, 3),
            "sd": round(told.cm_per_year.sd, 3),
            "since": told.since.isoformat(),
            "until": told.until.isoformat(),
            "statures": told.statures,
        }
    return {**record, "words": speed_in_words(g)}


def _maturity(g: Growth) -> dict[str, Any]:
    told = g.maturity
    offsets = told.offsets if isinstance(told, Maturity) else ()
    untold = told.untold if isinstance(told, Maturity) else {}
    return {
        "offsets": [_offset(one) for one in offsets],
        "equations_untold": {name: one.reason for name, one in untold.items()},
        "disagree": isinstance(told, Maturity) and told.disagree,
        "untold": told.reason if isinstance(told, Untold) else None,
        "words": maturity_in_words(g),
        "warning": MATURITY_WARNING,
    }


def _offset(one: MaturityOffset) -> dict[str, Any]:
    return {
        "equation": one.equation,
        "offset_years": round(one.offset_years, 2),
        "error_years": one.error_years,
        "cautions": list(one.cautions),
    }
