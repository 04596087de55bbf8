"""From a screened folder to the squad's sheet."""

from collections.abc import Mapping
from dataclasses import replace

from application_doubles import grey_picture
from chordline.application.find_limits import FindLimits
from chordline.application.folder import Gymnast
from chordline.application.judge_folder import judge_folder
from chordline.application.make_squad_sheet import MakeSquadSheet
from chordline.application.screen_folder import Filed, FolderScreen, GymnastScreen, LeftOut
from chordline.application.squad_sheet import SquadSheet
from chordline.catalogue.segments import our_segments
from chordline.core.body.verdict import Verdict
from screen_stories import CATALOGUE, photo

FIND = FindLimits(CATALOGUE, our_segments())

ALIGNED = {"prone-sides": {"hip": 0.0}, "prone-overhead": {"hip": 0.0, "shoulder": 0.0}}
HIPS_OFF = {"prone-sides": {"hip": -17.0}, "prone-overhead": {"hip": -17.0, "shoulder": 0.0}}
CLOSED = {
    "prone-sides": {"hip": 0.0},
    "prone-overhead": {"hip": 0.0, "shoulder": -24.0},
    "prone-raised": {"hip": 0.0, "shoulder": -24.0},
    "handstand": {"hip": 0.0, "shoulder": -24.0},
}


def girl(name: str, card: int | None, tests: Mapping[str, Mapping[str, float]]) -> GymnastScreen:
    filed = tuple(Filed(photo(test, seen), grey_picture) for test, seen in tests.items())
    return GymnastScreen(Gymnast(name, card), filed)


def squad_of(*girls: GymnastScreen, left_out: tuple[LeftOut, ...] = ()) -> SquadSheet:
    result = FolderScreen(girls, left_out)
    return MakeSquadSheet(CATALOGUE)(
        result,
        judge_folder(result, screen="story", find=FIND),
        squad="Thursday group",
        pages=[f"{one.gymnast.card}.html" for one in girls],
    )


def test_every_gymnast_has_every_capacity_in_the_order_of_the_folder() -> None:
    sheet = squad_of(girl("Zoe", 2, ALIGNED), girl("Ada", 7, CLOSED), girl("Mia", 9, HIPS_OFF))
    assert [row.gymnast for row in sheet.rows] == ["Zoe", "Ada", "Mia"]
    assert [row.page for row in sheet.rows] == ["2.html", "7.html", "9.html"]
    assert len(sheet.columns) == len(CATALOGUE.capacities)
    assert all(len(row.cells) == len(sheet.columns) for row in sheet.rows)


def test_a_cell_says_it_in_few_words_with_its_error() -> None:
    [row] = squad_of(girl("Ada", 7, CLOSED)).rows
    cells = dict(zip(CATALOGUE.capacities, row.cells, strict=True))
    passive = cells["shoulder_flexion_deg"]
    assert passive.verdict is Verdict.SHORT
    assert passive.words.startswith("closed 2")
    assert passive.known_to.startswith("± ")
    assert cells["hip_extension_deg"].words == "long"
    untested = cells["front_chain_s"]
    assert (untested.verdict, untested.words, untested.known_to) == (None, "not tested yet", "")


def test_what_cannot_be_told_claims_no_amount() -> None:
    [row] = squad_of(girl("Mia", 9, HIPS_OFF)).rows
    cells = dict(zip(CATALOGUE.capacities, row.cells, strict=True))
    assert cells["hip_extension_deg"].words == "cannot tell yet"
    assert cells["hip_extension_deg"].verdict is Verdict.CANNOT_TELL
    assert row.open == ("Hip flexors or pelvic control",)


def test_brief_words_fall_back_on_the_long_ones() -> None:
    capacities = {
        name: entry.model_copy(update={"brief_missing": "", "brief_enough": ""})
        for name, entry in CATALOGUE.capacities.items()
    }
    result = FolderScreen((girl("Ada", 7, CLOSED),), ())
    sheet = MakeSquadSheet(CATALOGUE.model_copy(update={"capacities": capacities}))(
        result, judge_folder(result, screen="s", find=FIND), squad="s", pages=[""]
    )
    words = dict(zip(capacities, (cell.words for cell in sheet.rows[0].cells), strict=True))
    assert words["shoulder_flexion_deg"].startswith("closed by 2")
    assert words["hip_extension_deg"] == "long enough"


def test_the_handstand_is_shown_else_the_latest_test_with_arms_overhead() -> None:
    rows = squad_of(
        girl("Ada", 7, CLOSED), girl("Zoe", 8, ALIGNED), girl("Mia", 9, {"prone-sides": {"hip": 0}})
    ).rows
    shown = [row.line.measurement.test if row.line else None for row in rows]
    assert shown == ["handstand", "prone-overhead", None]


def test_a_dish_stands_for_her_only_where_nothing_else_does() -> None:
    dish = {"dish-overhead": {"shoulder": 0.0, "hip": 0.0}}
    rows = squad_of(girl("Ada", 7, ALIGNED | dish), girl("Zoe", 8, dish)).rows
    shown = [row.line.measurement.test if row.line else None for row in rows]
    assert shown == ["prone-overhead", "dish-overhead"]


def test_the_next_session_is_planned_by_test() -> None:
    sheet = squad_of(girl("Mia", 9, HIPS_OFF), girl("Lea", 10, HIPS_OFF), girl("Ada", 11, ALIGNED))
    deciding = [
        planned
        for test in sheet.next_tests
        for planned in test.planned
        if "to decide hip flexors or pelvic control" in planned.why
    ]
    assert [planned.gymnasts for planned in deciding] == [("Mia", "Lea")]
    order = [test.title for test in CATALOGUE.tests.values()]
    titles = [test.title for test in sheet.next_tests]
    assert titles == sorted(titles, key=order.index)
    [for_both] = [test for test in sheet.next_tests if deciding[0] in test.planned]
    assert for_both.takes.startswith("half a minute each, ")
    assert for_both.care


def test_two_of_one_name_are_told_apart_by_their_cards() -> None:
    sheet = squad_of(girl("Mia", 9, HIPS_OFF), girl("Mia", 10, HIPS_OFF))
    assert [row.gymnast for row in sheet.rows] == ["Mia", "Mia"]
    assert [row.called for row in sheet.rows] == ["Mia (9)", "Mia (10)"]
    names = {name for test in sheet.next_tests for of in test.planned for name in of.gymnasts}
    assert names == {"Mia (9)", "Mia (10)"}


def test_nobody_and_nothing_goes_missing() -> None:
    sheet = squad_of(
        girl("Ada", 7, ALIGNED),
        left_out=(
            LeftOut("a.jpg", "too dark", "Ada"),
            LeftOut("b.jpg", "no body was found", "Zoe"),
            LeftOut("holds.csv", "nobody is called 'Zo'"),
        ),
    )
    assert [row.gymnast for row in sheet.rows] == ["Ada", "Zoe"]
    assert all(cell.verdict is None for cell in sheet.rows[1].cells)
    assert sheet.rows[1].limits == ("None of her pictures could be used.",)
    assert sheet.left_out == (
        "a.jpg: too dark",
        "b.jpg: no body was found",
        "holds.csv: nobody is called 'Zo'",
    )


def test_a_reason_that_holds_for_many_pictures_is_told_once() -> None:
    left_out = tuple(LeftOut(f"{i}.jpg", "too dark", "Zoe") for i in range(3))
    sheet = squad_of(left_out=(*left_out, LeftOut("b.jpg", "no body")))
    assert sheet.left_out == ("0.jpg, 1.jpg, 2.jpg: too dark", "b.jpg: no body")


def test_signs_and_doubts_reach_the_squads_page() -> None:
    ada = replace(girl("Ada", 7, CLOSED), flags=("wrist_pain",))
    takes = (photo("prone-sides", {"hip": hip}, name=f"{hip}.jpg") for hip in (0.0, -60.0))
    mia = GymnastScreen(Gymnast("Mia", 9), tuple(Filed(take, grey_picture) for take in takes))
    sheet = squad_of(ada, mia)
    assert [stop.label for stop in sheet.rows[0].stops] == ["Wrist pain"]
    [look] = sheet.rows[1].looks
    assert look.startswith("Mia: On the stomach, arms beside the body, hips: ")
