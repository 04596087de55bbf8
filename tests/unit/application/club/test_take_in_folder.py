"""A folder into the records: nothing twice, nothing lost, every reason said."""

from datetime import date
from pathlib import Path

from PIL import Image
from stored_photos import DictStore

from application_doubles import FakeReader
from chordline.adapters.db.records import SqlRecords
from chordline.application.club.judge_screen import JudgeScreen
from chordline.application.club.pictures import StoredPictures
from chordline.application.club.take_in import TakeInPhoto
from chordline.application.club.take_in_folder import TakeInFolder, TakenIn
from chordline.application.find_limits import FindLimits
from chordline.application.folder import FlagRow, FolderContents, HoldRow, ScreenRow
from chordline.application.headway import Silent
from chordline.application.marks import HandMarks
from chordline.catalogue.segments import our_segments
from chordline.core.body.measurement import Mark
from club_stories import MONDAY, TUESDAY, found_club
from screen_stories import CATALOGUE

MARKS = HandMarks("left", "down", {"hip": Mark(10.0, 20.0, 4.0, "hand")})


def photos_in(folder: Path, *names: str) -> tuple[Path, ...]:
    folder.mkdir(exist_ok=True)
    for number, name in enumerate(names):
        Image.new("RGB", (80, 80), (number, 0, 0)).save(folder / name)
    return tuple(folder / name for name in names)


def take_in(
    records: SqlRecords, club_id: int, contents: FolderContents, folder: Path, **said: object
) -> TakenIn:
    store = DictStore()
    pictures = StoredPictures(store, FakeReader())
    judge = JudgeScreen(records, pictures, FindLimits(CATALOGUE, our_segments()), CATALOGUE)
    use_case = TakeInFolder(
        records, TakeInPhoto(records, store, FakeReader(), CATALOGUE), judge, CATALOGUE
    )
    day: date = said.pop("day", MONDAY)  # type: ignore[assignment]
    return use_case(
        club_id,
        contents,
        day=day,
        today=TUESDAY,
        author="Kim",
        progress=Silent(),
        **said,  # type: ignore[arg-type]
    )


def test_photos_wait_under_their_test_for_their_card_to_be_read(
    records: SqlRecords, tmp_path: Path
) -> None:
    club, _ = found_club(records, "Ada")
    photos = photos_in(tmp_path / "in", "0_prone-out.png", "IMG_1.png")
    taken = take_in(records, club.id, FolderContents(photos), tmp_path, test="handstand")
    assert (len(taken.photos), taken.new, taken.left_out) == (2, 2, ())
    assert [one.photo.test for one in taken.photos] == ["handstand", "handstand"]
    assert {one.photo.taken_on for one in taken.photos} == {MONDAY}
    with records.reading() as tx:
        assert tx.jobs.counts(club.id)["waiting"] == 2


def test_the_name_says_the_test_where_nobody_else_does(records: SqlRecords, tmp_path: Path) -> None:
    club, _ = found_club(records, "Ada")
    photos = photos_in(tmp_path / "in", "0_prone-out.png", "IMG_1.png")
    taken = take_in(records, club.id, FolderContents(photos), tmp_path)
    assert [one.photo.test for one in taken.photos] == ["prone-out", None]


def test_a_line_says_whose_which_test_and_which_side(records: SqlRecords, tmp_path: Path) -> None:
    club, (ada, bea) = found_club(records, "Ada", "Bea")
    photos = photos_in(tmp_path / "in", "a.png", "b.png")
    rows = {
        "a.png": ScreenRow("a.png", "bea", "handstand", near_side="right"),
        "b.png": ScreenRow("b.png", "0", "prone-out"),
    }
    taken = take_in(records, club.id, FolderContents(photos, rows), tmp_path)
    with records.reading() as tx:
        owners = [tx.screens.get(one.photo.screen_id or 0) for one in taken.photos]
    assert [one.gymnast_id for one in owners] == [bea.id, ada.id]
    assert {one.screened_on for one in owners} == {MONDAY}
    assert taken.photos[0].photo.near_side == "right"


def test_the_same_folder_again_takes_nothing_twice(records: SqlRecords, tmp_path: Path) -> None:
    club, (ada,) = found_club(records, "Ada")
    photos = photos_in(tmp_path / "in", "0_prone-out.png")
    contents = FolderContents(
        photos,
        marks={"0_prone-out.png": MARKS},
        holds=(HoldRow("Ada", "hold-front", 31.0, False),),
        flags=(FlagRow("Ada", "wrist_pain"),),
    )
    take_in(records, club.id, contents, tmp_path)
    again = take_in(records, club.id, contents, tmp_path)
    assert again.new == 0
    with records.reading() as tx:
        view = tx.gymnasts.view(ada.id)
        assert len(tx.photos.marks_history(again.photos[0].photo.id)) == 1
    assert [hold.seconds for hold in view.screens[0].holds] == [31.0]
    assert [note.flag for note in view.notes] == ["wrist_pain"]


def test_marks_that_a_kill_kept_from_being_saved_are_saved_the_second_time(
    records: SqlRecords, tmp_path: Path
) -> None:
    club, _ = found_club(records, "Ada")
    photos = photos_in(tmp_path / "in", "0_prone-out.png")
    take_in(records, club.id, FolderContents(photos), tmp_path)
    again = take_in(
        records, club.id, FolderContents(photos, marks={"0_prone-out.png": MARKS}), tmp_path
    )
    with records.reading() as tx:
        (kept,) = tx.photos.marks_history(again.photos[0].photo.id)
    assert kept.marks == MARKS


def test_holds_and_signs_are_judged_at_once(records: SqlRecords, tmp_path: Path) -> None:
    club, (ada,) = found_club(records, "Ada")
    contents = FolderContents(
        photos_in(tmp_path / "in", "x.png"), flags=(FlagRow("Ada", "wrist_pain"),)
    )
    take_in(records, club.id, contents, tmp_path)
    with records.reading() as tx:
        (screen,) = tx.gymnasts.view(ada.id).screens
    assert screen.findings is not None
    assert [stop["flag"] for stop in screen.findings.record["stops"]] == ["wrist_pain"]


def test_everything_that_cannot_be_taken_is_told_with_the_reason(
    records: SqlRecords, tmp_path: Path
) -> None:
    club, _ = found_club(records, "Ada")
    photos = photos_in(tmp_path / "in", "a.png", "b.png", "c.png")
    photos[2].write_bytes(b"broken picture")
    contents = FolderContents(
        photos,
        rows={
            "a.png": ScreenRow("a.png", "Nobody"),
            "b.png": ScreenRow("b.png", test="prone-lifted"),
        },
        holds=(HoldRow("Ada", "hold-sideways", 3.0, False), HoldRow("9", "hold-front", 3.0, True)),
        flags=(FlagRow("Ada", "sad"),),
        faults=(("screen.csv, line 9", "column 'photo' is empty"),),
    )
    taken = take_in(records, club.id, contents, tmp_path)
    told = {one.file: one.reason for one in taken.left_out}
    assert "'Nobody' is not in the roster" in told["a.png"]
    assert "prone-lifted" in told["b.png"]
    assert "no picture" in told["c.png"]
    assert "sad" in told["flags.csv"]
    assert told["screen.csv, line 9"] == "column 'photo' is empty"
    reasons = [one.reason for one in taken.left_out if one.file == "holds.csv"]
    assert reasons == ["no test is called 'hold-sideways'", "card 9 is nobody's in the roster"]
    assert taken.photos == ()


def test_a_day_to_come_is_refused(records: SqlRecords, tmp_path: Path) -> None:
    club, _ = found_club(records, "Ada")
    photos = photos_in(tmp_path / "in", "a.png")
    taken = take_in(records, club.id, FolderContents(photos), tmp_path, day=date(2025, 9, 3))
    assert [one.reason for one in taken.left_out] == ["the day lies in the future"]
