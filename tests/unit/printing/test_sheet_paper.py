"""The sheet on paper."""

import io
import re
from dataclasses import replace

import pytest
from pypdf import PdfReader
from sample_sheets import photo_of, sheet_of

from chordline.adapters.printing.press import SheetPress
from chordline.application.sheet import GymnastSheet
from chordline.core.body.measurement import Trust

A4_PT = (595.28, 841.89)


def read(sheet: GymnastSheet) -> PdfReader:
    return PdfReader(io.BytesIO(SheetPress().to_pdf(sheet)))


def words_of(reader: PdfReader) -> str:
    return re.sub(r"\s+", " ", " ".join(page.extract_text() for page in reader.pages))


def texts_and_edges(reader: PdfReader) -> tuple[list[str], list[tuple[float, float]]]:
    """Return each page's text, and where each piece of text begins, (x, y) in points."""
    edges: list[tuple[float, float]] = []

    def visit(text: str, cm: list[float], tm: list[float], *_: object) -> None:
        if text.strip():
            x, y = tm[4], tm[5]
            edges.append((cm[0] * x + cm[2] * y + cm[4], cm[1] * x + cm[3] * y + cm[5]))

    return [page.extract_text(visitor_text=visit) for page in reader.pages], edges


@pytest.fixture(scope="module")
def sheet() -> GymnastSheet:
    return sheet_of(12)


@pytest.fixture(scope="module")
def paper(sheet: GymnastSheet) -> PdfReader:
    return read(sheet)


@pytest.fixture(scope="module")
def texts(paper: PdfReader) -> list[str]:
    """Of each page."""
    return [page.extract_text() for page in paper.pages]


def test_eight_tests_fill_five_a4_pages(paper: PdfReader) -> None:
    assert len(paper.pages) == 5
    for page in paper.pages:
        assert (float(page.mediabox.width), float(page.mediabox.height)) == pytest.approx(
            A4_PT, abs=0.01
        )


def test_the_words_can_be_read_out(texts: list[str]) -> None:
    words = re.sub(r"\s+", " ", " ".join(texts))
    for part in (
        "Mira Example",
        "At a glance",
        "On the stomach, arms over the ears",
        "Hips: short of the line — closed by 18°",
        "−18° ± 5°",
        "Hip −7.4 %",
        "Spotter beside her, mats around.",
        "Lift the arms slowly",
        "IMG_0412.jpg: no body was found",
        "refer to a licensed clinician",
        "Chord and bow.",
        "the joint's centre lies under the skin",
        "Also: Hips above the floor 9.4 cm ± 1.2 cm",
    ):
        assert part in words.replace("’", "'"), part


def test_every_page_says_whose_it_is_of_which_day_and_which_of_how_many(texts: list[str]) -> None:
    for number, words in enumerate(texts, start=1):
        assert "Mira Example · 14 March 2025" in words
        assert f"{number} of {len(texts)}" in words


def test_the_document_has_a_title_and_a_language(paper: PdfReader) -> None:
    assert paper.metadata is not None
    assert paper.metadata.title == "Body line: Mira Example"
    assert str(paper.trailer["/Root"]["/Lang"]).startswith("en")


def test_the_same_sheet_gives_the_same_bytes(sheet: GymnastSheet) -> None:
    one = replace(sheet, photos=sheet.photos[:1])
    pdf = SheetPress().to_pdf(one)
    assert pdf == SheetPress().to_pdf(one)
    metadata = PdfReader(io.BytesIO(pdf)).metadata
    assert metadata is not None
    # A time stamp would differ from one second to the next.
    assert metadata.creation_date is None


def test_nothing_in_the_words_is_read_as_markup() -> None:
    nasty = '#panic("x") *bold* $x$ <b>&" @ref // `raw` \\ [a]'
    photo = replace(photo_of("12_handstand.jpg"), title=nasty, headline=nasty, caution=nasty)
    words = words_of(read(GymnastSheet(nasty, 12, nasty, (photo,), (nasty,), (nasty,))))
    assert words.count('#panic("x") *bold* $x$ <b>&" @ref // `raw` \\ [a]') >= 6


@pytest.mark.slow
@pytest.mark.parametrize(
    "gymnast",
    ["Wilhelmina Alexandra Konstantinopolskaya-Featherstone Jr III", "W" * 60],
)
def test_eighteen_tests_and_a_name_of_sixty_letters_stay_on_their_pages(gymnast: str) -> None:
    sheet = sheet_of(13, gymnast=gymnast)
    paper = read(replace(sheet, photos=(sheet.photos * 3)[:18]))
    assert len(paper.pages) <= 11
    texts, edges = texts_and_edges(paper)
    assert all(30.0 < x < A4_PT[0] - 30.0 and 20.0 < y < A4_PT[1] - 20.0 for x, y in edges)
    # What is broken over two lines begins twice at the left margin: no piece is too long to fit.
    title = next(line for line in texts[0].splitlines() if "W" in line)
    assert len(title.replace("\u200b", "")) < 50
    for text in texts:
        assert gymnast[:20] in text.replace("\u200b", "").replace("\n", "")


def test_a_name_in_letters_that_the_fonts_lack_is_no_reason_to_fail() -> None:
    sheet = sheet_of(12, gymnast="李薇 Ольга 🤸")
    assert len(read(replace(sheet, photos=sheet.photos[:1])).pages) >= 1


def test_marks_in_doubt_are_never_a_finding() -> None:
    photo = photo_of("12_prone-active.jpg", trust=Trust(False, ("The mirror image disagrees.",)))
    words = words_of(read(replace(sheet_of(12), photos=(photo,))))
    assert "The mirror image disagrees." in words
    assert "Hips: needs a look" in words
    assert photo.headline not in words


def test_a_sheet_without_photos_or_date_is_still_a_sheet() -> None:
    words = words_of(read(GymnastSheet("Jo", None, "", (), ("a.jpg: too dark",), ())))
    assert "a.jpg: too dark" in words
