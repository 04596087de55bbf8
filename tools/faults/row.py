"""What a part gets, and what it tells."""

from dataclasses import dataclass, field
from pathlib import Path


@dataclass(frozen=True)
class Budget:
    """How much a part may try.

    Attributes
    ----------
    share : float
        1 is the whole of `make faults`; the tests take a hundredth. A part has its own number of
        cases at 1.
    seed : int
        The same seed tries the same cases.
    findings : Path
        A folder of the part's own, for what is to be played again.
    """

    share: float
    seed: int
    findings: Path

    def cases(self, whole: int) -> int:
        """Return the part's number of cases, at least one."""
        return max(1, round(whole * self.share))


@dataclass
class Row:
    """A line of the table.

    Attributes
    ----------
    part : str
    cases, found : int
        How much was tried, and how much of it broke a promise.
    worst_s : float [s]
        Longest case.
    peak_mb : float [MB]
        Most memory that the part's process, or one that it started, held at once.
    notes : list of str
        What else is worth telling: what was left out and why, what was found.
    """

    part: str
    cases: int = 0
    found: int = 0
    worst_s: float = 0.0
    peak_mb: float = 0.0
    notes: list[str] = field(default_factory=list)

    @property
    def verdict(self) -> str:
        """'holds', 'left out' where nothing could be tried, or 'BROKEN'."""
        if self.found:
            return "BROKEN"
        return "holds" if self.cases else "left out"
