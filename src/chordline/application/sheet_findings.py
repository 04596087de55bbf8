"""Findings with every sentence that page and paper print: nothing to look up is left."""

from dataclasses import dataclass

from chordline.application.findings import Findings, TestOffer
from chordline.application.findings_words import (
    amount_sd,
    ask_in_words,
    either_in_words,
    fault_in_words,
    lower_first,
    open_in_words,
)
from chordline.catalogue.schema import Catalogue


@dataclass(frozen=True)
class OpenQuestion:
    """What cannot be told yet.

    Attributes
    ----------
    state : str
        What is open, without a full stop.
    test : str or None
        Id of the test that would decide it.
    ask : str
        That test and how it is done; empty where no test left could decide it.
    """

    state: str
    test: str | None
    ask: str


@dataclass(frozen=True)
class StopSign:
    """A reported sign, what to do, and the tests that are left out, in words."""

    label: str
    advice: str
    left_out: tuple[str, ...]


@dataclass(frozen=True)
class SheetFindings:
    """Findings as a sheet prints them.

    Attributes
    ----------
    found : Findings
    known_to : mapping of capacity to str
        The ± of every capacity (95 %), with its unit.
    open : tuple of OpenQuestion
    offer : TestOffer or None
        The next test; where none is urgent, one that decides something open, else the best left.
    offer_reads : str
        What it tells.
    then : tuple of str
        Tests that decide something open and are not that one, each with what it decides.
    stops : tuple of StopSign
    put_aside : tuple of str
    """

    found: Findings
    known_to: dict[str, str]
    open: tuple[OpenQuestion, ...]
    offer: TestOffer | None
    offer_reads: str
    then: tuple[str, ...]
    stops: tuple[StopSign, ...]
    put_aside: tuple[str, ...]


def findings_for_sheet(found: Findings, catalogue: Catalogue) -> SheetFindings:
    """Return `found` with its sentences."""
    tests = catalogue.tests
    offer = _offer(found)
    return SheetFindings(
        found=found,
        known_to={
            one.name: f"± {amount_sd(one.name, one.mean, one.sd)}" for one in found.capacities
        },
        open=tuple(
            OpenQuestion(
                state=open_in_words(one.capacities, catalogue),
                test=one.ask_test,
                ask=""
                if one.ask_test is None
                else ask_in_words(one.ask_test, one.capacities, catalogue),
            )
            for one in found.undecided
        ),
        offer=offer,
        offer_reads="" if offer is None else tests[offer.test].reads,
        then=_then(found, offer, catalogue),
        stops=tuple(
            StopSign(
                stop.label,
                stop.advice,
                tuple(tests[test].title for test in stop.tests if test in tests),
            )
            for stop in found.stops
        ),
        # Two takes that contradict each other are two faults and one sentence.
        put_aside=tuple(dict.fromkeys(fault_in_words(fault, catalogue) for fault in found.faults)),
    )


def _offer(found: Findings) -> TestOffer | None:
    asked = {one.ask_test for one in found.undecided}
    deciding = (offer for offer in found.more_tests if offer.test in asked)
    return found.next_test or next(iter((*deciding, *found.more_tests)), None)


def _then(found: Findings, offer: TestOffer | None, catalogue: Catalogue) -> tuple[str, ...]:
    decides: dict[str, list[str]] = {}
    for one in found.undecided:
        if one.ask_test is not None and (offer is None or one.ask_test != offer.test):
            labels = [catalogue.capacities[name].label for name in one.capacities]
            decides.setdefault(one.ask_test, []).append(lower_first(either_in_words(labels)))
    return tuple(
        f"{catalogue.tests[test].title}, to decide {' and '.join(names)}."
        for test, names in decides.items()
    )
