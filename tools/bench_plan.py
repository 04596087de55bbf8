"""Prints how good plans are, how long they take, and how much better than a greedy plan.

    python tools/bench_plan.py [--quick]

The greedy plan is made in the same run, keeps the same rules and opens, again and again, the
station that helps most. Seconds of a busy machine say little; gaps and gains stand on any.
"""

import argparse
import sys
import time
from dataclasses import replace
from datetime import date
from datetime import time as clock
from pathlib import Path

from chordline.application.training.plan_problem import (
    PlannedGymnast,
    PlanRequest,
    build_problem,
)
from chordline.application.training.records import GroupTraining, StationRecord
from chordline.catalogue.loader import load_catalogue
from chordline.catalogue.training import load_training
from chordline.core.planning.problem import Problem
from chordline.core.planning.solve import plan_greedily, solve

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests"))

from plan_checker import find_faults
from squads import squad

GEAR = (
    ("mat", "wall"),
    ("mat", "blocks", "stick"),
    ("mat", "stall_bars", "bar"),
    ("mat", "box", "band"),
    ("mat", "partner_space"),
    ("mat", "wall", "stick"),
)
CATALOGUE = load_catalogue()
TRAINING = load_training(CATALOGUE)
Row = tuple[str, ...]


def real_exercises(count: int, weeks: int) -> Problem:
    """Return a drawn squad's problem with the catalogue's exercises and a gym of six stations."""
    group = GroupTraining(
        group_id=1,
        weekdays=(0, 2, 4),
        starts_at=clock(17, 0),
        minutes=60,
        coaches=2,
        stations=tuple(StationRecord(f"station {n + 1}", 4, one) for n, one in enumerate(GEAR)),
    )
    request = PlanRequest(
        group,
        "drawn",
        date(2026, 1, 5),
        weeks,
        tuple(PlannedGymnast(n + 1, "", date(2015, 1, 1)) for n in range(count)),
    )
    problem = build_problem(request, TRAINING, CATALOGUE)
    # Shortfalls, payoffs, ages, levels and signs are those of the squad with invented exercises.
    drawn = squad(count, weeks=weeks)
    return replace(problem, trainees=drawn.trainees)


def row(name: str, problem: Problem) -> Row:
    """Return one line of the table."""
    start = time.perf_counter()
    greedy = plan_greedily(problem)
    middle = time.perf_counter()
    plan = solve(problem)
    end = time.perf_counter()
    assert plan is not None
    faults = len(find_faults(problem, plan)) + len(find_faults(problem, greedy))
    return (
        name,
        f"{end - middle:.1f} s",
        f"{100.0 * plan.gap:.1f} %",
        f"{middle - start:.1f} s",
        f"{100.0 * greedy.gap:.1f} %",
        f"+{100.0 * (plan.straightening_pct / greedy.straightening_pct - 1.0):.1f} %",
        str(faults),
    )


def main() -> None:
    """Run all benchmarks and print one table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--quick", action="store_true", help="small squads only")
    quick = parser.parse_args().quick
    rows: list[Row] = [
        ("squad", "time", "below bound", "greedy", "below bound", "ours / greedy", "rules broken"),
        row("6 gymnasts, 12 weeks, invented exercises", squad(6, stations=4, places=2)),
        row("24 gymnasts, 4 weeks, invented exercises", squad(24, weeks=4)),
    ]
    if not quick:
        rows += [
            row("24 gymnasts, 12 weeks, invented exercises", squad(24)),
            row("24 gymnasts, 12 weeks, the catalogue's", real_exercises(24, 12)),
        ]
    widths = [max(len(one[i]) for one in rows) for i in range(len(rows[0]))]
    for one in rows:
        print("  ".join(cell.ljust(w) for cell, w in zip(one, widths, strict=True)).rstrip())
    print("wanted: within 5 % of the bound in 20 s on 2 cores, for 24 gymnasts and 12 weeks")


if __name__ == "__main__":
    main()
