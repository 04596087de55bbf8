"""What limits her, on the page and on paper."""

import io
import re
from dataclasses import replace

import pytest
from pypdf import PdfReader
from sample_findings import DOUBTED, NOTHING, STOPPED, judged_sheet
from test_sheet_page import NASTY, Page, part

from chordline.adapters.printing.findings_view import view_findings
from chordline.adapters.printing.press import SheetPress
from chordline.application.sheet import GymnastSheet


def page_of(sheet: GymnastSheet) -> str:
    return SheetPress().to_html(sheet)


def pages_of(sheet: GymnastSheet) -> list[str]:
    """Return the text of each page of paper."""
    reader = PdfReader(io.BytesIO(SheetPress().to_pdf(sheet)))
    return [page.extract_text() for page in reader.pages]


def in_a_line(pages: list[str]) -> str:
    return re.sub(r"\s+", " ", " ".join(pages))


def paper_of(sheet: GymnastSheet) -> str:
    return in_a_line(pages_of(sheet))


@pytest.fixture(scope="module")
def html() -> str:
    return page_of(judged_sheet())


@pytest.fixture(scope="module")
def pages() -> list[str]:
    return pages_of(judged_sheet())


@pytest.fixture(scope="module")
def paper(pages: list[str]) -> str:
    return in_a_line(pages)


def test_what_limits_her_comes_before_the_single_tests(html: str, paper: str) -> None:
    for words in (Page(html).words, paper):
        order = [
            words.index(part)
            for part in (
                "Mira Example",
                "What limits her",
                "Shoulders, active: 17° less by herself than when lifted",
                "Cannot tell yet",
                "Next time, first",
                "All capacities",
                "At a glance",
            )
        ]
        assert order == sorted(order)


def test_how_sure_is_said_in_words_before_the_number(html: str, paper: str) -> None:
    for words in (Page(html).words, paper):
        assert "Almost certain over 99 % · ± 8°" in words
        assert "100 %" not in words


def test_a_reason_leads_to_the_picture_that_shows_it(html: str, paper: str) -> None:
    because = part(html, 'class="because"', "</ul>")
    assert 'href="#test-4"' in because
    assert because.count('class="cl-glyph"') == 1
    assert 'id="test-4"' in html
    assert "shoulders closed by 25° (adds 8° to the estimate). Picture 4" in paper
    assert "Picture 4 of 8" in paper


def test_a_reason_without_a_picture_leads_nowhere(html: str) -> None:
    because = part(html, 'class="because"', "</ul>")
    assert "14 s in shape" in because
    assert because.count("href=") == 1


def test_the_work_that_fits_stands_beside_its_limiter(html: str, paper: str) -> None:
    for words in (Page(html).words, paper):
        assert "Work that fits: Lifts in contraction" in words


def test_an_open_question_says_which_test_decides_and_how(html: str, paper: str) -> None:
    for words in (Page(html).words, paper):
        assert "Hip flexors or pelvic control: cannot be told apart yet." in words
        assert "To decide: On the back, stomach drawn in. She draws the stomach in" in words
    assert "cl-hatch" in part(html, 'aria-labelledby="open"', "</section>")


def test_a_compensation_is_drawn_as_the_filled_difference(html: str, paper: str) -> None:
    change = part(html, 'class="change"', 'class="next"')
    assert "cl-accent-wash" in change
    assert "The hips open by 9° ± 6° as she lifts." in change
    for words in (Page(change).words, paper):
        assert "Thin: picture 3, thick: picture 4" in words


def test_a_change_that_the_line_cannot_show_is_told_without_a_drawing() -> None:
    told = judged_sheet().findings
    assert told is not None
    [(change, sentence)] = told.found.compensations
    hollow = (replace(change, measure="seam_hollow_deg"), sentence)
    sheet = judged_sheet(compensations=(hollow,))
    assert sheet.findings is not None
    [view] = view_findings(sheet.findings, sheet.photos).changes
    assert view.drawing == ""
    assert view.sentences == (sentence,)
    assert sentence in paper_of(sheet)


def test_with_no_limiter_that_is_said() -> None:
    sheet = judged_sheet(**NOTHING)
    for words in (Page(page_of(sheet)).words, paper_of(sheet)):
        assert "No limiter found in these tests." in words
        assert "Cannot tell yet" not in words.split("All capacities")[0]
        assert "Every test that may be done was done." in words


def test_a_test_that_is_not_urgent_waits_until_there_is_time() -> None:
    sheet = judged_sheet(next_test=None, undecided=())
    words = Page(page_of(sheet)).words
    assert "When there is time: On the back, stomach drawn in" in words
    assert "Next time, first" not in words


def test_every_capacity_is_there_and_the_unknown_is_hatched(html: str, paper: str) -> None:
    table = part(html, 'class="capacities"', "</ul>")
    assert table.count("<li") == 10
    assert table.count('class="untested"') == 6
    for words in (Page(html).words, paper):
        assert "Shoulders, passive: on the line — open ± 8°" in words
        assert "Upper back: not tested yet" in words
    untested = part(table, 'class="untested"', "</li>")
    assert "cl-hatch" in untested
    assert "cl-stroke" not in untested


def test_signs_stand_above_everything_with_what_is_left_out() -> None:
    sheet = judged_sheet(**STOPPED)
    html = page_of(sheet)
    assert html.index('class="care stop"') < html.index('id="limits"')
    for words in (Page(html).words, paper_of(sheet)):
        assert words.index("Wrist pain. No weight on the hands.") < words.index("What limits her")
        assert "Left out until then: Handstand, from the side." in words
        assert "Hips differ between the left and the right side" in words


def test_nothing_that_was_not_counted_is_dropped_or_told_twice() -> None:
    sheet = judged_sheet(**DOUBTED)
    for words in (Page(page_of(sheet)).words, paper_of(sheet)):
        assert "Needs a look: 14_handstand.jpg: which way she faces was guessed" in words
        assert words.count("say 3 and 40") == 1
        assert "Put aside: On the stomach, arms beside the body, hips: a.jpg and b.jpg" in words


def test_a_sheet_that_nobody_judged_says_nothing_of_limits() -> None:
    assert "What limits her" not in page_of(replace(judged_sheet(), findings=None))


def test_findings_are_shown_as_they_were_given() -> None:
    told = judged_sheet(not_used=(NASTY,), cautions=(NASTY,)).findings
    assert told is not None
    [limiter] = told.found.limiters
    nasty = replace(limiter, label=NASTY, words=NASTY, what=NASTY, work=NASTY)
    found = replace(told.found, limiters=(nasty,))
    page = Page(page_of(replace(judged_sheet(), findings=replace(told, found=found))))
    assert page.text.count(NASTY) >= 6
    assert "script" not in page.tags


def test_the_findings_of_eight_tests_take_one_page_more(pages: list[str]) -> None:
    assert len(pages) <= 6
    # Two tests that lie share a page.
    assert any(
        {"Picture 1 of 8", "Picture 2 of 8"} <= set(re.findall(r"Picture \d of 8", text))
        for text in pages
    )
