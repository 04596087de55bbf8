"""Prints what smoothing a club costs, against the same filter and smoother gymnast by gymnast.

    python tools/bench_progress.py [--quick]

Times are those of the processor, not of the clock on the wall: a busy machine changes them least.
Set OPENBLAS_NUM_THREADS=1 to compare: matrices of fifty rows are too small to share among cores.
"""

import argparse
import statistics
import time
from collections.abc import Callable

import numpy as np

from chordline.catalogue.loader import load_catalogue
from chordline.catalogue.progress import (
    build_change_rules,
    build_marker,
    build_progress_model,
    load_progress,
)
from chordline.core.capacity.observed import HOLD_MEASURE, Held, Observed, gather
from chordline.core.capacity.update import Evidence, update
from chordline.core.geometry.angles import Floats
from chordline.core.progress.change import find_changes_of_all
from chordline.core.progress.filter import filter_forward
from chordline.core.progress.smoother import smooth_backward, smooth_timelines
from chordline.core.progress.timeline import ScreenAt, Timeline, plain_timeline
from chordline.core.progress.timeline_layout import lay_out
from chordline.core.progress.timeline_stack import stack_timelines

GYMNASTS, SCREENS = 200, 40
CATALOGUE = load_catalogue()
PROGRESS = load_progress(CATALOGUE)
MODEL = build_progress_model(CATALOGUE, PROGRESS)
RULES = build_change_rules(CATALOGUE, PROGRESS)
MARKERS = [build_marker(CATALOGUE, PROGRESS, by_hand=by_hand) for by_hand in (False, True)]
HOLD_REL_SD = CATALOGUE.setting("hold_rel_sd")
#: Marks by hand in this share of the screens, holds in one of four, stopped at a cap.
BY_HAND, WITH_HOLDS, CAP_S = 0.3, 0.25, 60.0
Row = tuple[str, str, str, str]


def draw_screen(day: int, rng: np.random.Generator) -> ScreenAt:
    """Draw a screen of most tests."""
    model = MODEL.capacities
    shown = model.intercepts + 8.0 * rng.normal(size=len(model.rows))
    observed, held = [], []
    with_holds = rng.random() < WITH_HOLDS
    for test, rows in model.by_test.items():
        if rng.random() < 0.2:
            continue
        photo = [i for i in rows if model.rows[i].measure != HOLD_MEASURE]
        if photo:
            errors = np.diag([model.rows[i].typical_sd ** 2 for i in photo])
            names = tuple(model.rows[i].measure for i in photo)
            observed.append(Observed(f"{test}.jpg", test, names, shown[photo], errors))
        if with_holds and len(photo) < len(rows):
            seconds = float(rng.uniform(10.0, 90.0))
            capped = seconds >= CAP_S
            held.append(Held("clock", test, min(seconds, CAP_S), HOLD_REL_SD, capped))
    marker = MARKERS[int(rng.random() < BY_HAND)]
    return ScreenAt(day, gather(model, observed, held), marker)


def draw_club(count: int) -> list[Timeline]:
    """Draw timelines of ten years."""
    rng = np.random.default_rng(20_260)
    club = []
    for _ in range(count):
        days = np.cumsum(rng.integers(60, 120, SCREENS))
        screens = tuple(draw_screen(int(day), rng) for day in days)
        club.append(plain_timeline(MODEL, screens))
    return club


def smooth_naively(timeline: Timeline) -> Floats:
    """Return a gymnast's smoothed means by textbook formulas; holds at their cap are left out."""
    layout = lay_out(MODEL, timeline.screens)
    n, belief = len(MODEL.names), layout.prior
    wander = [np.zeros(n), *(timeline.wander(MODEL, i) for i in range(len(timeline.steps)))]
    ahead, after = [], []
    for q, screen in zip(wander, timeline.screens, strict=True):
        covariance = belief.covariance.copy()
        covariance[range(n), range(n)] += q
        belief = type(belief)(belief.states, belief.mean, covariance)
        ahead.append(belief)
        rows = layout.rows(screen)
        nothing = np.zeros(len(rows.values))
        belief = update(belief, Evidence(rows.values, rows.matrix, nothing, rows.noise)).belief
        after.append(belief)
    mean, covariance = after[-1].mean, after[-1].covariance
    means = [mean]
    for now, then in zip(after[-2::-1], ahead[:0:-1], strict=True):
        gain = now.covariance @ np.linalg.inv(then.covariance)
        mean = now.mean + gain @ (mean - then.mean)
        covariance = now.covariance + gain @ (covariance - then.covariance) @ gain.T
        means.append(mean)
    return np.array(means[::-1])[:, :n]


def median_s(work: Callable[[], object], repeats: int) -> float:
    """Return the median processor time of some work, after one warm-up [s]."""
    work()
    times = []
    for _ in range(repeats):
        start = time.process_time()
        work()
        times.append(time.process_time() - start)
    return statistics.median(times)


def main() -> None:
    """Run all benchmarks and print one table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--quick", action="store_true", help="fewer repetitions")
    repeats = 2 if parser.parse_args().quick else 5
    club = draw_club(GYMNASTS)
    part = club[:50]
    stack = stack_timelines(MODEL, part)
    filtered = filter_forward(stack)
    states, rows = stack.prior_mean.shape[1], stack.values.shape[2]

    some = club[:20]
    naive_s = median_s(lambda: [smooth_naively(one) for one in some], repeats)
    naive_s *= GYMNASTS / len(some)
    scale = GYMNASTS / len(part)
    stack_s = scale * median_s(lambda: stack_timelines(MODEL, part), repeats)
    filter_s = scale * median_s(lambda: filter_forward(stack), repeats)
    smooth_s = scale * median_s(lambda: smooth_backward(stack, filtered), repeats)
    club_s = median_s(lambda: smooth_timelines(MODEL, club), repeats)
    change_s = median_s(lambda: find_changes_of_all(MODEL, club, RULES), repeats)
    one_s = median_s(lambda: smooth_timelines(MODEL, club[:1]), 5 * repeats)
    table: list[Row] = [
        ("what", "processor", "naive / ours", "wanted"),
        (
            f"{GYMNASTS} gymnasts, {SCREENS} screens",
            f"{club_s:.2f} s",
            f"{naive_s / club_s:.1f}",
            "< 2 s",
        ),
        ("  arrays", f"{stack_s:.2f} s", "", ""),
        ("  filter", f"{filter_s:.2f} s", "", ""),
        ("  smoother", f"{smooth_s:.2f} s", "", ""),
        ("with all changes", f"{change_s:.2f} s", f"{naive_s / change_s:.1f}", ""),
        ("one gymnast", f"{1e3 * one_s:.0f} ms", f"{naive_s / GYMNASTS / one_s:.1f}", ""),
        ("gymnast by gymnast, naively", f"{naive_s:.2f} s", "1", ""),
    ]
    widths = [max(len(row[i]) for row in table) for i in range(4)]
    for row in table:
        print("  ".join(cell.ljust(w) for cell, w in zip(row, widths, strict=True)).rstrip())
    print(f"{states} lasting states, {rows} measures a screen at most")


if __name__ == "__main__":
    main()
