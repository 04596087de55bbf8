"""A hostile picture ends the process that decodes it, never the one that asks."""

import io
import os
import subprocess
import sys
import time
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from stand_in import STAND_IN

from chordline.adapters.decoding import photo_reader as decoding
from chordline.adapters.decoding import shared_pixels
from chordline.adapters.decoding.bounds import PHOTO_BOUNDS
from chordline.adapters.decoding.photo_reader import ChildPhotoReader
from chordline.adapters.decoding.wire import BrokenOffError, receive, send
from chordline.adapters.media.photo_reader import PillowPhotoReader
from chordline.errors import PictureError, WorkersError

LINUX = pytest.mark.skipif(sys.platform != "linux", reason="bounds of Linux")


def picture(form="JPEG", size=(400, 300), **options):
    noise = np.random.default_rng(1).integers(0, 256, (30, 40, 3), dtype=np.uint8)
    buffer = io.BytesIO()
    Image.fromarray(noise).resize(size).save(buffer, form, **options)
    return buffer.getvalue()


@pytest.fixture(scope="module")
def reader():
    reader = ChildPhotoReader(at_once=1)
    yield reader
    reader.close()


@pytest.fixture
def stand_in(tmp_path, monkeypatch):
    """A reader whose process does something else than decoding."""
    made = []

    def make(does):
        (tmp_path / "stand_in.py").write_text(STAND_IN.format(does=does))
        monkeypatch.setenv("PYTHONPATH", str(tmp_path))
        monkeypatch.setattr(decoding, "_MODULE", "stand_in")
        made.append(ChildPhotoReader(at_once=1))
        return made[-1]

    yield make
    for one in made:
        one.close()


def exif_turned():
    exif = Image.Exif()
    exif[0x0112] = 6
    exif.get_ifd(0x8769)[0xA405] = 26
    return exif


@pytest.mark.parametrize(
    "content",
    [
        pytest.param(picture(exif=exif_turned()), id="turned-jpeg"),
        pytest.param(picture("PNG", size=(5000, 200)), id="shrunk-png"),
        pytest.param(picture("WEBP"), id="webp"),
    ],
)
def test_a_picture_is_the_same_as_one_decoded_here(reader, content):
    there, here = reader.read_content("a", content), PillowPhotoReader().read_content("a", content)
    assert np.array_equal(there.rgb, here.rgb)
    assert replace(there, rgb=here.rgb) == here


def test_a_damaged_picture_is_refused_in_the_same_words_and_by_its_name(reader):
    cut = picture()[:-2000]
    with pytest.raises(PictureError) as there:
        reader.read_content("13.jpg", cut)
    with pytest.raises(PictureError) as here:
        PillowPhotoReader().read_content("13.jpg", cut)
    assert str(there.value) == str(here.value)


def test_one_process_reads_many_pictures(reader):
    reader.read_content("a", picture())
    (first,) = reader._idle
    reader.read_content("b", picture())
    assert reader._idle == [first]


def test_a_process_that_ends_is_a_refusal_and_the_next_picture_is_read(reader):
    reader.read_content("a", picture())
    reader._idle[0].process.kill()
    assert reader.read_content("b", picture()).width_px == 400


@pytest.mark.parametrize(
    "does",
    [
        pytest.param("os.abort()", id="crashes"),
        pytest.param("os._exit(0)", id="leaves"),
        pytest.param("sys.stdout.buffer.write(b'x' * 5000)", id="talks-nonsense"),
        pytest.param(
            "send(sys.stdout.buffer, {'height': 10**6, 'width': 10**6})", id="lies-about-size"
        ),
        pytest.param(
            "send(sys.stdout.buffer, {'height': 9, 'width': 9, 'width_px': -1, 'height_px': 9})",
            id="lies-about-pixels",
        ),
        pytest.param(
            "send(sys.stdout.buffer, {'height': 9, 'width': 9, 'width_px': 9, 'height_px': 9,"
            " 'focal_length_35mm': float('nan')})",
            id="lies-about-the-lens",
        ),
    ],
)
def test_a_process_that_fails_is_a_refusal(stand_in, does):
    with pytest.raises(PictureError, match=r"13.jpg: cannot be decoded; .* save it as a JPEG"):
        stand_in(does).read_content("13.jpg", picture())


def test_a_picture_that_takes_too_long_is_refused(stand_in, monkeypatch):
    monkeypatch.setattr(decoding, "PHOTO_BOUNDS", replace(PHOTO_BOUNDS, wall_s=0.3))
    start = time.monotonic()
    with pytest.raises(PictureError, match="cannot be decoded"):
        stand_in("time.sleep(60)").read_content("a", picture())
    assert time.monotonic() - start < 20.0


def test_a_process_that_does_not_start_is_said(stand_in):
    reader = stand_in("")
    decoding._MODULE = "no.such.module"
    with pytest.raises(WorkersError, match="does not start"):
        reader.read_content("a", picture())


#: Binds itself as the decoders do, then tries what none of them may.
BOUND = """
import socket, sys
from chordline.adapters.decoding.bounds import PHOTO_BOUNDS, allow_cpu, bind
bind(PHOTO_BOUNDS)
try:
    {tries}
except (OSError, MemoryError):
    sys.exit(7)
"""


@LINUX
@pytest.mark.parametrize(
    "tries",
    ["open('/etc/hostname')", "open('/tmp/x', 'w')", "socket.socket()", "bytearray(3 * 10**9)"],
)
def test_a_bound_process_has_no_file_no_network_and_no_more_memory(tries):
    done = subprocess.run([sys.executable, "-c", BOUND.format(tries=tries)], check=False)
    assert done.returncode == 7


@LINUX
def test_a_bound_process_is_ended_when_it_calculates_too_long():
    code = "from chordline.adapters.decoding.bounds import allow_cpu\nallow_cpu(0.0)\nwhile 1: 1"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == -24


@LINUX
def test_a_decoder_learns_no_key_and_no_address(monkeypatch):
    monkeypatch.setenv("CHORDLINE_DATABASE", "postgresql://secret")
    reader = ChildPhotoReader(at_once=1)
    reader.read_content("a", picture())
    surroundings = Path(f"/proc/{reader._idle[0].process.pid}/environ").read_bytes()
    reader.close()
    assert b"secret" not in surroundings


@LINUX
def test_a_decoder_does_not_hold_the_application():
    code = (
        "import sys, chordline.adapters.decoding.photo_child\n"
        "print([n for n in sys.modules if n.startswith(('fastapi', 'sqlalchemy', 'scipy', "
        "'chordline.web', 'chordline.catalogue', 'chordline.bootstrap', 'pydantic'))])"
    )
    done = subprocess.run([sys.executable, "-c", code], check=True, capture_output=True, text=True)
    assert done.stdout.strip() == "[]"


def test_without_shared_memory_pixels_come_through_the_pipe(monkeypatch):
    monkeypatch.setattr(shared_pixels, "CAN_SHARE", False)
    monkeypatch.setattr(decoding, "CAN_SHARE", False)
    reader = ChildPhotoReader(at_once=1)
    there = reader.read_content("a", picture())
    reader.close()
    assert np.array_equal(there.rgb, PillowPhotoReader().read_content("a", picture()).rgb)


@pytest.mark.parametrize(
    "wrong",
    [b"", b"\x01", b"\xff" * 12, b"\x02\0\0\0" + bytes(8) + b"[]", b"\x01\0\0\0" + bytes(8) + b"{"],
)
def test_a_message_that_cannot_be_is_none(wrong):
    with pytest.raises(BrokenOffError):
        receive(io.BytesIO(wrong), most_bytes=100)


def test_a_message_comes_through_whole():
    pipe = io.BytesIO()
    send(pipe, {"a": 1}, b"bytes")
    pipe.seek(0)
    assert receive(pipe, most_bytes=5) == ({"a": 1}, b"bytes")


@pytest.mark.skipif(not hasattr(os, "fork"), reason="no fork here")
def test_a_fork_does_not_talk_with_its_parents_decoder(reader):
    reader.read_content("a", picture())
    child = os.fork()
    if child == 0:
        os._exit(len(reader._idle))
    assert os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == 0
