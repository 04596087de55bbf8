"""Damaged marks files."""

import tempfile
from pathlib import Path

from chordline.adapters.media.marks_file import read_marks
from faults import samples
from faults.attempt import attempt_all
from faults.mutate import damage_json, damage_text, mutated
from faults.row import Budget, Row

CASES = 6_000


def run(budget: Budget) -> Row:
    """Try them."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "13.marks.json"

        def read(content: bytes) -> None:
            path.write_bytes(content)
            read_marks(path, default_sd_px=4.0)

        made = (
            b"[" * 2_000_000,
            b'{"landmarks":' * 300_000,
            b"1" * 4_000_000,
            b"[" + b"{}," * 900_000,
        )
        damaged = mutated(
            samples.marks(), budget.seed, budget.cases(CASES), damage_json, damage_text
        )
        return attempt_all("marks", budget, (*made, *damaged), read)
