"""The squad's page, and the squad on paper."""

import io
import re
from dataclasses import replace

import pytest
from pypdf import PdfReader
from sample_findings import squad_of
from sample_sheets import photo_of
from test_sheet_page import NASTY, Page, part

from chordline.adapters.printing.press import SheetPress
from chordline.application.sheet_findings import StopSign
from chordline.application.squad_sheet import SquadSheet
from chordline.core.body.measurement import Trust

LONG = "Wilhelmina Alexandra Konstantinopolskaya-Featherstone Jr III"
A4_ACROSS_PT = (841.89, 595.28)


def read(sheet: SquadSheet) -> PdfReader:
    return PdfReader(io.BytesIO(SheetPress().squad_to_pdf(sheet)))


def words_of(reader: PdfReader) -> str:
    return re.sub(r"\s+", " ", " ".join(page.extract_text() for page in reader.pages))


@pytest.fixture(scope="module")
def sheet() -> SquadSheet:
    return squad_of(["Juna", "Mirela", "Amara", "Tilda", "Liv", "Roisin"])


@pytest.fixture(scope="module")
def html(sheet: SquadSheet) -> str:
    return SheetPress().squad_to_html(sheet)


def test_every_gymnast_and_capacity_has_its_place(html: str, sheet: SquadSheet) -> None:
    body = part(html, "<tbody>", "</tbody>")
    assert body.count("<tr>") == 6
    assert len(re.findall(r'<td class="cell', body)) == 6 * len(sheet.columns)
    order = [body.index(row.gymnast) for row in sheet.rows]
    assert order == sorted(order)


def test_a_cell_has_a_mark_words_and_its_error(html: str) -> None:
    cell = part(html, 'class="cell said-short-of-the-line"', "</td>")
    assert "<title>short of the line</title>" in cell
    assert Page(cell).words.split(">")[-1].strip() == "closed 22° ± 7°"


def test_paper_has_the_cells_in_the_order_of_the_columns(sheet: SquadSheet) -> None:
    row = words_of(read(replace(sheet, rows=sheet.rows[:1]))).split("Juna")[1]
    told = re.findall(r"cannot tell yet|as lifted|closed 22°", row.split("On the line")[0])
    assert told == [cell.words for cell in sheet.rows[0].cells if cell.verdict is not None]


def test_what_is_not_known_is_hatched(html: str) -> None:
    for kind in ('class="cell untested"', 'class="cell said-cannot-tell-yet"'):
        assert "cl-hatch" in part(html, kind, "</td>")
    assert "not tested yet" in part(html, 'class="cell untested"', "</td>")


def test_each_row_shows_her_line_and_leads_to_her_page(html: str) -> None:
    body = part(html, "<tbody>", "</tbody>")
    for row in body.split("<tr>")[1:]:
        assert part(row, 'class="line"', "</td>").count('class="cl-glyph"') == 1
    assert body.count('href="001%20girl.html"') == 1


def test_a_line_that_is_no_handstand_or_in_doubt_says_so() -> None:
    squad = squad_of(["Juna", "Mirela", "Amara"])
    lying = replace(squad.rows[0], line=photo_of("12_supine-overhead.jpg").line)
    doubt = Trust(False, ("which way she faces was guessed",))
    doubtful = replace(squad.rows[1], line=photo_of("12_handstand.jpg", trust=doubt).line)
    without = replace(squad.rows[2], line=None)
    body = SheetPress().squad_to_html(replace(squad, rows=(lying, doubtful, without)))
    rows = body.split("<tbody>")[1].split("<tr>")[1:4]
    told = [Page(part(row, 'class="line">', "</td>")).words.strip() for row in rows]
    assert told == ["On the back, arms over the ears", "needs a look", ""]
    assert "stroke-dasharray" in rows[1]


def test_the_next_session_says_which_test_for_whom(html: str, sheet: SquadSheet) -> None:
    for words in (Page(html).words, words_of(read(sheet))):
        plan = words.split("Next session")[1]
        assert "half a minute each, 12 minutes in all" in plan.lower()
        assert "First, to decide hip flexors or pelvic control" in plan
        assert "Juna, Mirela, Amara, Tilda, Liv, Roisin" in plan
        assert "Stop at back pain." in plan


def test_signs_and_what_was_left_out_are_told(sheet: SquadSheet) -> None:
    sign = StopSign("Wrist pain", "No weight on the hands.", ())
    first = replace(sheet.rows[0], stops=(sign,), looks=("Juna: a.jpg: faces left?",))
    told = replace(sheet, rows=(first, *sheet.rows[1:]))
    for words in (Page(SheetPress().squad_to_html(told)).words, words_of(read(told))):
        assert words.index("Juna: Wrist pain. No weight on the hands.") < words.index("Hip flexors")
        assert "Juna: a.jpg: faces left?" in words
        assert "IMG_0412.jpg: no body was found" in words
        assert "refer to a licensed clinician" in words


def test_nobody_is_ranked_or_scored(html: str) -> None:
    words = Page(html).words.lower()
    assert not re.search(r"\b(rank|score|best|worst|points|total)", words)
    assert "sort" not in html


def test_the_page_asks_nothing_of_the_network(html: str) -> None:
    outside = re.sub(r'xmlns="http://www\.w3\.org/2000/svg"', "", html)
    assert not re.search(r"https?:|//[a-z]|url\(|@import", outside)
    page = Page(html)
    assert not {"script", "link", "iframe", "object"} & set(page.tags)
    assert all(
        re.fullmatch(r"\d{3}%20girl\.html", value or "")
        for name, value in page.attributes
        if name in {"href", "src"}
    )


def test_every_word_is_shown_as_it_was_given() -> None:
    squad = squad_of([NASTY], squad=NASTY, left_out=(NASTY,))
    page = Page(SheetPress().squad_to_html(squad))
    assert page.text.count(NASTY) >= 4
    assert "script" not in page.tags
    assert '#panic("x") *bold*' in words_of(read(squad_of(['#panic("x") *bold*'])))


@pytest.mark.parametrize("names", [["Liv"] * 24, [LONG] * 24], ids=["short names", "long names"])
def test_twenty_four_gymnasts_stand_on_one_page(names: list[str]) -> None:
    reader = read(squad_of(names))
    first = reader.pages[0]
    assert (float(first.mediabox.width), float(first.mediabox.height)) == pytest.approx(
        A4_ACROSS_PT, abs=0.01
    )
    text = first.extract_text().replace("\u200b", "")
    assert text.count("closed 22°") == 24 * 10 / 4
    assert "Not tested yet" in text
    assert "Next session" not in text


def test_the_same_squad_gives_the_same_bytes(sheet: SquadSheet) -> None:
    assert SheetPress().squad_to_pdf(sheet) == SheetPress().squad_to_pdf(sheet)
    metadata = read(sheet).metadata
    assert metadata is not None
    # A time stamp would differ from one second to the next.
    assert metadata.creation_date is None
    assert metadata.title == "Squad: Thursday group"


def test_a_squad_of_nobody_is_still_a_sheet() -> None:
    empty = squad_of([], next_tests=())
    assert "No test is asked for next time." in words_of(read(empty))
    words = Page(SheetPress().squad_to_html(empty)).words
    assert "No test is asked for next time." in words
    assert "0 gymnasts" in words
