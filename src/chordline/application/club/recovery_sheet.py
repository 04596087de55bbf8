"""The recovery sheet: what it says, before anyone decides how it looks."""

from dataclasses import dataclass
from datetime import date
from typing import Protocol

from chordline.application.days import day_in_words


@dataclass(frozen=True)
class RecoverySheet:
    """One sheet of paper that opens the club's pictures when the passphrase is forgotten.

    Attributes
    ----------
    club : str
    printed_on : str
        Day in words.
    groups : tuple of str
        The code; each group ends with a sign that tells a typo.
    what, where, how : tuple of str
        What it is and opens, where it is kept, and how it is used.
    """

    club: str
    printed_on: str
    groups: tuple[str, ...]
    what: tuple[str, ...]
    where: tuple[str, ...]
    how: tuple[str, ...]


class RecoveryPress(Protocol):
    """Turns a recovery sheet into a page or a paper."""

    def to_html(self, sheet: RecoverySheet) -> str:
        """Return one self-contained HTML page."""
        ...

    def to_pdf(self, sheet: RecoverySheet) -> bytes:
        """Return an A4 PDF."""
        ...


def recovery_sheet(club: str, code: str, day: date) -> RecoverySheet:
    """Return the sheet of a recovery code."""
    return RecoverySheet(
        club=club,
        printed_on=day_in_words(day),
        groups=tuple(code.split("-")),
        what=(
            "This code opens the pictures and videos of the club when nobody knows the passphrase "
            "any more.",
            "Whoever has it and the club's machine, or a copy of its data, can see every picture. "
            "It opens nothing by itself.",
            "chordline does not keep it. It cannot be printed again: a new sheet has a new code, "
            "and then this one opens nothing.",
        ),
        where=(
            "On paper, where the club keeps what only few may open: a safe, or a sealed envelope "
            "with the chair.",
            "Not beside the machine, not in a photo or a mail, not in a file.",
            "Write on the envelope who may open it.",
        ),
        how=(
            "Open chordline, choose Unlock, and type the code under “Recovery code”. Small "
            "letters, spaces and hyphens do not matter; the last sign of every group tells a typo.",
            "Then set a new passphrase in the settings, and print a new sheet if somebody else "
            "has seen this one.",
        ),
    )
