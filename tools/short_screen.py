"""Does a short screen find what the full battery finds?

Squads are drawn from the model's own prior. Every gymnast is screened three times with the same
outcomes: test by test, always the one that `next_test` offers, until it offers none; the same
without a limit of time; and with every test that the model reads. The table compares the findings.

    python tools/short_screen.py                              print the table
    python tools/short_screen.py --write docs/short_screen.md   write the page
"""

import argparse
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from chordline.application.find_limits import FindLimits, ScreenInput
from chordline.application.findings import Findings
from chordline.catalogue.loader import load_catalogue
from chordline.catalogue.segments import our_segments
from chordline.core.body.measurement import Mark, Measure, Measurement, Trust
from chordline.core.body.measures import unit_of
from chordline.core.body.verdict import Verdict
from chordline.core.capacity.observed import HOLD_MEASURE, Held

SQUADS, GYMNASTS, SEED = 40, 12, 20
#: The coach stops a hold that lasts this long [s].
CAP_S = 60.0
CATALOGUE = load_catalogue()
FIND = FindLimits(CATALOGUE, our_segments())
_MINUTES = CATALOGUE.settings["short_screen_minutes"]
#: The same rule where time is no object.
PATIENT = FindLimits(
    CATALOGUE.model_copy(
        update={
            "settings": {
                **CATALOGUE.settings,
                "short_screen_minutes": _MINUTES.model_copy(update={"value": 1000.0}),
            }
        }
    ),
    our_segments(),
)
MODEL = FIND.model
HOLD_REL_SD = CATALOGUE.setting("hold_rel_sd")


@dataclass(frozen=True)
class Gymnast:
    """Her true limiters, and what each test would show: a photo, a hold, or both."""

    limiters: frozenset[str]
    photos: Mapping[str, Measurement]
    holds: Mapping[str, Held]

    def screen(self, tests: list[str], find: FindLimits = FIND) -> Findings:
        """Judge these tests."""
        return find(
            ScreenInput(
                gymnast="",
                card=None,
                screen="",
                measurements=tuple(self.photos[test] for test in tests if test in self.photos),
                held=tuple(self.holds[test] for test in tests if test in self.holds),
            )
        )


def draw_gymnast(rng: np.random.Generator) -> Gymnast:
    """Draw a gymnast from the prior, and the outcome of every test with the model's noise."""
    prior = MODEL.prior(by_hand=True)
    state = prior.mean + prior.sd * rng.normal(size=len(prior.mean))
    shown = MODEL.matrix @ state + MODEL.intercepts
    photos, holds = {}, {}
    for test, rows in MODEL.by_test.items():
        measures = {}
        for i in rows:
            row = MODEL.rows[i]
            if row.measure == HOLD_MEASURE:
                sd = np.sqrt(row.extra_variance + HOLD_REL_SD**2)
                seconds = float(np.exp(shown[i] + sd * rng.normal()))
                capped = seconds >= CAP_S
                holds[test] = Held("clock", test, min(seconds, CAP_S), HOLD_REL_SD, capped)
            else:
                sd = np.sqrt(row.extra_variance + row.typical_sd**2)
                value = float(shown[i] + sd * rng.normal())
                measures[row.measure] = Measure(value, row.typical_sd, unit_of(row.measure), {})
        if measures:
            photos[test] = _measurement(test, measures)
    n = len(MODEL.capacities)
    short = state[:n] > MODEL.thresholds
    limiters = (c.name for c, is_short in zip(MODEL.capacities, short, strict=True) if is_short)
    return Gymnast(frozenset(limiters), photos, holds)


def _measurement(test: str, measures: Mapping[str, Measure]) -> Measurement:
    return Measurement(
        photo=f"{test}.jpg",
        test=test,
        near_side="left",
        front=CATALOGUE.tests[test].front or "right",
        front_origin="test",
        width_px=1600,
        height_px=1200,
        sha256="",
        card=None,
        scale=None,
        landmarks={"hip": Mark(800.0, 600.0, 3.0, "hand")},
        measures=measures,
        covariance=np.diag([measure.sd**2 for measure in measures.values()]),
        trust=Trust(True),
        cautions=(),
        model="simulated",
    )


def follow(gymnast: Gymnast, find: FindLimits) -> tuple[Findings, list[str]]:
    """Follow the next best test until none is offered."""
    tests: list[str] = []
    found = gymnast.screen(tests, find)
    while found.next_test is not None:
        tests.append(found.next_test.test)
        found = gymnast.screen(tests, find)
    return found, tests


@dataclass
class Tally:
    """What one way of screening found, over all gymnasts."""

    minutes: float = 0.0
    tests: Counter[str] = field(default_factory=Counter)
    found: int = 0
    left_open: int = 0
    missed: int = 0
    wrong: int = 0

    def add(self, gymnast: Gymnast, result: Findings, tests: list[str]) -> None:
        """Count one gymnast."""
        named = {one.capacity for one in result.limiters}
        opened = {name for one in result.undecided for name in one.capacities}
        opened |= {one.name for one in result.capacities if one.verdict is Verdict.CANNOT_TELL}
        self.minutes += result.minutes_spent
        self.tests.update(tests)
        self.found += len(gymnast.limiters & named)
        self.left_open += len((gymnast.limiters - named) & opened)
        self.missed += len(gymnast.limiters - named - opened)
        self.wrong += len(named - gymnast.limiters)


@dataclass
class Comparison:
    """Three ways of screening the same gymnasts, and how many limiters they truly have."""

    short: Tally = field(default_factory=Tally)
    patient: Tally = field(default_factory=Tally)
    full: Tally = field(default_factory=Tally)
    gymnasts: int = 0
    limiters: int = 0


def compare() -> Comparison:
    """Screen all gymnasts in the three ways."""
    rng = np.random.default_rng(SEED)
    everything = list(MODEL.by_test)
    result = Comparison()
    for _ in range(SQUADS * GYMNASTS):
        gymnast = draw_gymnast(rng)
        result.gymnasts += 1
        result.limiters += len(gymnast.limiters)
        result.short.add(gymnast, *follow(gymnast, FIND))
        result.patient.add(gymnast, *follow(gymnast, PATIENT))
        result.full.add(gymnast, gymnast.screen(everything), everything)
    return result


def table(result: Comparison) -> str:
    """Return the comparison as a Markdown table."""
    ways = (result.short, result.patient, result.full)

    def line(label: str, totals: Iterable[float], decimals: int) -> str:
        cells = " | ".join(f"{total / result.gymnasts:.{decimals}f}" for total in totals)
        return f"| {label} | {cells} |"

    return "\n".join(
        [
            "| a gymnast, on average | short screen | no limit of time | full battery |",
            "|---|---|---|---|",
            line("minutes of gym time", (way.minutes for way in ways), 1),
            line("tests", (way.tests.total() for way in ways), 1),
            line("limiters she has", (result.limiters for _ in ways), 2),
            line("found", (way.found for way in ways), 2),
            line("left open or not tested, and said so", (way.left_open for way in ways), 2),
            line("missed", (way.missed for way in ways), 2),
            line("wrongly named", (way.wrong for way in ways), 2),
        ]
    )


def page(result: Comparison) -> str:
    """Return docs/short_screen.md."""
    short, patient, full = result.short, result.patient, result.full
    often = "\n".join(
        f"| `{test}` | {short.tests[test] / result.gymnasts:.0%} "
        f"| {patient.tests[test] / result.gymnasts:.0%} |"
        for test, _ in (short.tests + patient.tests).most_common()
    )
    return f"""# The short screen

Written by `python tools/short_screen.py --write docs/short_screen.md`; do not edit by hand.

{SQUADS} squads of {GYMNASTS} gymnasts are drawn from the capacity model's own prior (seed {SEED})
and screened in three ways with the same outcomes: by the *next best test* until none is offered;
the same without a limit of time; and with every test that the model reads.

{table(result)}

The short screen takes {short.minutes / full.minutes:.0%} of the full battery's time and names
{short.found / full.found:.0%} of what it names, without the holds, which take two minutes each.
Without a limit of time the rule takes {patient.minutes / full.minutes:.0%} and names
{patient.found / full.found:.0%}. The rest is left open and said to be so, rather than missed:
'missed' are limiters of which 'close' or 'on the line' was said.
A name is given from a probability of {CATALOGUE.setting("sure"):g}; even the full battery leaves
open what lies near its threshold.

The rule: the test with the most bits a minute that still fits into
{CATALOGUE.setting("short_screen_minutes"):g} minutes and is worth
{CATALOGUE.setting("worth_bits_per_minute"):g} bits a minute; beyond that time only a test that
tells two rivals apart (`short_screen_minutes`, `worth_bits_per_minute` in `settings.toml`).

How often each test is part of it:

| test | short screen | no limit of time |
|---|---|---|
{often}

What this does not show: gymnasts here are as the model believes, every photo succeeds, the seam of
the trunk is marked wherever the model reads it, and holds are stopped at {CAP_S:g} s. Real squads
decide whether the model's assumptions hold.
"""


def main() -> None:
    """Print the table, or write the page."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--write", type=Path, metavar="FILE")
    args = parser.parse_args()
    result = compare()
    if args.write is None:
        print(table(result))
    else:
        args.write.write_text(page(result), encoding="utf-8")


if __name__ == "__main__":
    main()
