"""What the tests of pictures share."""

import pytest

from chordline.adapters.media.photo_reader import PillowPhotoReader


@pytest.fixture
def read(tmp_path):
    def read_bytes(data, name="picture.bin"):
        path = tmp_path / name
        path.write_bytes(data)
        return PillowPhotoReader().read(path)

    return read_bytes
