"""Marks files and folder lists that `make faults` found to end in a stack trace once."""

import pytest

from chordline.adapters.media.folder_reader import DiskFolderReader
from chordline.adapters.media.live_frame import JpegFrameReader
from chordline.adapters.media.marks_file import read_marks
from chordline.errors import MarksError, PictureError


@pytest.mark.parametrize(
    ("content", "said"),
    [
        pytest.param(b"[" * 200_000, "is no JSON", id="deep"),
        pytest.param(b'{"a":' * 100_000, "is no JSON", id="deep-objects"),
        pytest.param(b"1" * 10_000, "holds a number that is too long", id="long-number"),
        pytest.param(b"[" + b"{}," * 20_000 + b"{}]", "more than 10000 photos", id="many"),
        pytest.param(b"[" + b"{}," * 9_000 + b"{}]", "and 8901 more", id="many-faults"),
        pytest.param(b" " * 5_000_001, "far too large", id="large"),
        pytest.param(
            b'{"landmarks": {"hip": {"x_px": NaN, "y_px": 1e999}}}', "finite", id="no-numbers"
        ),
        pytest.param(
            b'{"landmarks": {"back_' + b"1" * 5_000 + b'": {"x_px": 1, "y_px": 1}}}',
            "no such landmark",
            id="long-number-in-a-name",
        ),
        pytest.param(
            '{"landmarks": {"back_²": {"x_px": 1, "y_px": 1}}}'.encode(),
            "no such landmark",
            id="raised-number-in-a-name",
        ),
        pytest.param(b'{"landmarks": {"\\ud800": {"x_px": 1, "y_px": 1}}}', "$", id="half-letter"),
    ],
)
def test_marks_that_cannot_be_are_refused_with_a_sentence(tmp_path, content, said):
    path = tmp_path / "13.marks.json"
    path.write_bytes(content)
    with pytest.raises(MarksError) as refused:
        read_marks(path, default_sd_px=4.0)
    assert said in str(refused.value)
    assert len(str(refused.value)) < 20_000


@pytest.mark.parametrize(
    "content",
    [
        pytest.param(b"gymnast,test,seconds\n" + b"a" * 200_000, id="long-field"),
        pytest.param(b'gymnast,test,seconds\n"' + b"a\n" * 100_000, id="open-quote"),
        pytest.param(b"gymnast,test,seconds\nAda,\0,3\n", id="zero"),
        pytest.param(b"x" * 5_000_001, id="large"),
    ],
)
def test_a_list_that_cannot_be_read_is_a_fault_of_the_folder(tmp_path, content):
    (tmp_path / "13.jpg").write_bytes(b"x")
    (tmp_path / "holds.csv").write_bytes(content)
    read = DiskFolderReader(default_sd_px=4.0).read(tmp_path)
    assert [photo.name for photo in read.photos] == ["13.jpg"]
    assert not read.holds
    assert read.faults[0][0].startswith("holds.csv")


def test_a_list_with_line_ends_of_old_machines_is_read(tmp_path):
    (tmp_path / "13.jpg").write_bytes(b"x")
    (tmp_path / "holds.csv").write_bytes(b"gymnast,test,seconds\rAda,hold-front,31\r")
    read = DiskFolderReader(default_sd_px=4.0).read(tmp_path)
    assert [hold.seconds for hold in read.holds] == [31.0]


def test_a_live_picture_that_claims_four_gigapixels_is_refused():
    head = b"\xff\xd8\xff\xc0\x00\x11\x08\xff\xff\xff\xff\x03\x01\x22\x00\x02\x11\x01\x03\x11\x01"
    with pytest.raises(PictureError, match="live picture"):
        JpegFrameReader(most_bytes=1_000_000, most_px=1_000_000).read_frame(head + b"\xff\xd9")
