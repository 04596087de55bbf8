"""Writes docs/accuracy.md: how far the automatic landmarks are off on pictures with known truth.

    python tools/accuracy.py            print the tables
    python tools/accuracy.py --write    and write docs/accuracy.md

The pictures are renderings of invented bodies: one light, one background, no hair or clothes in
motion. They show where the method fails; they do not stand for real photos.
"""

import argparse
import json
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from chordline.adapters.media.card_reader import ArucoCardReader
from chordline.adapters.media.photo_reader import PillowPhotoReader
from chordline.application.measure_photo import MeasurePhoto, MeasureRequest
from chordline.bootstrap import build_app
from chordline.core.body.measurement import Measurement
from chordline.errors import RefusedInputError

ROOT = Path(__file__).resolve().parents[1]
DATA = ROOT / "tests" / "data"
POSES = DATA / "poses"
SQUAD = ROOT / "src" / "chordline" / "demo" / "club"
JOINTS = ("shoulder", "hip", "knee")
#: Which test of the battery reads a family of the pictures; its landmarks are the same anyway.
TEST_OF = {
    "dish": "dish-overhead",
    "dish_sides": "dish-supported",
    "handstand": "handstand",
    "handstand_arch": "handstand",
    "prone_sides": "prone-sides",
    "standing": "prone-sides",
    "standing_overhead": "prone-overhead",
    "supine": "supine-sides",
    "supine_arch": "supine-sides",
    "supine_overhead": "supine-overhead",
}
#: Truth below this is an arm beside the body, where no test reads the shoulder [deg].
OVERHEAD_DEG = 90.0


@dataclass(frozen=True)
class Case:
    """One picture: what is true and what was measured; None where nobody was found."""

    name: str
    family: str
    distance_m: float
    truth_deg: dict[str, float]
    near_side: str
    measured: Measurement | None

    def error(self, joint: str) -> float:
        """Measured minus true opening [deg]; NaN where not measured or no test reads it."""
        if self.measured is None:
            return float("nan")
        if joint == "shoulder" and self.truth_deg["shoulder"] < OVERHEAD_DEG:
            return float("nan")
        measure = self.measured.measures.get(f"{joint}_opening_deg")
        if measure is None:
            return float("nan")
        return measure.value - (self.truth_deg[joint] - 180.0)


def main() -> None:
    """Measure both sets and print or write the tables."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--write", action="store_true")
    options = parser.parse_args()
    poses = list(measure_set(POSES, DATA / "poses_truth.json", family_of_pose))
    squad = list(measure_set(SQUAD, DATA / "squad_truth.json", family_of_squad))
    text = report(poses, squad)
    print(text)
    if options.write:
        (ROOT / "docs" / "accuracy.md").write_text(text, encoding="utf-8")


def family_of_pose(name: str) -> str:
    """Return the family in a name such as ``prone_hip10__boy11_yaw00_d3_h04_R``."""
    return name.partition("__")[0]


def family_of_squad(name: str) -> str:
    """Return the test in a name such as ``13_prone-overhead``."""
    return name.partition("_")[2]


def measure_set(folder: Path, truth: Path, family_of: Callable[[str], str]) -> Iterator[Case]:
    """Measure every picture of a set that has truth."""
    app = build_app()
    measure = MeasurePhoto(PillowPhotoReader(), ArucoCardReader(), app.poses, app.catalogue)
    pictures = json.loads(truth.read_text(encoding="utf-8"))["pictures"]
    for record in sorted(pictures, key=lambda one: one["image"]):
        name = record["image"]
        stem = Path(name).stem
        family = family_of(stem)
        test = TEST_OF.get(family, family if family in app.catalogue.tests else "prone-overhead")
        near = record["near_side"]
        request = MeasureRequest(test)
        try:
            measured = measure(folder / name, request)
        except RefusedInputError:
            measured = None
        yield Case(
            name=stem,
            family=family,
            distance_m=record["camera"]["distance_m"],
            truth_deg=record["angles_deg"][near]["signed"],
            near_side=near,
            measured=measured,
        )


def report(poses: Sequence[Case], squad: Sequence[Case]) -> str:
    """Return the page."""
    near = [case for case in poses if case.distance_m < 4.0]
    far = [case for case in poses if case.distance_m >= 4.0]
    lines = [
        "# Accuracy of the automatic landmarks",
        "",
        "Written by `make accuracy`; the pictures and their truth are in the repository. They are",
        "renderings of invented bodies with exact joints. Joint definitions differ by about ±3°",
        "between body models, so a steady bias says little and nothing here is calibrated to them.",
        "Errors are measured minus true opening, in degrees; the shoulder counts where the arms",
        "are overhead, since no test reads it elsewhere.",
        "",
        *summary_table(
            [("development, 3 m", near), ("development, 6 m", far), ("demo club", squad)]
        ),
        "",
        "## Signed bias by family, development pictures at 3 m",
        "",
        *family_table(near),
        "",
        "## Signed bias by test, demo club (not used to choose anything)",
        "",
        *family_table(squad),
        "",
        "## Near side",
        "",
        *side_table([("development", poses), ("demo club", squad)]),
        "",
    ]
    return "\n".join(lines)


def summary_table(sets: Sequence[tuple[str, Sequence[Case]]]) -> list[str]:
    """Return rows of found, median, 90th percentile and bias for each set."""
    rows = [
        "| pictures | found | joint | n | median abs. | 90th pct | bias | largest accepted |",
        "|---|---|---|---|---|---|---|---|",
    ]
    for title, cases in sets:
        found = sum(case.measured is not None for case in cases)
        for joint in JOINTS:
            errors = np.array([case.error(joint) for case in cases])
            accepted = np.array(
                [
                    case.error(joint)
                    for case in cases
                    if case.measured and case.measured.trust.accepted
                ]
            )
            errors = errors[np.isfinite(errors)]
            size = np.abs(errors)
            largest = np.nanmax(np.abs(accepted)) if len(accepted) else float("nan")
            rows.append(
                f"| {title} | {found} of {len(cases)} | {joint} | {len(errors)} "
                f"| {np.median(size):.1f} | {np.percentile(size, 90):.1f} "
                f"| {errors.mean():+.1f} | {largest:.1f} |"
            )
    return rows


def family_table(cases: Sequence[Case]) -> list[str]:
    """Return rows of bias and spread by family."""
    rows = [
        "| family | n | shoulder | hip | knee |",
        "|---|---|---|---|---|",
    ]
    for family in sorted({case.family for case in cases}):
        members = [case for case in cases if case.family == family]
        cells = []
        for joint in JOINTS:
            errors = np.array([case.error(joint) for case in members])
            errors = errors[np.isfinite(errors)]
            cells.append(f"{errors.mean():+.1f} ± {errors.std():.1f}" if len(errors) else "–")
        rows.append(f"| {family} | {len(members)} | {' | '.join(cells)} |")
    return rows


def side_table(sets: Sequence[tuple[str, Sequence[Case]]]) -> list[str]:
    """Return rows of how often the near side was told, guessed right and guessed wrong."""
    rows = [
        "| pictures | from the test | guessed right | guessed wrong |",
        "|---|---|---|---|",
    ]
    for title, cases in sets:
        measured = [case for case in cases if case.measured is not None]
        guessed = [case for case in measured if case.measured.front_origin == "guessed"]
        right = sum(case.measured.near_side == case.near_side for case in guessed)
        rows.append(
            f"| {title} | {len(measured) - len(guessed)} | {right} | {len(guessed) - right} |"
        )
    return rows


if __name__ == "__main__":
    main()
