"""Damaged videos, read as those that come from outside."""

import io
from collections import Counter

from chordline.adapters.decoding.video_reader import ChildVideoReader
from chordline.application.video_ports import Span, VideoSource
from chordline.errors import PictureError
from faults import samples
from faults.attempt import attempt_all
from faults.mutate import damage_boxes, damage_riff, mutated
from faults.row import Budget, Row

CASES = 2_500


def run(budget: Budget) -> Row:
    """Try them: opened, read through, and one picture in full size."""
    reader = ChildVideoReader(longest_s=60.0, threads=1)
    ended: Counter[str] = Counter()

    def read(content: bytes) -> None:
        try:
            video = reader.open(VideoSource("video", lambda: io.BytesIO(content), "0"), Span())
            for _ in video.frames():
                pass
            video.photo_at(0.5)
        except PictureError as error:
            if "cannot be decoded" in error.reason:
                ended["a decoder ended"] += 1
            raise

    def of_its_kind(content: bytes, rng: object) -> bytes:
        damage = damage_riff if content[:4] == b"RIFF" else damage_boxes
        return damage(content, rng)

    made = samples.videos()
    inputs = mutated(made, budget.seed, budget.cases(CASES), of_its_kind)
    row = attempt_all("videos", budget, inputs, read)
    row.notes.append(f"{len(made)} kinds of video could be made here")
    row.notes.append(f"a decoder ended {ended.total()} times, and another took its place")
    return row
