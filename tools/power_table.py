"""How likely is a true gain seen by a second screen, 4, 8 and 12 weeks after the first?

python tools/power_table.py                        print the tables
python tools/power_table.py --write docs/power.md   write the page
"""

import argparse
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

import numpy as np
from scipy.optimize import brentq

from chordline.catalogue.loader import load_catalogue
from chordline.catalogue.progress import (
    build_change_rules,
    build_marker,
    build_progress_model,
    build_retest_rules,
    load_progress,
)
from chordline.core.capacity.observed import HOLD_MEASURE, Held, Observed, gather
from chordline.core.progress.filter import Known, know_now
from chordline.core.progress.power import (
    TrueChange,
    change_error,
    detection_power,
    planned_rows,
)
from chordline.core.progress.timeline import ScreenAt, plain_timeline
from chordline.core.progress.timeline_layout import Plan

CATALOGUE = load_catalogue()
PROGRESS = load_progress(CATALOGUE)
MODEL = build_progress_model(CATALOGUE, PROGRESS)
RULES = build_change_rules(CATALOGUE, PROGRESS)
POWER = build_retest_rules(CATALOGUE, PROGRESS).power
HAND = build_marker(CATALOGUE, PROGRESS, by_hand=True)
HOLD_REL_SD = CATALOGUE.setting("hold_rel_sd")
WEEKS = (4, 8, 12)
#: True gains in eight weeks, in smallest changes worth knowing.
GAINS = (0.0, 1.0, 2.0, 4.0)
#: How unsure the plan is of its gain.
GAIN_REL_SD = 0.5
#: The tests that docs/short_screen.md finds most often.
SHORT = ("prone-overhead", "handstand", "prone-active", "supine-braced", "prone-rounded")
ALL = tuple(MODEL.capacities.by_test)


@dataclass(frozen=True)
class Screening:
    """The tests that are taken the first and the second time."""

    label: str
    brief: str
    tests: tuple[str, ...]
    takes: int = 1

    @cached_property
    def screen(self) -> ScreenAt:
        """Return a screen that shows what the prior expects, with the errors to reckon with."""
        model = MODEL.capacities
        shown = model.matrix @ model.prior(by_hand=True).mean + model.intercepts
        observed, held = [], []
        for take in range(self.takes):
            for test in self.tests:
                rows = [i for i in model.by_test[test] if model.rows[i].measure != HOLD_MEASURE]
                if rows:
                    names = tuple(model.rows[i].measure for i in rows)
                    errors = np.diag([model.rows[i].typical_sd ** 2 for i in rows])
                    observed.append(Observed(f"{test}-{take}", test, names, shown[rows], errors))
                for i in set(model.by_test[test]) - set(rows):
                    seconds = float(np.exp(shown[i]))
                    held.append(Held(f"{take}", test, seconds, HOLD_REL_SD, False))
        return ScreenAt(0, gather(model, observed, held), HAND)

    @cached_property
    def plan(self) -> Plan:
        """Return the same tests for the second time."""
        return Plan(self.screen.measured, HAND)

    @cached_property
    def known(self) -> Known:
        """Return what is known after the first time."""
        return know_now(MODEL, plain_timeline(MODEL, (self.screen,)), self.plan)

    def error(self, capacity: int, days: int) -> float:
        """Return the sd with which the second time shows a change."""
        planned = planned_rows(self.known.layout, self.plan)
        wander = MODEL.wander_variance_per_day * days
        return float(change_error(self.known.belief, planned, wander, capacity=capacity))

    def power(self, capacity: int, gain: float, days: int) -> float:
        """Return how likely a true gain is called real; the plan expects it, unsure as it is."""
        expected = (1.0 + GAIN_REL_SD**2) * gain**2
        return float(
            detection_power(
                TrueChange(np.array(gain), np.array(0.0)),
                error_sd=np.array(self.error(capacity, days)),
                believed_variance=MODEL.wander_variance_per_day[capacity] * days + expected,
                sure=RULES.sure,
            )
        )

    def smallest(self, capacity: int, days: int) -> float:
        """Return the smallest true gain that is seen with the wanted power."""
        error = self.error(capacity, days)
        if not np.isfinite(error):
            return np.inf
        return float(brentq(lambda g: self.power(capacity, g, days) - POWER, 0.0, 20.0 * error))


SCREENINGS = (
    Screening("short screen", "short", SHORT),
    Screening("short screen, two takes", "short ×2", SHORT, 2),
    Screening("all tests", "all", ALL),
    Screening("all tests, two takes", "all ×2", ALL, 2),
)


def number(value: float, digits: int) -> str:
    """Return a cell."""
    return f"{value:.{digits}f}" if np.isfinite(value) else "–"


def smallest_table() -> str:
    """Return what is seen at all after eight weeks."""
    lines = [
        "| capacity | worth knowing | " + " | ".join(one.label for one in SCREENINGS) + " |",
        "|---|---|" + "---|" * len(SCREENINGS),
    ]
    for i, name in enumerate(MODEL.names):
        digits = 2 if name.endswith("_s") else 1
        cells = [number(one.smallest(i, 56), digits) for one in SCREENINGS]
        lines.append(f"| `{name}` | {RULES.worth[i]:g} | " + " | ".join(cells) + " |")
    return "\n".join(lines)


def power_table(screenings: Sequence[Screening]) -> str:
    """Return the power for true slopes and weeks."""
    heads = [f"{one.brief}, {weeks} w" for one in screenings for weeks in WEEKS]
    lines = [
        "| capacity | true gain a week | " + " | ".join(heads) + " |",
        "|---|---|" + "---|" * len(heads),
    ]
    for i, name in enumerate(MODEL.names):
        for gain in GAINS:
            slope = gain * RULES.worth[i] / 8.0
            cells = [
                f"{one.power(i, slope * weeks, 7 * weeks):.0%}"
                for one in screenings
                for weeks in WEEKS
            ]
            lines.append(f"| `{name}` | {slope:.3g} | " + " | ".join(cells) + " |")
    return "\n".join(lines)


def page() -> str:
    """Return docs/power.md."""
    return f"""# What a second screen can see

Written by `python tools/power_table.py --write docs/power.md`; do not edit by hand.

A gymnast is screened, works, and is screened again with the same tests, landmarks set by hand.
How likely is 'really better' said (probability {RULES.sure:g}) where she really gained? The plan
expects the true gain, unsure by half of it; the answer is allowed to know how far that may lead,
not which way. Reckoned by formula from the model ([progress.md](progress.md)); simulated squads in
`tests/recovery` find the same. The short screen is:
{", ".join(f"`{test}`" for test in SHORT)}.

## The smallest gain that is seen in {POWER:.0%} of the cases after 8 weeks

In the capacity's unit; – where no test looks.

{smallest_table()}

One photo of each test sees large changes only: several times what is worth knowing. A second take
of each test costs seconds and helps wherever the marks and what she changes from take to take are
what blurs. Longer waits help, and more screens do, since the first and the latest are compared with
all in between. Until then the honest answer is 'not yet known', and it is a frequent one.

## Power by true slope

×2: two takes of each test.

{power_table((SCREENINGS[0], SCREENINGS[2], SCREENINGS[3]))}

Rows without a gain show how often 'really better' would be said of nothing.

What this does not show: gymnasts here are as the model believes, every photo succeeds, no hold is
stopped, and every assumption of `progress.toml` holds. Two takes of one day are taken to differ as
much as two days do, apart from what lasts; if how she lies on a day is the same in both, a second
take helps less. A club's own repeated tests decide that.
"""


def main() -> None:
    """Print the tables, or write the page."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--write", type=Path, metavar="FILE")
    args = parser.parse_args()
    if args.write is None:
        print(smallest_table(), power_table(SCREENINGS), sep="\n\n")
    else:
        args.write.write_text(page(), encoding="utf-8")


if __name__ == "__main__":
    main()
