"""A client's name for a file is something to show, never a way to a file."""

import pytest

from chordline.application.club.file_name import LONGEST_NAME, own_name


@pytest.mark.parametrize(
    ("said", "kept"),
    [
        ("../../etc/passwd", "passwd"),
        ("..\\..\\13.jpg", "13.jpg"),
        ("/srv/13.jpg", "13.jpg"),
        ("C:\\photos\\13.jpg", "13.jpg"),
        ("\\\\server\\share\\13.jpg", "13.jpg"),
        ("13\x00.jpg", "13.jpg"),
        ("13\r\n  a.jpg", "13 a.jpg"),
        ("13_\u202egpj.exe", "13_gpj.exe"),
        ("13\ud800.jpg", "13.jpg"),
        ("Åsa 🤸.jpg", "Åsa 🤸.jpg"),
        ("..", "photo"),
        ("a/", "photo"),
        ("\u200b", "photo"),
        ("", "photo"),
    ],
)
def test_only_what_can_be_shown_is_kept(said, kept):
    assert own_name(said, otherwise="photo") == kept


def test_the_end_of_a_long_name_is_kept():
    name = own_name("a" * 10_000 + "_prone-sides.jpg", otherwise="photo")
    assert len(name) == LONGEST_NAME
    assert name.endswith("_prone-sides.jpg")
