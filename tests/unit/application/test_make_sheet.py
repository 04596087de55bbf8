"""From a screen and its findings to a gymnast's sheet."""

from collections.abc import Mapping
from dataclasses import replace

import pytest

from application_doubles import FakeReader, grey_picture
from chordline.application.find_limits import FindLimits, ScreenInput
from chordline.application.findings import Findings
from chordline.application.folder import Gymnast
from chordline.application.make_sheet import SHEET_PICTURE_PX, MakeSheet
from chordline.application.screen_folder import Filed, GymnastScreen, LeftOut
from chordline.application.wording import describe_measure
from chordline.catalogue.segments import our_segments
from chordline.core.body.measurement import Measure, Trust
from chordline.core.capacity.observed import Fault
from screen_stories import CATALOGUE, photo

FIND = FindLimits(CATALOGUE, our_segments())
TESTS: Mapping[str, Mapping[str, float]] = {
    "prone-sides": {"hip": -17.0},
    "prone-overhead": {"hip": -17.0, "shoulder": 0.0},
}


def screen_of(tests: Mapping[str, Mapping[str, float]] = TESTS) -> GymnastScreen:
    filed = tuple(Filed(photo(test, values), grey_picture) for test, values in tests.items())
    return GymnastScreen(Gymnast("Mirela", 12), filed)


def found_in(screen: GymnastScreen, *, flags: tuple[str, ...] = ()) -> Findings:
    measurements = tuple(filed.measurement for filed in screen.filed)
    return FIND(ScreenInput("Mirela", 12, "story", measurements, flags=flags))


def make() -> MakeSheet:
    return MakeSheet(FakeReader(), CATALOGUE)


def test_pictures_stand_on_the_sheet_as_they_were_screened() -> None:
    sheet = make()(screen_of(), left_out=(LeftOut("a.jpg", "too dark", "Mirela"),))
    assert (sheet.gymnast, sheet.card) == ("Mirela", 12)
    assert [photo.measurement.test for photo in sheet.photos] == list(TESTS)
    assert sheet.left_out == ("a.jpg: too dark",)
    assert sheet.findings is None
    assert sheet.photos[0].jpeg_width_px == min(1600, SHEET_PICTURE_PX)


def test_what_is_open_comes_with_the_test_that_decides() -> None:
    screen = screen_of()
    told = make()(screen, left_out=(), found=found_in(screen)).findings
    assert told is not None
    [question] = told.open
    assert question.state == "Hip flexors or pelvic control: cannot be told apart yet"
    assert question.test is not None
    assert question.ask.startswith(CATALOGUE.tests[question.test].title)
    assert CATALOGUE.tests[question.test].how in question.ask
    assert told.offer_reads


def test_a_deciding_test_that_is_not_the_next_one_comes_then() -> None:
    screen = screen_of()
    found = found_in(screen)
    [question] = found.undecided
    assert question.ask_test is not None
    same = replace(
        found, next_test=next(o for o in found.more_tests if o.test == question.ask_test)
    )
    other = replace(found, next_test=next(o for o in found.more_tests if o.test == "handstand"))
    told = make()(screen, left_out=(), found=same).findings
    assert told is not None
    assert told.then == ()
    told = make()(screen, left_out=(), found=other).findings
    assert told is not None
    title = CATALOGUE.tests[question.ask_test].title
    assert told.then == (f"{title}, to decide hip flexors or pelvic control.",)


def test_where_nothing_is_urgent_the_deciding_test_is_offered() -> None:
    screen = screen_of()
    found = replace(found_in(screen), next_test=None)
    [question] = found.undecided
    first = next(offer for offer in found.more_tests if offer.test != question.ask_test)
    rest = [offer for offer in found.more_tests if offer.test != first.test]
    told = make()(screen, left_out=(), found=replace(found, more_tests=(first, *rest))).findings
    assert told is not None
    assert told.offer is not None
    assert told.offer.test == question.ask_test
    assert told.then == ()


def test_a_sign_names_the_tests_that_are_left_out_in_words() -> None:
    screen = screen_of()
    told = make()(screen, left_out=(), found=found_in(screen, flags=("wrist_pain",))).findings
    assert told is not None
    [stop] = told.stops
    assert stop.label == "Wrist pain"
    assert "Handstand, from the side" in stop.left_out


def test_two_takes_that_contradict_each_other_are_told_once() -> None:
    screen = screen_of()
    why = "a.jpg and b.jpg say 3 and 40"
    faults = tuple(Fault(f, "prone-sides", "hip_opening_deg", why) for f in ("a.jpg", "b.jpg"))
    other = Fault("holds.csv", "hold-front", "hold_log_s", "no time can be zero")
    found = replace(found_in(screen), faults=(*faults, other))
    told = make()(screen, left_out=(), found=found).findings
    assert told is not None
    assert told.put_aside == (
        f"On the stomach, arms beside the body, hips: {why}",
        "Hold face down, hands and feet on two low blocks (holds.csv): no time can be zero",
    )


def test_no_capacity_is_known_more_finely_than_whole_per_cent() -> None:
    screen = screen_of()
    told = make()(screen, left_out=(), found=found_in(screen)).findings
    assert told is not None
    assert all("." not in known_to for known_to in told.known_to.values())


@pytest.mark.parametrize("name", list(CATALOGUE.measures))
def test_no_shape_on_the_line_reads_like_the_verdict(name: str) -> None:
    test = next(test for test in CATALOGUE.tests.values() if name in test.measures)
    unit = name.rpartition("_")[2]
    line = describe_measure(name, Measure(0.0, 1.0, unit, {}), test=test, catalogue=CATALOGUE)
    assert line.words not in {"on the line", "close", ""}
    assert not line.words.startswith(line.label.lower())


def test_paper_gets_the_reason_of_an_error_in_a_few_words() -> None:
    test = CATALOGUE.tests["prone-sides"]
    measure = Measure(-17.0, 2.0, "deg", {"yaw": 0.01, "landmark_definition": 3.0})
    line = describe_measure("hip_opening_deg", measure, test=test, catalogue=CATALOGUE)
    assert line.brief == "4° marks, 6° joint"
    assert "where exactly a joint is" in line.reason


def test_a_picture_in_doubt_says_so_instead_of_a_finding() -> None:
    doubt = photo("prone-sides", {"hip": -17.0}, trust=Trust(False, ("Is it she?",)))
    screen = GymnastScreen(Gymnast("Mirela", 12), (Filed(doubt, grey_picture),))
    sheet = make()(screen, left_out=(), found=found_in(screen))
    assert sheet.photos[0].headline == "Needs a look before it is used"
    assert sheet.findings is not None
    assert sheet.findings.found.not_used == ("prone-sides.jpg: Is it she?",)
