"""The browser measures what Python measures, over every test of the battery.

Python's own sampled errors (of the largest bow, of curves) carry a sampling error of up to a few
percent; there the browser is held to `sd_fine`, the same moment from many more points, and Python
is held to it too, so that a real difference between the two cannot hide.
"""

import functools
import json
import math
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from chordline.core.body.verdict import judge

pytestmark = pytest.mark.slow

ROOT = Path(__file__).resolve().parents[3]
sys.path.insert(0, str(ROOT / "tools"))
sys.path.insert(0, str(ROOT / "tests" / "e2e"))

import write_vectors  # noqa: E402

STORED = json.loads(write_vectors.PATH.read_text(encoding="utf-8"))
CASES = STORED["cases"]
RUNNER = """
import { readFileSync } from "node:fs";
import { pathToFileURL } from "node:url";
const [vectors, base, module] = process.argv.slice(1);
const { measureAll } = await import(pathToFileURL(module));
const told = await measureAll(JSON.parse(readFileSync(vectors)), pathToFileURL(base) + "/");
process.stdout.write(JSON.stringify(told));
"""


def in_node(node: str) -> list[dict[str, Any]]:
    run = subprocess.run(
        [
            node,
            "--input-type=module",
            "--eval",
            RUNNER,
            str(write_vectors.PATH),
            str(ROOT / "src" / "chordline" / "web" / "static" / "js"),
            str(Path(__file__).with_name("measure_all.js")),
        ],
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    assert run.returncode == 0, run.stderr
    return json.loads(run.stdout)


def in_browser() -> list[dict[str, Any]]:
    from editor_pages import launched, served  # noqa: PLC0415

    with served() as address, launched() as browser:
        page = browser.new_page()
        page.goto(f"{address}/editor_harness.html")
        return page.evaluate(
            """async ([vectors, base]) => {
                const { measureAll } = await import(base + "/unit/measure_all.js");
                return measureAll(vectors, base + "/static/js/");
            }""",
            [STORED, address],
        )


@functools.cache
def measured() -> list[dict[str, Any]]:
    node = shutil.which("node")
    return in_node(node) if node else in_browser()


@pytest.mark.slow
def test_the_file_is_what_the_tool_writes() -> None:
    fresh = json.loads(json.dumps(write_vectors.build_vectors(fine=False)))
    assert fresh["words"] == STORED["words"], "stale: python tools/write_vectors.py"
    assert fresh["tests"] == STORED["tests"], "stale: python tools/write_vectors.py"
    assert len(fresh["cases"]) == len(CASES)
    for now, then in zip(fresh["cases"], CASES, strict=True):
        for key in ("test", "near_side", "landmarks", "lines", "headline"):
            assert now[key] == then[key], "stale: python tools/write_vectors.py"
        for name, measure in then["measures"].items():
            assert now["measures"][name]["value"] == pytest.approx(measure["value"], abs=1e-9)
            assert now["measures"][name]["sd"] == pytest.approx(measure["sd"], rel=0.01)


def test_every_test_side_and_measure_occurs() -> None:
    assert {(case["test"], case["near_side"]) for case in CASES} == {
        (test, side) for test in STORED["tests"] for side in ("left", "right")
    }
    wanted = {name for test in STORED["tests"].values() for name in test["measures"]}
    assert {name for case in CASES for name in case["measures"]} == wanted


def test_values_agree() -> None:
    for case, told in zip(CASES, measured(), strict=True):
        assert told["names"] == list(case["measures"])
        assert told["front"] == case["front"]
        for name, measure in case["measures"].items():
            assert told["reading"][name]["value"] == pytest.approx(measure["value"], abs=1e-6), name


def test_random_errors_agree() -> None:
    for case, told in zip(CASES, measured(), strict=True):
        for name, measure in case["measures"].items():
            true_sd = measure.get("sd_fine", measure["sd"])
            assert told["reading"][name]["sd"] == pytest.approx(true_sd, rel=0.01), name


def test_pythons_own_sampling_error_is_the_only_other_difference() -> None:
    for case in CASES:
        for name, measure in case["measures"].items():
            if "sd_fine" in measure:
                assert measure["sd"] == pytest.approx(measure["sd_fine"], rel=0.05), name


def test_systematic_errors_agree() -> None:
    for case, told in zip(CASES, measured(), strict=True):
        for name, measure in case["measures"].items():
            assert told["systematic"][name] == pytest.approx(measure["systematic"], abs=1e-6), name


def judged_by_python(name: str, case: dict[str, Any], told: dict[str, Any]) -> str | None:
    """Return the word that Python says with the browser's own error."""
    sense = STORED["tests"][case["test"]]["judged"].get(name)
    if sense is None:
        return None
    entry = STORED["words"]["measures"][name]
    return judge(
        case["measures"][name]["value"],
        sd=math.hypot(told["reading"][name]["sd"], *told["systematic"][name].values()),
        sense=sense,
        on_line=entry["on_line"],
        close=entry["close"],
        certainty=STORED["words"]["certainty"],
    ).value


def test_the_same_words_are_said() -> None:
    for case, told in zip(CASES, measured(), strict=True):
        for name, line in case["lines"].items():
            said = told["lines"][name]
            assert (said["label"], said["words"]) == (line["label"], line["words"])
            assert said["verdict"] == judged_by_python(name, case, told)
            if "sd_fine" not in case["measures"][name]:
                assert said["verdict"] == line["verdict"]
        if not told["missing"]:
            assert told["headline"] == case["headline"]


def test_the_printed_numbers_are_the_same_but_for_the_sampling_error() -> None:
    differing = [
        (name, line["number"], told["lines"][name]["number"])
        for case, told in zip(CASES, measured(), strict=True)
        for name, line in case["lines"].items()
        if "sd_fine" not in case["measures"][name]
        and told["lines"][name]["number"] != line["number"]
    ]
    assert differing == []
