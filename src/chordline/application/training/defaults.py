"""How a group trains as long as nobody has said: an ordinary hall, three afternoons a week.

Assumptions all of them: many clubs have a hall of this kind three times a week. Every page and
command that rests on them says so.
"""

from datetime import time
from typing import Final

from chordline.application.training.records import GroupTraining, StationRecord
from chordline.core.planning.problem import Level

_FLOOR: Final = ("mat", "stick", "band", "partner_space")

#: Six stations, so that a squad of 24 has a place each in every round. Sticks and bands are carried
#: to where they are used.
STATIONS: Final[tuple[StationRecord, ...]] = (
    StationRecord("Mats 1", 4, _FLOOR),
    StationRecord("Mats 2", 4, _FLOOR),
    StationRecord("Wall", 4, ("mat", "wall", "stick", "band")),
    StationRecord("Box and blocks", 4, ("mat", "box", "blocks", "stick")),
    StationRecord("Bar", 4, ("bar", "mat")),
    StationRecord("Wall bars", 4, ("stall_bars", "mat", "stick", "band")),
)

#: Monday, Wednesday, Friday: hard work is never on consecutive days.
WEEKDAYS: Final = (0, 2, 4)
STARTS_AT: Final = time(17, 0)
MINUTES: Final = 60
COACHES: Final = 2

#: The careful word for whom nobody has said it: only what a beginner may do.
UNSAID_LEVEL: Final[Level] = 1


def default_training(group_id: int) -> GroupTraining:
    """Return how a group trains as long as nobody has said."""
    return GroupTraining(
        group_id=group_id,
        weekdays=WEEKDAYS,
        starts_at=STARTS_AT,
        minutes=MINUTES,
        coaches=COACHES,
        stations=STATIONS,
        version=0,
    )
