"""Whose family has to be asked, or asked again."""

from dataclasses import dataclass
from datetime import date
from typing import Literal

from chordline.application.club.consent import ConsentRules, ends_soon, stand_of
from chordline.application.club.ports import Tx
from chordline.application.club.records import GymnastRecord
from chordline.application.days import day_in_words
from chordline.application.roster.match import all_gymnasts

Why = Literal["ended", "ends_soon", "not_asked"]
#: What is urgent stands first.
_ORDER = {"ended": 0, "ends_soon": 1, "not_asked": 2}


@dataclass(frozen=True)
class ToAsk:
    """A gymnast whose family is to be asked, and why."""

    gymnast: GymnastRecord
    why: Why

    def words(self) -> str:
        """Return why, in words."""
        until = self.gymnast.consent.until
        if self.why == "not_asked" or until is None:
            return "not asked yet"
        verb = "ran out" if self.why == "ended" else "runs out"
        return f"{verb} on {day_in_words(until)}"


def whom_to_ask(tx: Tx, club_id: int, today: date, rules: ConsentRules) -> tuple[ToAsk, ...]:
    """Return those of the squad whose family is to be asked, the most urgent first."""
    found = [
        ToAsk(row.gymnast, why)
        for row in all_gymnasts(tx, club_id)
        if (why := _why(row.gymnast, today, rules)) is not None
    ]
    return tuple(
        sorted(found, key=lambda one: (_ORDER[one.why], one.gymnast.consent.until or date.max))
    )


def _why(her: GymnastRecord, today: date, rules: ConsentRules) -> Why | None:
    stand = stand_of(her.consent, today)
    if stand == "holds":
        return "ends_soon" if ends_soon(her.consent, today, rules) else None
    return stand
