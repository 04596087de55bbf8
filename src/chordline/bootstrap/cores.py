"""How many cores there are, and from when on processes pay."""

import os

#: From so many photos on worker processes are used; on two cores they pay from about 40 on
#: (docs/scale.md).
PHOTOS_THAT_PAY = 64
#: So many photos at least for each of them.
PHOTOS_A_PROCESS = 8


def usable_cores() -> int:
    """Return how many cores this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def worth_workers(photos: int, cores: int) -> int:
    """Return how many processes pay for so many photos; 1 = measure them in this one.

    All cores or none: this process uses several cores as well, only less well (docs/scale.md).
    """
    if photos < PHOTOS_THAT_PAY:
        return 1
    return min(cores, photos // PHOTOS_A_PROCESS)
