"""Damaged frames of a live camera."""

from chordline.adapters.media.live_frame import JpegFrameReader
from faults import samples
from faults.attempt import attempt_all
from faults.mutate import damage_jpeg, mutated
from faults.row import Budget, Row

CASES = 3_000


def run(budget: Budget) -> Row:
    """Try them."""
    reader = JpegFrameReader(most_bytes=1_000_000, most_px=1_000_000)
    inputs = mutated(samples.pictures()["JPEG"], budget.seed, budget.cases(CASES), damage_jpeg)
    return attempt_all("live pictures", budget, inputs, reader.read_frame)
