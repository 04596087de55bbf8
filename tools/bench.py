"""Prints what things cost, as ratios against a reference in the same run where there is one.

    python tools/bench.py [--quick]

Figures of a busy machine say little in seconds; the ratios stand.
"""

import argparse
import os
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np
from ai_edge_litert.interpreter import Interpreter
from numpy.typing import NDArray

from chordline.adapters.media.card_reader import ArucoCardReader
from chordline.adapters.media.photo_reader import PillowPhotoReader
from chordline.adapters.pose.estimator import BlazePoseEstimator
from chordline.adapters.pose.finder import Finder
from chordline.adapters.pose.networks import (
    RawDetections,
    RawPose,
    TfliteDetector,
    TfliteLandmarker,
)
from chordline.adapters.pose.weights import choose_weights
from chordline.application.measure_photo import MeasurePhoto, MeasureRequest
from chordline.bootstrap import build_app, usable_cores

ROOT = Path(__file__).resolve().parents[1]
CLUB = ROOT / "src" / "chordline" / "demo" / "club"
PHOTO = CLUB / "13_prone-overhead.jpg"
Row = tuple[str, str, str, str]


def main() -> None:
    """Run all benchmarks and print one table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--quick", action="store_true", help="fewer repetitions")
    repeats = 3 if parser.parse_args().quick else 9
    rows = [*photo_rows(repeats), *process_rows(min(repeats, 5)), *findings_rows(repeats)]
    widths = [max(len(row[i]) for row in rows) for i in range(4)]
    for row in rows:
        print(
            "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip()
        )


def median_s(work: Callable[[], object], repeats: int) -> float:
    """Return the median wall time of some work, after one warm-up [s]."""
    work()
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return statistics.median(times)


def paired_s(works: Sequence[Callable[[], object]], repeats: int) -> NDArray[np.float64]:
    """Return (repeats, works) wall times of works done in turn, after one warm-up [s].

    In turn, because a machine's speed drifts: ratios are taken pair by pair.
    """
    for work in works:
        work()
    times = np.empty((repeats, len(works)))
    for row in times:
        for column, work in enumerate(works):
            start = time.perf_counter()
            work()
            row[column] = time.perf_counter() - start
    return times


def photo_rows(repeats: int) -> list[Row]:
    """Time one photo, warm, against the bare passes of the networks it used."""
    app = build_app()
    poses = app.poses
    assert poses is not None
    measure = MeasurePhoto(PillowPhotoReader(), ArucoCardReader(), poses, app.catalogue)
    request = MeasureRequest("prone-overhead")
    rgb = PillowPhotoReader().read(PHOTO).rgb
    bare, passes = bare_passes()
    works = {
        f"bare network passes of one photo ({passes})": bare,
        "photo → measures, warm": lambda: measure(PHOTO, request),
        "  of it reading the picture": lambda: PillowPhotoReader().read(PHOTO),
        "  of it finding the card": lambda: ArucoCardReader().read(rgb),
        "  of it finding the body": lambda: poses.find(rgb),
    }
    times = paired_s(list(works.values()), repeats)
    ratios = np.median(times / times[:, :1], axis=0)
    wanted = ["", "≤ 1.5", "", "", ""]
    return [
        ("what", "time", "ratio", "wanted"),
        *(
            (what, f"{1e3 * seconds:.0f} ms", f"{ratio:.2f}", limit)
            for what, seconds, ratio, limit in zip(
                works, np.median(times, axis=0), ratios, wanted, strict=True
            )
        ),
    ]


class Counted:
    """A network that counts how often it is asked."""

    def __init__(self, network: TfliteDetector | TfliteLandmarker) -> None:
        self._network = network
        self.regression_share = getattr(network, "regression_share", {})
        self.asked = 0

    def detect(self, cut: NDArray[np.uint8]) -> RawDetections:
        self.asked += 1
        return self._network.detect(cut)

    def locate(self, cut: NDArray[np.uint8]) -> RawPose:
        self.asked += 1
        return self._network.locate(cut)


def bare_passes() -> tuple[Callable[[], object], str]:
    """Return what invokes the networks as often as one photo needs, and how often that is."""
    weights = choose_weights()
    threads = usable_cores()
    detector = Counted(TfliteDetector(weights.detector, threads=threads))
    scout = Counted(TfliteLandmarker(weights.scout, threads=threads))
    network = Counted(TfliteLandmarker(weights.landmarks, threads=threads))
    estimator = BlazePoseEstimator(Finder(detector, scout, network), network, model=weights.model)
    estimator.find(PillowPhotoReader().read(PHOTO).rgb)
    asked = [
        (weights.detector, detector.asked),
        (weights.scout, scout.asked),
        (weights.landmarks, network.asked),
    ]
    invokes = [(invoke_of(path, threads), times) for path, times in asked]

    def invoke_all() -> None:
        for invoke, times in invokes:
            for _ in range(times):
                invoke()

    told = " + ".join(f"{times} {path.stem.removeprefix('pose_')}" for path, times in asked)
    return invoke_all, told


def invoke_of(path: Path, threads: int) -> Callable[[], object]:
    """Return a function that runs a network once on an input that is there already."""
    interpreter = Interpreter(model_path=str(path), num_threads=threads)
    interpreter.allocate_tensors()
    detail = interpreter.get_input_details()[0]
    picture = np.random.default_rng(1).random(detail["shape"], dtype=np.float32)
    interpreter.set_tensor(detail["index"], picture)
    return interpreter.invoke


def process_rows(repeats: int) -> list[Row]:
    """Time whole processes: a cold measurement, the demo, and their peak memory."""
    chordline = [sys.executable, "-m", "chordline"]
    cold = median_s(
        lambda: run([*chordline, "measure", str(PHOTO), "--test", "prone-overhead", "--json"]),
        repeats,
    )
    with tempfile.TemporaryDirectory() as folder:
        start = time.perf_counter()
        run([*chordline, "screen", str(CLUB), "--fresh", "--json", "--sheets", folder])
        with_sheets = time.perf_counter() - start
        start = time.perf_counter()
        run([*chordline, "screen", str(CLUB), "--fresh", "--json", "--no-sheets"])
        demo = time.perf_counter() - start
    peak_mb = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024.0
    return [
        ("cold `chordline measure`", f"{cold:.2f} s", "", "< 3 s"),
        ("48 photos of the demo, measured", f"{demo:.1f} s", "", "< 20 s"),
        ("  and printed (6 pages, 6 PDF)", f"{with_sheets:.1f} s", "", ""),
        ("peak memory of these", f"{peak_mb:.0f} MB", "", "< 700 MB"),
    ]


def run(command: list[str]) -> None:
    """Run a command and let its output go nowhere."""
    subprocess.run(command, check=True, capture_output=True, env={**os.environ})


def findings_rows(repeats: int) -> list[Row]:
    """Time the capacity model on 1,000 gymnasts with 12 tests each, and the next best test."""
    from chordline.catalogue.capacity_model import build_capacity_model  # noqa: PLC0415
    from chordline.core.capacity.censored import update_with_bounds  # noqa: PLC0415
    from chordline.core.capacity.limiters import (  # noqa: PLC0415
        Rules,
        find_undecided,
        rank_limiters,
    )
    from chordline.core.capacity.next_test import rank_tests  # noqa: PLC0415
    from chordline.core.capacity.observed import Observed, gather  # noqa: PLC0415

    catalogue = build_app().catalogue
    model = build_capacity_model(catalogue)
    rules = Rules(catalogue.setting("sure"), catalogue.setting("tied"), catalogue.setting("told"))
    prior = model.prior(by_hand=False)
    rng = np.random.default_rng(7)
    tests = list(model.by_test)[:12]
    squad = [
        [
            Observed(
                source=test,
                test=test,
                names=(names := tuple(model.rows[i].measure for i in model.by_test[test])),
                values=rng.normal(0.0, 8.0, len(names)),
                covariance=np.eye(len(names)) * 9.0,
            )
            for test in tests
        ]
        for _ in range(1000)
    ]

    def judge_all() -> None:
        for screen in squad:
            gathered = gather(model, screen)
            belief = update_with_bounds(prior, gathered.evidence, gathered.bounds).belief
            rank_limiters(belief, prior, model, rules, find_undecided(belief, prior, model, rules))

    minutes = {name: test.minutes for name, test in catalogue.tests.items()}
    all_s = median_s(judge_all, max(1, repeats // 3))
    next_s = median_s(lambda: rank_tests(prior, model, minutes), repeats)
    return [
        ("limiters of 1,000 gymnasts × 12 tests", f"{all_s:.2f} s", "", "< 1 s"),
        ("next best test for one", f"{1e3 * next_s:.1f} ms", "", "< 20 ms"),
    ]


if __name__ == "__main__":
    main()
