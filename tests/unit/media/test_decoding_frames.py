"""A hostile frame of a live camera ends the process that decodes it, never the server."""

import io
import os
import subprocess
import sys
import time
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from stand_in import STAND_IN

from chordline.adapters.decoding import live_reader as decoding
from chordline.adapters.decoding import shared_pixels
from chordline.adapters.decoding.bounds import LIVE_BOUNDS
from chordline.adapters.decoding.live_reader import ChildFrameReader
from chordline.adapters.media.live_frame import JpegFrameReader
from chordline.errors import PictureError
from live_stories import frame

BOUNDS = {"most_bytes": 600_000, "most_px": 1_500_000}


@pytest.fixture(scope="module")
def reader() -> Iterator[ChildFrameReader]:
    reader = ChildFrameReader(**BOUNDS)
    yield reader
    reader.close()


def with_exif() -> bytes:
    exif = Image.Exif()
    exif[0x0112] = 6
    exif.get_ifd(0x8769)[0xA405] = 26
    buffer = io.BytesIO()
    Image.new("RGB", (320, 200), (10, 120, 240)).save(buffer, "JPEG", exif=exif)
    return buffer.getvalue()


@pytest.mark.parametrize("content", [frame(640, 480), with_exif()], ids=["plain", "with-exif"])
def test_a_frame_is_the_one_that_is_decoded_here(reader: ChildFrameReader, content: bytes) -> None:
    np.testing.assert_array_equal(
        reader.read_frame(content), JpegFrameReader(**BOUNDS).read_frame(content)
    )


def test_the_camera_of_another_size_comes_next(reader: ChildFrameReader) -> None:
    assert reader.read_frame(frame(1280, 960)).shape == (960, 1280, 3)
    assert reader.read_frame(frame(320, 200)).shape == (200, 320, 3)


@pytest.mark.parametrize(
    ("content", "why"),
    [
        (b"\x89PNG\r\n", "no JPEG"),
        (frame(640, 480)[:200], "cannot be read|only in part"),
        (frame(2000, 1000), "2000 × 1000"),
        (b"\xff\xd8\xff" + b"\0" * 600_000, "too large"),
    ],
)
def test_what_is_no_frame_is_refused_with_the_same_sentence(
    reader: ChildFrameReader, content: bytes, why: str
) -> None:
    with pytest.raises(PictureError, match=why):
        reader.read_frame(content)


def test_the_server_does_not_unpack_it(reader: ChildFrameReader, monkeypatch) -> None:
    monkeypatch.setattr(JpegFrameReader, "read_frame", None)
    assert reader.read_frame(frame(320, 200)).shape == (200, 320, 3)


@pytest.mark.parametrize(
    "does",
    [
        pytest.param("os.kill(os.getpid(), 9)", id="dies"),
        pytest.param("time.sleep(60)", id="hangs"),
        pytest.param('send(sys.stdout.buffer, {"height": 9000, "width": 9000})', id="lies"),
        pytest.param('send(sys.stdout.buffer, {"height": -1, "width": "many"})', id="babbles"),
        pytest.param('sys.stdout.buffer.write(b"x" * 100)', id="rubbish"),
    ],
)
def test_a_frame_that_ends_its_process_is_refused_and_the_next_one_is_read(
    does: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "stand_in.py").write_text(STAND_IN.format(does=does))
    monkeypatch.setattr(decoding, "LIVE_BOUNDS", replace(LIVE_BOUNDS, wall_s=0.5))
    reader = ChildFrameReader(**BOUNDS)
    with monkeypatch.context() as patch:
        patch.setenv("PYTHONPATH", str(tmp_path))
        patch.setattr(decoding, "_MODULE", "stand_in")
        begun = time.monotonic()
        with pytest.raises(PictureError, match="send the next one"):
            reader.read_frame(frame(320, 200))
        assert time.monotonic() - begun < 30.0, "nobody was waited for"
    monkeypatch.setattr(decoding, "LIVE_BOUNDS", LIVE_BOUNDS)
    assert reader.read_frame(frame(320, 200)).shape == (200, 320, 3)
    reader.close()


@pytest.mark.skipif(sys.platform != "linux", reason="bounds of Linux")
def test_its_process_can_open_nothing_and_hold_little() -> None:
    reader = ChildFrameReader(**BOUNDS)
    reader.read_frame(frame(320, 200))
    process = reader._process
    assert process is not None
    told = Path(f"/proc/{process.pid}/limits").read_text()
    bounds = {line[:26].strip(): line[26:].split()[:2] for line in told.splitlines()}
    assert bounds["Max open files"] == ["0", "0"]
    assert bounds["Max file size"] == ["0", "0"]
    assert bounds["Max address space"] == [str(LIVE_BOUNDS.address_space_bytes)] * 2
    environment = Path(f"/proc/{process.pid}/environ").read_bytes().split(b"\0")
    assert not any(one.startswith(b"CHORDLINE_") for one in environment)
    reader.close()
    with pytest.raises(ProcessLookupError):
        os.kill(process.pid, 0)


@pytest.mark.skipif(sys.platform != "linux", reason="elsewhere they always come so")
def test_without_shared_memory_pixels_come_through_the_pipe(monkeypatch) -> None:
    monkeypatch.setattr(shared_pixels, "CAN_SHARE", False)
    monkeypatch.setattr(decoding, "CAN_SHARE", False)
    reader = ChildFrameReader(**BOUNDS)
    there = reader.read_frame(frame(320, 200))
    reader.close()
    np.testing.assert_array_equal(there, JpegFrameReader(**BOUNDS).read_frame(frame(320, 200)))


def test_its_process_does_not_hold_the_application() -> None:
    code = (
        "import sys, chordline.adapters.decoding.live_child\n"
        "print([n for n in sys.modules if n.startswith(('fastapi', 'sqlalchemy', 'scipy', "
        "'chordline.web', 'chordline.catalogue', 'chordline.bootstrap', 'pydantic'))])"
    )
    done = subprocess.run([sys.executable, "-c", code], check=True, capture_output=True, text=True)
    assert done.stdout.strip() == "[]"
