"""What the tests of printing share."""

from collections.abc import Iterator

import pytest

from chordline.adapters.printing import sheet_view
from chordline.adapters.printing.crop import Box, crop_picture
from chordline.application.sheet import SheetPhoto


@pytest.fixture(scope="session", autouse=True)
def pictures_cut_once() -> Iterator[None]:
    """Let all sheets share a cut picture: it is the same each time.

    Cutting one takes a tenth of a second, and most sheets here have the same eight.
    """
    known: dict[tuple[object, ...], tuple[bytes | None, Box]] = {}

    def look_up(photo: SheetPhoto) -> tuple[bytes | None, Box]:
        size = (photo.jpeg_width_px, photo.jpeg_height_px)
        # No mark and no number of a measurement is left out of how it is written.
        key = (photo.jpeg, size, photo.faces, repr(photo.measurement))
        if key not in known:
            known[key] = crop_picture(photo)
        return known[key]

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(sheet_view, "crop_picture", look_up)
        yield
