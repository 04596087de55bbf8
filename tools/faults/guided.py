"""Inputs that follow the readers' own branches: coverage-guided, for the readers in Python.

`python -m faults.guided READER -runs=1000 CORPUS` tries one reader by hand; a crash leaves the
input beside it.
"""

import importlib.util
import os
import re
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from faults import samples
from faults.attempt import keep, peak_mb
from faults.row import Budget, Row

#: Runs of each reader at a share of 1.
RUNS = {"csv": 20_000, "marks": 20_000, "toml": 20_000}
_LONGEST_BYTES = 4096
#: What a reader may take beside what it begins with [MB].
_MORE_MB = 2000


def run(budget: Budget) -> Row:
    """Try each reader in a process of its own."""
    row = Row("guided")
    if importlib.util.find_spec("atheris") is None:
        row.notes.append("left out: atheris is not installed here (there is one for Linux)")
        return row
    budget.findings.mkdir(parents=True, exist_ok=True)
    for reader, runs in RUNS.items():
        with tempfile.TemporaryDirectory() as folder:
            corpus = Path(folder) / "corpus"
            corpus.mkdir()
            for number, content in enumerate(_samples(reader)):
                (corpus / str(number)).write_bytes(content[:_LONGEST_BYTES])
            _guide(reader, budget.cases(runs), corpus, budget, row)
    row.peak_mb = peak_mb()
    return row


def _guide(reader: str, runs: int, corpus: Path, budget: Budget, row: Row) -> None:
    before = set(budget.findings.glob(f"{reader}-*"))
    start = time.perf_counter()
    done = subprocess.run(
        [
            sys.executable, "-m", "faults.guided", reader, f"-runs={runs}", f"-seed={budget.seed}",
            f"-max_len={_LONGEST_BYTES}", "-timeout=10", "-rss_limit_mb=0",
            f"-artifact_prefix={budget.findings}/{reader}-", str(corpus),
        ],
        capture_output=True,
        text=True,
        check=False,
        env={
            **os.environ,
            "PYTHONPATH": str(Path(__file__).resolve().parents[1]),
            "TMPDIR": str(corpus.parent),
        },
    )  # fmt: skip
    row.cases += runs
    row.notes.append(
        f"{reader}: {runs} runs in {time.perf_counter() - start:.0f} s{_seen(done.stderr)}"
    )
    for path in set(budget.findings.glob(f"{reader}-*")) - before:
        keep(row, budget, path.read_bytes(), f"{reader}: {done.stderr[-3000:]}")
    if done.returncode and not row.found:
        keep(row, budget, b"", f"{reader} ended with {done.returncode}: {done.stderr[-3000:]}")


def _seen(told: str) -> str:
    found = re.findall(r"cov: (\d+)", told)
    return f", {found[-1]} branches seen" if found else ""


def _samples(reader: str) -> list[bytes]:
    if reader == "csv":
        return samples.tables()["CSV"]
    if reader == "marks":
        return samples.marks()
    return [content for name, content in samples.catalogue_files().items() if "toml" in name]


def _reader(name: str, folder: Path) -> Callable[[bytes], object]:
    if name == "csv":
        from chordline.adapters.tables.csv_table import CsvTableReader  # noqa: PLC0415

        return CsvTableReader().read
    if name == "marks":
        from chordline.adapters.media.marks_file import read_marks  # noqa: PLC0415

        def read(content: bytes) -> object:
            path = folder / "1.marks.json"
            path.write_bytes(content)
            return read_marks(path, default_sd_px=4.0)

        return read
    from chordline.catalogue.club_file import parse_toml  # noqa: PLC0415

    return lambda content: parse_toml(content.decode("utf-8", "replace"), "club.toml", [])


def main() -> None:
    """Hand one reader to the fuzzer, which ends the process."""
    import atheris  # noqa: PLC0415

    name = sys.argv.pop(1)
    with atheris.instrument_imports():
        import csv  # noqa: F401, PLC0415
        import json  # noqa: F401, PLC0415
        import tomllib  # noqa: F401, PLC0415

        read = _reader(name, Path(tempfile.mkdtemp()))
    from chordline.errors import ChordlineError  # noqa: PLC0415

    def try_one(content: bytes) -> None:
        try:
            read(content)
        except ChordlineError:
            return

    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    # The fuzzer's own limit looks at the highest use so far, which Linux hands down from whoever
    # started this process; this one counts from here, and what does not fit is a MemoryError.
    pages = int(Path("/proc/self/statm").read_text(encoding="ascii").split()[0])
    most = pages * resource.getpagesize() + _MORE_MB * 2**20
    resource.setrlimit(resource.RLIMIT_AS, (most, most))
    atheris.Setup(sys.argv, try_one)
    atheris.Fuzz()


if __name__ == "__main__":
    main()
