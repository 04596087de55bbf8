"""Damaged frames of a live camera, read as those that come from outside."""

from collections import Counter

from chordline.adapters.decoding.live_reader import ChildFrameReader
from chordline.errors import PictureError
from faults import samples
from faults.attempt import attempt_all
from faults.mutate import damage_jpeg, mutated
from faults.row import Budget, Row

CASES = 3_000


def run(budget: Budget) -> Row:
    """Try them; the process that decodes may end, this one may not."""
    reader = ChildFrameReader(most_bytes=1_000_000, most_px=1_000_000)
    ended: Counter[str] = Counter()

    def read(content: bytes) -> None:
        try:
            reader.read_frame(content)
        except PictureError as error:
            if "cannot be decoded" in error.reason:
                ended["a decoder ended"] += 1
            raise

    inputs = mutated(samples.pictures()["JPEG"], budget.seed, budget.cases(CASES), damage_jpeg)
    row = attempt_all("live_pictures", budget, inputs, read)
    reader.close()
    row.notes.append(f"a decoder ended {ended.total()} times, and another took its place")
    return row
