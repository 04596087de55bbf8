"""Screening a folder: everything is either measured or listed with a reason."""

from dataclasses import dataclass, field
from pathlib import Path

import pytest

from application_doubles import PRONE, DictCache, FakeCards, FakePoses, FakeReader, body_of
from chordline.application.folder import FlagRow, FolderContents, Gymnast, HoldRow, ScreenRow
from chordline.application.headway import Silent
from chordline.application.measure_photo import MeasurePhoto
from chordline.application.screen_folder import FolderScreen, ScreenFolder
from chordline.catalogue.loader import load_catalogue

CATALOGUE = load_catalogue()
ROSTER = (Gymnast("Juna", 11), Gymnast("Mirela", 12))


@dataclass
class Folder:
    """A folder of fake photos that is screened again and again."""

    reader: FakeReader = field(default_factory=FakeReader)
    cards: FakeCards = field(default_factory=FakeCards)
    cache: DictCache = field(default_factory=DictCache)

    def screen(self, *names: str, **more: object) -> FolderScreen:
        poses = FakePoses((body_of(PRONE),))
        use_case = ScreenFolder(
            MeasurePhoto(self.reader, self.cards, poses, CATALOGUE), CATALOGUE, self.reader
        )
        contents = FolderContents(tuple(map(Path, names)), **{"roster": ROSTER, **more})
        return use_case(contents, cache=self.cache, progress=Silent())


def test_photos_file_themselves_in_the_order_of_the_battery() -> None:
    result = Folder().screen("11_prone-overhead.jpg", "12_prone-sides.jpg", "11_prone-sides.jpg")
    filed = {
        one.gymnast.name: [filed.measurement.test for filed in one.filed] for one in result.gymnasts
    }
    assert filed == {"Juna": ["prone-sides", "prone-overhead"], "Mirela": ["prone-sides"]}
    assert result.left_out == ()


def test_a_broken_picture_does_not_stop_the_rest() -> None:
    folder = Folder(reader=FakeReader(broken=("11_prone-out.jpg",)))
    result = folder.screen("11_prone-out.jpg", "11_prone-sides.jpg")
    assert len(result.measurements) == 1
    assert [(one.file, one.owner) for one in result.left_out] == [("11_prone-out.jpg", "Juna")]
    assert "take it again" in result.left_out[0].reason


@pytest.mark.parametrize(
    ("name", "told"),
    [
        ("IMG_0412.jpg", "which test it is"),
        ("13_prone-sides.jpg", "not in gymnasts.csv"),
        ("prone-sides.jpg", "no card in the picture"),
    ],
)
def test_what_cannot_be_matched_is_listed(name: str, told: str) -> None:
    result = Folder().screen(name)
    assert result.measurements == ()
    assert told in result.left_out[0].reason


def test_screen_csv_says_what_the_name_does_not() -> None:
    row = ScreenRow("IMG_0412.jpg", gymnast="Mirela", test="prone-sides")
    result = Folder().screen("IMG_0412.jpg", rows={"IMG_0412.jpg": row})
    assert result.gymnasts[0].gymnast.name == "Mirela"


def test_an_unknown_test_in_screen_csv_is_listed() -> None:
    row = ScreenRow("11.jpg", gymnast="Juna", test="prone-lifted")
    result = Folder().screen("11.jpg", rows={"11.jpg": row})
    assert "no test is called 'prone-lifted'" in result.left_out[0].reason


def test_a_row_without_its_photo_is_listed() -> None:
    result = Folder().screen(
        "11_prone-sides.jpg", rows={"gone.jpg": ScreenRow("gone.jpg", test="prone-sides")}
    )
    assert [one.file for one in result.left_out] == ["gone.jpg"]


def test_what_was_measured_is_not_measured_again() -> None:
    folder = Folder()
    folder.screen("11_prone-sides.jpg")
    assert folder.reader.reads == ["11_prone-sides.jpg"]
    again = folder.screen("11_prone-sides.jpg", "12_prone-sides.jpg")
    assert folder.reader.reads == ["11_prone-sides.jpg", "12_prone-sides.jpg"]
    assert len(again.measurements) == 2


def test_a_coachs_new_word_measures_again() -> None:
    folder = Folder()
    name = "11_prone-sides.jpg"
    folder.screen(name)
    folder.screen(name, rows={name: ScreenRow(name, near_side="left")})
    assert folder.reader.reads == [name, name]


def test_holds_and_signs_reach_their_gymnast() -> None:
    result = Folder().screen(
        "11_prone-sides.jpg",
        holds=(HoldRow("12", "hold-front", 45.0, True), HoldRow("Zoe", "hold-front", 9.0, False)),
        flags=(FlagRow("Juna", "wrist_pain"), FlagRow("Juna", "cough")),
    )
    by_name = {one.gymnast.name: one for one in result.gymnasts}
    assert by_name["Mirela"].held[0].seconds == 45.0
    assert by_name["Mirela"].held[0].reached_cap
    assert by_name["Juna"].flags == ("wrist_pain",)
    assert sorted(one.file for one in result.left_out) == ["flags.csv", "holds.csv"]
