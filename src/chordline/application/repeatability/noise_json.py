"""A club's own errors as a JSON object, `chordline.noise/1`, and back."""

from dataclasses import asdict, fields
from typing import Any

from chordline.application.club.records import Json
from chordline.application.repeatability.own_noise import OwnError, OwnNoise

SCHEMA = "chordline.noise/1"


def noise_to_json(noise: OwnNoise) -> dict[str, Any]:
    """Return a JSON-ready dictionary; sds keep four digits, which no study has."""
    return {
        "schema": SCHEMA,
        "study": noise.study_id,
        "without": list(noise.without),
        "errors": [
            {name: _rounded(value) for name, value in asdict(one).items()} for one in noise.errors
        ],
    }


def noise_from_json(record: Json) -> OwnNoise:
    """Return the errors that `noise_to_json` wrote.

    Raises
    ------
    ValueError, KeyError, TypeError
        For anything that is no such record.
    """
    if record["schema"] != SCHEMA:
        raise ValueError(f"schema is {record['schema']!r}, not {SCHEMA!r}")
    names = [field.name for field in fields(OwnError)]
    return OwnNoise(
        errors=tuple(OwnError(**{name: one[name] for name in names}) for one in record["errors"]),
        study_id=record["study"],
        without=tuple(record["without"]),
    )


def _rounded(value: object) -> object:
    return float(f"{value:.4g}") if isinstance(value, float) else value
