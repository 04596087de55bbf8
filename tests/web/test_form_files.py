"""A photo that comes by a plain form lies nowhere on the disk as it came."""

import io
import random
import tempfile
from pathlib import Path
from typing import Any

import pytest
from site_client import opened

from chordline.web.form_files import FormFile

_OWN = {"Origin": "http://127.0.0.1", "Sec-Fetch-Site": "same-origin"}
#: More than is held in memory, and found again wherever it lies.
_CONTENT = random.Random(7).randbytes(100_000) * 15


class _Watched(io.BytesIO):
    """A file of the disk that remembers what was written."""

    laid_down = b""

    def write(self, content: Any) -> int:
        _Watched.laid_down += bytes(content)
        return super().write(content)


@pytest.fixture
def disk(monkeypatch: pytest.MonkeyPatch) -> type[_Watched]:
    _Watched.laid_down = b""
    monkeypatch.setattr(tempfile, "TemporaryFile", lambda *_, **__: _Watched())
    return _Watched


def test_a_large_file_of_a_form_is_unreadable_on_the_disk(
    tmp_path: Path, disk: type[_Watched]
) -> None:
    with opened(tmp_path) as (_, client):
        answer = client.post(
            "/screening", files={"photos": ("13.jpg", _CONTENT, "image/jpeg")}, headers=_OWN
        )
    assert answer.status_code == 200
    assert "13.jpg" in answer.text
    assert len(disk.laid_down) >= len(_CONTENT)
    assert all(_CONTENT[at : at + 64] not in disk.laid_down for at in range(0, 100_000, 997))


@pytest.mark.parametrize("held", [0, 100, 10_000_000])
def test_what_was_written_in_pieces_is_read_from_any_place(held: int) -> None:
    pieces = [_CONTENT[:1], _CONTENT[1:130], b"", _CONTENT[130:70_001]]
    with FormFile(max_size=held) as file:
        for piece in pieces:
            file.write(piece)
        for at, length in ((0, 70_001), (15, 2), (16, 16), (129, 40_000), (70_000, 5), (70_001, 1)):
            file.seek(at)
            assert file.read(length) == _CONTENT[at : min(at + length, 70_001)]
        assert file.seek(0, io.SEEK_END) == 70_001


def test_no_place_is_written_twice() -> None:
    with FormFile() as file:
        file.write(b"first")
        file.seek(0)
        with pytest.raises(io.UnsupportedOperation):
            file.write(b"again")
