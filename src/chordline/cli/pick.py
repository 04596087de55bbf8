"""Who is meant by a card number, a name, or the beginning of a name."""

from chordline.application.club.ports import Tx
from chordline.application.club.records import GymnastRecord
from chordline.application.roster.match import all_gymnasts
from chordline.errors import WrongUseError


def pick_gymnast(tx: Tx, club_id: int, wanted: str) -> GymnastRecord:
    """Return the gymnast of a card number, a name, or the beginning of a name."""
    text = wanted.strip()
    if text.isascii() and text.isdigit() and len(text) < 5:
        her = tx.gymnasts.with_card(club_id, int(text))
        if her is not None:
            return her
    exact = [one for one in tx.gymnasts.named(club_id, text) if one.archived_at is None]
    begins = [row.gymnast for row in all_gymnasts(tx, club_id, text=text)] if text else []
    for candidates in (exact, begins):
        if len(candidates) == 1:
            return candidates[0]
    if begins:
        there = ", ".join(one.name for one in begins[:8])
        raise WrongUseError(f"several gymnasts are found by '{wanted}': {there}")
    raise WrongUseError(f"nobody is found by '{wanted}'; 'chordline roster list' names everybody")
