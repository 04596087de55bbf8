"""An exercise as JSON: ``chordline.exercise/1``."""

from typing import Any, Final

from chordline.catalogue.schema import Sourced
from chordline.catalogue.training_schema import ExerciseEntry

EXERCISE_SCHEMA: Final = "chordline.exercise/1"


def exercise_to_json(name: str, entry: ExerciseEntry) -> dict[str, Any]:
    """Return an exercise; gains are shortfall taken off in a week at the weekly dose."""
    return {
        "schema": EXERCISE_SCHEMA,
        "id": name,
        "title": entry.title,
        "kind": entry.kind,
        "position": entry.position,
        "how": entry.how,
        "watch": entry.watch,
        "fault": entry.fault,
        "care": entry.care,
        "dose": entry.dose.model_dump(),
        "minutes": entry.minutes,
        "weekly_dose_min": entry.weekly_dose_min,
        "group": entry.group,
        "hard": entry.hard,
        "feeds": {
            capacity: {"gain": feed.gain, "sd": feed.sd, **_sourced(feed)}
            for capacity, feed in entry.feeds.items()
        },
        "equipment": list(entry.equipment),
        "spotter": entry.spotter,
        "from_age_y": entry.from_age_y,
        "level": entry.level,
        "loads": list(entry.loads),
        "needs": dict(entry.needs),
        "easier": list(entry.easier),
        "harder": list(entry.harder),
        "home": entry.home,
        **_sourced(entry),
    }


def _sourced(entry: Sourced) -> dict[str, str]:
    return {"source": entry.source, "reason": entry.reason}
