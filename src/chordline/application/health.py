"""What `chordline doctor` looks at."""

from dataclasses import dataclass
from typing import Literal

State = Literal["well", "limited", "broken"]


@dataclass(frozen=True)
class Finding:
    """One thing looked at.

    Attributes
    ----------
    what : str
    state : State
        ``limited``: it works, and somebody should look; ``broken``: something has to be mended.
    told : str
        What was found, and what to do about it.
    """

    what: str
    state: State
    told: str
