"""Stored findings in words: what tables and histories say without judging again."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from chordline.application.club.records import Json
from chordline.application.findings_words import amount_sd, either_in_words, lower_first
from chordline.application.make_squad_sheet import cell_in_words
from chordline.application.squad_sheet import SquadCell
from chordline.application.summary import NO_LIMITER, sureness_in_words
from chordline.catalogue.schema import Catalogue
from chordline.core.body.verdict import Verdict

NOTHING_MEASURED = "Nothing of this screen counts yet."


@dataclass(frozen=True)
class ToldLimiter:
    """What limits her: the capacity, its shortfall in words, ±, and how sure."""

    label: str
    words: str
    known_to: str
    sure: str


@dataclass(frozen=True)
class ToldFindings:
    """Stored findings in words.

    Attributes
    ----------
    limiters : tuple of ToldLimiter
    no_limiter : str
        What is said where there is none; empty where there are some.
    open : tuple of str
        What cannot be told yet, by name.
    stops : tuple of str
        Reported signs.
    cells : mapping of capacity to SquadCell
    """

    limiters: tuple[ToldLimiter, ...]
    no_limiter: str
    open: tuple[str, ...]
    stops: tuple[str, ...]
    cells: Mapping[str, SquadCell]


def tell_findings(record: Json, catalogue: Catalogue) -> ToldFindings:
    """Return stored findings in words.

    Parameters
    ----------
    record : mapping
        `chordline.findings/1`. Capacities and signs that the catalogue has no more are left out.
    catalogue : Catalogue
    """
    capacities: Mapping[str, Any] = {
        name: value for name, value in record["capacities"].items() if name in catalogue.capacities
    }
    limiters = tuple(
        ToldLimiter(
            label=catalogue.capacities[name].label,
            words=capacities[name]["words"],
            known_to=f"± {amount_sd(name, capacities[name]['mean'], capacities[name]['sd'])}",
            sure=sureness_in_words(one["p"]),
        )
        for one in record["limiters"]
        if (name := one["capacity"]) in capacities
    )
    tested = any(one["tested"] for one in capacities.values())
    return ToldFindings(
        limiters=limiters,
        no_limiter="" if limiters else NO_LIMITER if tested else NOTHING_MEASURED,
        open=tuple(
            either_in_words([catalogue.capacities[name].label for name in names])
            for one in record["undecided"]
            if (names := [name for name in one["capacities"] if name in capacities])
        ),
        stops=tuple(
            catalogue.referrals[one["flag"]].label
            for one in record["stops"]
            if one["flag"] in catalogue.referrals
        ),
        cells={
            name: cell_in_words(
                name,
                mean=one["mean"],
                sd=one["sd"],
                verdict=Verdict(one["verdict"]) if one["tested"] else None,
                catalogue=catalogue,
            )
            for name, one in capacities.items()
        },
    )


def tell_in_a_line(told: ToldFindings) -> str:
    """Return limiters and what is open in one line."""
    limits = "; ".join(f"{one.label}: {one.words} ({one.sure})" for one in told.limiters)
    said = f"{limits}." if limits else told.no_limiter
    if told.open:
        said += f" Open: {'; '.join(map(lower_first, told.open))}."
    return said
