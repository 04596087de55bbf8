"""A club's catalogue files are bounded: size, depth, numbers, letters."""

import pytest

from chordline.catalogue.club_file import MOST_BYTES
from chordline.catalogue.live import load_live
from chordline.catalogue.loader import load_catalogue
from chordline.catalogue.motion import load_motion
from chordline.errors import CatalogueError

OURS = load_catalogue()


@pytest.mark.parametrize(
    ("content", "said"),
    [
        pytest.param(b"a = " + b"[" * 50_000, "nests lists or tables too deeply", id="lists"),
        pytest.param(b"[" + b"a." * 30 + b"b]\n", "nests lists or tables too deeply", id="tables"),
        pytest.param(b"a = " + b"1" * 5_000, "a number that is too long", id="digits"),
        pytest.param(b"a = 0x" + b"f" * 5_000, "a number that is too long", id="hex-digits"),
        pytest.param(b"\xff\xfe", "is not in UTF-8", id="no-utf-8"),
        pytest.param(b"#" * (MOST_BYTES + 1), "is larger than 2 MB", id="large"),
        pytest.param(b"prone-sides = 3", "settings.toml: prone-sides", id="no-table"),
    ],
)
def test_a_file_that_harms_is_refused_with_a_sentence(tmp_path, content, said):
    (tmp_path / "settings.toml").write_bytes(content)
    with pytest.raises(CatalogueError) as refused:
        load_catalogue(tmp_path)
    assert said in str(refused.value)


@pytest.mark.parametrize("name", ["tests.toml", "model.toml", "limits.toml", "sources.toml"])
@pytest.mark.parametrize("value", ["3", '"a"', "[1]", "{a = 1}", "nan", "1979-05-27"])
def test_an_entry_of_another_kind_is_a_fault_with_its_path(tmp_path, name, value):
    (tmp_path / name).write_text(f"odd = {value}\n")
    with pytest.raises(CatalogueError, match=f"^{name}: odd"):
        load_catalogue(tmp_path)


@pytest.mark.parametrize("part", ["settings", "words", "order", "limits"])
@pytest.mark.parametrize("load", [load_live, load_motion])
@pytest.mark.parametrize("value", ["3", "nan", "[1]"])
def test_a_part_that_is_no_table_is_refused(tmp_path, part, load, value):
    for name in ("live.toml", "motion.toml"):
        (tmp_path / name).write_text(f"{part} = {value}\n")
    with pytest.raises(CatalogueError, match=f"{part}"):
        load(OURS, tmp_path)


def test_a_file_with_the_mark_that_editors_put_first_is_read(tmp_path):
    (tmp_path / "settings.toml").write_bytes(b"\xef\xbb\xbf# nothing of our own\n")
    assert load_catalogue(tmp_path).settings
