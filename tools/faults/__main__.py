"""Runs the parts and prints one table.

PYTHONPATH=tools python -m faults [--share 0.1] [--only pictures,tables] [--write docs/faults.md]
"""

import argparse
import importlib
import json
import subprocess
import sys
import time
from dataclasses import asdict
from pathlib import Path

from faults.page import note, read_runs, write_page
from faults.parts import PARTS
from faults.row import Budget, Row

#: A part that is not through by then hangs [s].
MOST_PART_S = 3600.0


def main() -> None:
    """Run the parts one after another, each in its own process; end with 1 where one is broken."""
    parser = argparse.ArgumentParser(prog="faults")
    parser.add_argument("--share", type=float, default=1.0, help="1 = everything")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", default=",".join(PARTS), help="parts, with commas between")
    parser.add_argument("--findings", type=Path, default=Path("build/faults"))
    parser.add_argument("--write", type=Path, help="the page; parts not run now keep their rows")
    parser.add_argument("--inside", action="store_true", help=argparse.SUPPRESS)
    asked = parser.parse_args()
    chosen = asked.only.split(",")
    if unknown := [one for one in chosen if one not in PARTS]:
        parser.error(f"no part is called {', '.join(unknown)}; there are {', '.join(PARTS)}")
    if asked.inside:
        budget = Budget(asked.share, asked.seed, asked.findings / chosen[0])
        row = importlib.import_module(f"faults.{chosen[0]}").run(budget)
        print(f"\n{json.dumps(asdict(row))}")
        return
    rows = []
    for part in chosen:
        print(f"{part} …", file=sys.stderr, flush=True)
        start = time.perf_counter()
        rows.append(_run_inside(part, asked))
        took_s = time.perf_counter() - start
        note(asked.findings / "rows.json", rows[-1], took_s=took_s, share=asked.share)
        print(f"  {took_s:.0f} s", file=sys.stderr, flush=True)
    print_table(rows)
    if asked.write is not None:
        runs = read_runs(asked.findings / "rows.json", PARTS)
        asked.write.write_text(write_page(runs), encoding="utf-8")
    sys.exit(any(row.found for row in rows))


def _run_inside(part: str, asked: argparse.Namespace) -> Row:
    command = [
        sys.executable, "-m", "faults", "--inside", "--only", part, "--share", str(asked.share),
        "--seed", str(asked.seed), "--findings", str(asked.findings),
    ]  # fmt: skip
    folder = asked.findings / part
    folder.mkdir(parents=True, exist_ok=True)
    try:
        # What decoders grumble about thousands of damaged files is of interest to nobody.
        with (folder / "stderr.txt").open("w", encoding="utf-8") as grumbling:
            done = subprocess.run(
                command,
                stdout=subprocess.PIPE,
                stderr=grumbling,
                text=True,
                timeout=MOST_PART_S,
                check=False,
            )
        if done.returncode == 0:
            return Row(**json.loads(done.stdout.strip().rpartition("\n")[2]))
        why = f"it ended with {done.returncode}"
    except subprocess.TimeoutExpired:
        why = f"it was not through after {MOST_PART_S:.0f} s"
    return Row(part, cases=1, found=1, notes=[f"{why}; see {folder}"])


def print_table(rows: list[Row]) -> None:
    """Print a line for each part, and below it what there is to tell."""
    lines = [("part", "cases", "found", "worst time", "peak memory", "verdict")]
    lines += [
        (
            row.part,
            str(row.cases),
            str(row.found),
            f"{row.worst_s:.2f} s",
            f"{row.peak_mb:.0f} MB",
            row.verdict,
        )
        for row in rows
    ]
    widths = [max(len(line[at]) for line in lines) for at in range(6)]
    for line in lines:
        print("  ".join(cell.ljust(width) for cell, width in zip(line, widths, strict=True)))
    for row in rows:
        for told in row.notes:
            print(f"{row.part}: {told}")


if __name__ == "__main__":
    main()
