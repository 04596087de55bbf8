"""A group that trains, an invented plan and a few exercises, as several tests need them."""

from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import Any

from chordline.adapters.db.records import SqlRecords, open_records
from chordline.application.club.records import GymnastRecord, NewGymnast
from chordline.application.training.records import PlanRecord
from chordline.catalogue.loader import load_catalogue
from chordline.catalogue.training import load_training
from chordline.catalogue.training_schema import Dose, ExerciseEntry, FeedEntry, TrainingCatalogue

CATALOGUE = load_catalogue()
OURS = load_training(CATALOGUE)
BORN = date(2014, 5, 1)
STATIONS = (("Mats", 2, ("mat",)), ("Wall", 2, ("wall",)), ("Bar", 2, ("bar",)))


def exercise(capacity: str = "hip_extension_deg", **said: Any) -> ExerciseEntry:
    """An exercise that everybody may do unless said otherwise."""
    plain: dict[str, Any] = {
        "title": "Invented",
        "kind": "shape",
        "position": "lying",
        "how": "so",
        "watch": "that",
        "fault": "this",
        "dose": Dose(sets=2, seconds=30, rest_s=30),
        "minutes": 6.0,
        "group": "hip_flexors",
        "feeds": {capacity: FeedEntry(gain=0.8, sd=0.4, source="assumption", reason="invented")},
        "weekly_dose_min": 12.0,
        "from_age_y": 4,
        "level": 1,
        "care": "Stop where it hurts.",
        "source": "assumption",
        "reason": "invented",
    }
    return ExerciseEntry(**{**plain, **said})


def trained_with(exercises: Mapping[str, ExerciseEntry]) -> TrainingCatalogue:
    """Our training catalogue with these exercises instead of its own."""
    return OURS.model_copy(update={"exercises": dict(exercises)})


def open_group(
    folder: Path, *names: str, group: str = "Level 3"
) -> tuple[SqlRecords, int, list[GymnastRecord]]:
    """Records with a club and a group of gymnasts, all born on one day."""
    records = open_records(f"sqlite:///{folder / 'club.db'}")
    with records.transaction() as tx:
        club = tx.clubs.add("Turnverein")
        made = tx.clubs.add_group(club.id, group)
        girls = [
            tx.gymnasts.add(club.id, NewGymnast(name, card=i, birth_date=BORN))
            for i, name in enumerate(names)
        ]
        tx.clubs.put_in_group(made.id, [one.id for one in girls])
    return records, made.id, girls


def turn(station: int, what: str, *gymnasts: int) -> dict[str, Any]:
    return {"station": station, "exercise": what, "gymnasts": list(gymnasts)}


def planned_session(
    day: date,
    *rounds: Sequence[dict[str, Any]],
    absent: Sequence[int] = (),
    resting: Sequence[Sequence[int]] = (),
) -> dict[str, Any]:
    return {
        "date": day.isoformat(),
        "week": 0,
        "starts_at": "17:00",
        "warm_up_min": 10.0,
        "round_min": 8.0,
        "coaches": 2,
        "rounds": [list(turns) for turns in rounds],
        "resting": [list(one) for one in resting] or [[] for _ in rounds],
        "absent": list(absent),
    }


def keep_plan(
    records: SqlRecords, group_id: int, *sessions: dict[str, Any], first_day: date | None = None
) -> PlanRecord:
    """Keep a plan of these sessions."""
    stations = [
        {"name": name, "places": places, "equipment": list(equipment)}
        for name, places, equipment in STATIONS
    ]
    begins = first_day or date.fromisoformat(sessions[0]["date"])
    record = {
        "schema": "chordline.plan/1",
        "first_day": begins.isoformat(),
        "weeks": 1,
        "stations": stations,
        "sessions": list(sessions),
        "gymnasts": [],
    }
    with records.transaction() as tx:
        return tx.training.add_plan(group_id, first_day=begins, record=record, author="Kim")
