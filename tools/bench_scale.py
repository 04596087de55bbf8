"""Prints what a photo costs in this process, in worker processes and on a Dask cluster.

    python tools/bench_scale.py [--workers 2] [--no-dask]

`first` is the time until the first result: what starting costs. `rate` is counted after it. Other
work on the machine lowers all rates; the load stands beside them, and the processor's own seconds a
photo hardly depend on it.
"""

import argparse
import os
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import partial
from pathlib import Path

from chordline.adapters.media.measurement_cache import NoCache
from chordline.application.measure_many import MeasureMany
from chordline.bootstrap import App, usable_cores
from chordline.measuring_worker import measurement_bits

CLUB = Path(__file__).resolve().parents[1] / "src" / "chordline" / "demo" / "club"
Row = tuple[str, ...]


class Clock:
    """Progress that remembers when each photo was done."""

    def __init__(self) -> None:
        self.at_s: list[float] = []

    def start(self, total: int) -> None:
        self.began_s = time.perf_counter()

    def step(self, label: str) -> None:
        self.at_s.append(time.perf_counter() - self.began_s)


def main() -> None:
    """Run every kind on the demo photos and print one table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--no-dask", action="store_true")
    asked = parser.parse_args()
    rows: list[Row] = [("where", "photos", "first", "rate", "whole", "cpu a photo", "load", "bits")]
    row, truth = timed(f"this process, {usable_cores()} threads", lambda _: None, None)
    rows.append(row)
    many = partial(App().measure_many, workers=asked.workers)
    rows.append(timed(f"{asked.workers} processes", many, truth)[0])
    if not asked.no_dask:
        with dask(asked.workers) as address:
            many = partial(App().measure_many, cluster=address)
            rows.append(timed(f"Dask, {asked.workers} workers", many, truth)[0])
    widths = [max(len(row[i]) for row in rows) for i in range(len(rows[0]))]
    for row in rows:
        print("  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)))


@contextmanager
def dask(workers: int) -> Iterator[str]:
    """Give the address of a cluster on this machine."""
    from distributed import LocalCluster  # noqa: PLC0415

    with LocalCluster(
        n_workers=workers, threads_per_worker=1, processes=True, dashboard_address=None
    ) as cluster:
        yield cluster.scheduler_address


def timed(
    where: str, many: Callable[[int], MeasureMany | None], truth: list[bytes] | None
) -> tuple[Row, list[bytes]]:
    """Measure the demo photos once; processor time is that of this process and ended children."""
    app, clock = App(), Clock()
    load, cpu_s = os.getloadavg()[0], sum(os.times()[:4])
    use_case = app.screen_folder(many)
    began_s = time.perf_counter()
    result = use_case(app.folders.read(CLUB), cache=NoCache(), progress=clock)
    whole_s = time.perf_counter() - began_s
    cpu_s = sum(os.times()[:4]) - cpu_s
    count = len(result.measurements)
    bits = [measurement_bits(one) for one in result.measurements]
    first_s = clock.at_s[0]
    rate = (count - 1) / (clock.at_s[-1] - first_s)
    same = "" if truth is None else ("same" if bits == truth else "DIFFERENT")
    # The cluster's processes live on, so their time is not seen from here.
    cpu = "" if "Dask" in where else f"{cpu_s / count:.2f} s"
    loads = f"{load:.1f} → {os.getloadavg()[0]:.1f}"
    row = (where, f"{count}", f"{first_s:.1f} s", f"{rate:.2f}/s", f"{whole_s:.1f} s", cpu, loads)
    return (*row, same), bits


if __name__ == "__main__":
    main()
