"""Damaged JPEG, PNG, WebP and HEIC, read as those that come from outside."""

from collections import Counter

from chordline.adapters.decoding.photo_reader import ChildPhotoReader
from chordline.errors import PictureError
from faults import samples
from faults.attempt import attempt_all
from faults.mutate import damage_boxes, damage_jpeg, damage_png, damage_riff, mutated
from faults.row import Budget, Row

CASES = 8_000
_DAMAGES = {"JPEG": damage_jpeg, "PNG": damage_png, "WebP": damage_riff, "HEIC": damage_boxes}


def run(budget: Budget) -> Row:
    """Try them; the process that decodes may end, this one may not."""
    reader = ChildPhotoReader(at_once=1)
    ended: Counter[str] = Counter()

    def read(content: bytes) -> None:
        try:
            reader.read_content("photo", content)
        except PictureError as error:
            if "cannot be decoded" in error.reason:
                ended["a decoder ended"] += 1
            raise

    kinds = samples.pictures()
    each = budget.cases(CASES) // len(kinds) or 1
    inputs = (
        content
        for at, (kind, found) in enumerate(kinds.items())
        for content in mutated(found, budget.seed + at, each, _DAMAGES[kind])
    )
    row = attempt_all("pictures", budget, inputs, read)
    reader.close()
    row.notes.append(f"a decoder ended {ended.total()} times, and another took its place")
    return row
