"""Prints what the attainable line costs, against scipy's SLSQP called naively in the same run.

    python tools/bench_mechanics.py [--quick]

Figures of a busy machine say little in seconds; the ratios stand.
"""

import argparse
import statistics
import time
from collections.abc import Callable

import numpy as np
from scipy.optimize import minimize

from chordline.catalogue.segments import (
    build_body,
    build_goal,
    build_stance,
    build_steps,
    default_limits,
    load_segments,
)
from chordline.core.geometry.angles import Floats
from chordline.core.mechanics.chain import leans_of
from chordline.core.mechanics.forecast import ask_what_if, forecast_line, solve_body
from chordline.core.mechanics.limits import Limits, build_rows
from chordline.core.mechanics.line import draw_line, weigh_line

DRAWS = 500
STATURE_M = 1.40
SEGMENTS = load_segments()
BODY = build_body(SEGMENTS, table="de-leva-1996-female", stature_m=STATURE_M)
STANCE, STEPS, GOAL = build_stance(SEGMENTS), build_steps(SEGMENTS), build_goal(SEGMENTS)
Row = tuple[str, str, str, str]


def draw_limits(count: int) -> Limits:
    """Return limits of a girl whose shoulders and hips are known to some degrees."""
    rng = np.random.default_rng(20_260)
    return default_limits(
        SEGMENTS,
        shoulder_opening_rad=np.deg2rad(rng.normal(-15.0, 6.0, count)),
        hip_opening_rad=np.deg2rad(rng.normal(-3.0, 5.0, count)),
        trunk_rounding_rad=np.deg2rad(rng.normal(8.0, 5.0, count)),
        shoulder_push_m=rng.normal(0.0, 0.01, count),
    )


def one_of(limits: Limits, i: int) -> Limits:
    """Return one draw."""
    return Limits(
        **{
            name: value if value.size == 1 else value[i : i + 1]
            for name, value in vars(limits).items()
        }
    )


def solve_naively(limits: Limits) -> float:
    """Return the cost [%] of one draw by SLSQP with differences for derivatives."""
    chain = BODY.chain(limits.shoulder_push_m)
    rows = build_rows(chain, limits, STANCE)

    def leans(q: Floats) -> Floats:
        return leans_of(q[:1], q[None, 1:])

    result = minimize(
        lambda q: weigh_line(draw_line(chain, leans(q)), STANCE.lean_weight_pct).value[0],
        np.zeros(4),
        method="SLSQP",
        constraints={"type": "ineq", "fun": lambda q: -rows.excess(leans(q))[0]},
        options={"maxiter": 200, "ftol": 1e-9},
    )
    return float(np.sqrt(max(result.fun, 0.0)))


def median_s(work: Callable[[], object], repeats: int) -> float:
    """Return the median wall time of some work, after one warm-up [s]."""
    work()
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return statistics.median(times)


def main() -> None:
    """Run all benchmarks and print one table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--quick", action="store_true", help="fewer repetitions")
    repeats = 3 if parser.parse_args().quick else 9
    limits = draw_limits(DRAWS)
    first = one_of(limits, 0)
    line = solve_body(BODY, limits, STANCE, STEPS)
    told = forecast_line(BODY, limits, STANCE, STEPS, GOAL)
    gains = {"shoulder_opening_rad": float(np.deg2rad(5.0))}

    some = range(0, DRAWS, DRAWS // 25)
    start = time.perf_counter()
    naive = np.array([solve_naively(one_of(limits, i)) for i in some])
    naive_s = (time.perf_counter() - start) / len(some)
    gap = naive - line.cost_pct[list(some)]

    one_s = median_s(lambda: solve_body(BODY, first, STANCE, STEPS), 5 * repeats)
    warm_s = median_s(
        lambda: solve_body(BODY, first, STANCE, STEPS, warm=line.leans[:1]), 5 * repeats
    )
    all_s = median_s(lambda: solve_body(BODY, limits, STANCE, STEPS), repeats)
    forecast_s = median_s(lambda: forecast_line(BODY, limits, STANCE, STEPS, GOAL), repeats)
    what_if_s = median_s(lambda: ask_what_if(BODY, told, STANCE, STEPS, GOAL, gains=gains), repeats)
    naive_all_s = naive_s * DRAWS
    rows: list[Row] = [
        ("what", "time", "SLSQP / ours", "wanted"),
        ("one line", f"{1e3 * one_s:.1f} ms", f"{naive_s / one_s:.1f}", "< 10 ms"),
        ("one line, warm", f"{1e3 * warm_s:.1f} ms", f"{naive_s / warm_s:.1f}", ""),
        (f"{DRAWS} draws", f"{all_s:.2f} s", f"{naive_all_s / all_s:.0f}", "< 1.5 s"),
        ("forecast with payoffs", f"{forecast_s:.2f} s", f"{naive_all_s / forecast_s:.0f}", ""),
        ("what if, warm", f"{what_if_s:.2f} s", f"{naive_all_s / what_if_s:.0f}", ""),
        ("one line by SLSQP, naively", f"{1e3 * naive_s:.1f} ms", "1", ""),
    ]
    widths = [max(len(row[i]) for row in rows) for i in range(4)]
    for row in rows:
        print("  ".join(cell.ljust(w) for cell, w in zip(row, widths, strict=True)).rstrip())
    print(f"SLSQP ends {gap.max():.1e} % of the chord above ours at most, {-gap.min():.1e} % below")


if __name__ == "__main__":
    main()
