"""A club, its gymnasts and photos, as several tests need them."""

import hashlib
from collections.abc import Mapping
from datetime import date
from typing import Any

from chordline.application.club.ports import Records, Tx
from chordline.application.club.records import (
    Club,
    GymnastRecord,
    NewGymnast,
    NewPhoto,
    PhotoRecord,
)
from chordline.application.marks import HandMarks
from chordline.core.body.measurement import Mark

MONDAY = date(2025, 9, 1)
TUESDAY = date(2025, 9, 2)


def found_club(records: Records, *names: str) -> tuple[Club, list[GymnastRecord]]:
    with records.transaction() as tx:
        club = tx.clubs.add("Turnverein")
        girls = [tx.gymnasts.add(club.id, NewGymnast(name, card=i)) for i, name in enumerate(names)]
    return club, girls


def new_photo(name: str, **said: Any) -> NewPhoto:
    digest = hashlib.sha256(name.encode()).hexdigest()
    return NewPhoto(
        name=name,
        sha256=digest,
        size_bytes=1000,
        content_key=said.pop("content_key", f"plain-{digest}"),
        **said,
    )


def file_photo(tx: Tx, girl: GymnastRecord, name: str, test: str | None = None) -> PhotoRecord:
    screen = tx.screens.on(girl.id, MONDAY)
    new = new_photo(name, screen_id=screen.id, test=test or "prone-overhead")
    return tx.photos.file(girl.club_id, new).photo


def marks_at(x_px: float) -> HandMarks:
    return HandMarks(
        "left",
        "down",
        {
            "malleolus": Mark(100.0, 300.25, 4.0, "hand"),
            "hip": Mark(x_px, 310.0, 4.0, "hand"),
            "hand": Mark(900.0, 305.0, 2.5, "auto"),
        },
    )


def measured(*reasons: str, **extra: Any) -> dict[str, Any]:
    """What a measurement record holds, as far as the records look into it."""
    # Not in the alphabet's order: the covariance stands in the order of the measures.
    measures: Mapping[str, Any] = {
        "shoulder_opening_deg": {"value": -20.0, "sd": 1.5, "unit": "deg", "systematic": {}},
        "bow_max_pct": {"value": 4.0, "sd": 0.5, "unit": "%", "systematic": {}},
        "hip_opening_deg": {"value": -3.0, "sd": 1.0, "unit": "deg", "systematic": {}},
    }
    return {
        "schema": "chordline.measurement/1",
        "measures": measures,
        "trust": {"accepted": not reasons, "reasons": list(reasons)},
        "model": "hand marks",
        **extra,
    }
