"""Tries one input after another; keeps what breaks a promise."""

import faulthandler
import hashlib
import resource
import sys
import time
import traceback
from collections.abc import Callable, Iterable
from pathlib import Path

from chordline.errors import ChordlineError
from faults.row import Budget, Row

#: No input may take longer [s].
MOST_S = 10.0
#: The process that asks may never come to hold so much more, whatever is read [MB].
MOST_MB = 1_500.0


def attempt_all(
    part: str, budget: Budget, inputs: Iterable[bytes], read: Callable[[bytes], object]
) -> Row:
    """Return the row of a reader that is given inputs; only `ChordlineError` may come out of it.

    An input that ends or hangs the process is in ``current.bin`` of the findings afterwards.
    """
    row = Row(part)
    budget.findings.mkdir(parents=True, exist_ok=True)
    current = budget.findings / "current.bin"
    accepted, before_mb = 0, own_peak_mb()
    for content in inputs:
        current.write_bytes(content)
        start = time.perf_counter()
        faulthandler.dump_traceback_later(2.0 * MOST_S, exit=True)
        try:
            read(content)
            accepted += 1
        except ChordlineError as error:
            if not str(error).strip():
                keep(row, budget, content, "an error without a sentence")
        except Exception:
            keep(row, budget, content, traceback.format_exc())
        finally:
            faulthandler.cancel_dump_traceback_later()
        took = time.perf_counter() - start
        row.cases += 1
        row.worst_s = max(row.worst_s, took)
        if took > MOST_S:
            keep(row, budget, content, f"took {took:.1f} s")
    current.unlink(missing_ok=True)
    row.peak_mb = peak_mb()
    more_mb = own_peak_mb() - before_mb
    if more_mb > MOST_MB:
        keep(row, budget, b"", f"this process came to hold {more_mb:.0f} MB more")
    row.notes.append(f"{accepted} of {row.cases} could still be read")
    return row


def keep(row: Row, budget: Budget, content: bytes, why: str) -> None:
    """Count a finding and write it down, once for each place in the code."""
    row.found += 1
    where = why.strip().rpartition("\n")[2][:200]
    if not any(where in note for note in row.notes):
        name = hashlib.sha256(content).hexdigest()[:12]
        (budget.findings / f"{name}.bin").write_bytes(content)
        (budget.findings / f"{name}.txt").write_text(why, encoding="utf-8")
        row.notes.append(f"{where} ({budget.findings / name}.bin)")


def played_again(findings: Path) -> list[bytes]:
    """Return the inputs that were found before."""
    return [path.read_bytes() for path in sorted(findings.glob("*.bin"))]


def own_peak_mb() -> float:
    """Return the most memory that this process held at once [MB]."""
    return _to_mb(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)


def peak_mb() -> float:
    """Return the same, or that of its largest child that has ended [MB]."""
    children = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss
    return max(own_peak_mb(), _to_mb(children))


def _to_mb(maxrss: int) -> float:
    return maxrss / (1e6 if sys.platform == "darwin" else 1024.0)
