"""A printed card is as large as it says, stands as high as it says, and is read as its number."""

import io
import shutil
import subprocess

import numpy as np
import pytest
from PIL import Image
from pypdf import PdfReader

from chordline.adapters.media.card_reader import ArucoCardReader
from chordline.adapters.printing.cards import (
    SMALL_CARD_SIDE_M,
    CardOrder,
    preview_cards,
    print_cards,
)
from chordline.conventions import CARD_FOOT_M, CARD_SIDE_M
from chordline.errors import WrongUseError

pytestmark = pytest.mark.slow

#: Five pixels a millimetre, so that edges lie between pixels: renderers snap them there.
DPI = 127
PX_PER_M = DPI / 0.0254
A4_PT = (595.28, 841.89)


def rgb_of(png):
    return np.asarray(Image.open(io.BytesIO(png)).convert("RGB"))


def sides_m(corners_px, px_per_m=PX_PER_M):
    return np.linalg.norm(corners_px - np.roll(corners_px, -1, axis=0), axis=1) / px_per_m


def cut_line_row_px(rgb, below):
    """Row of the dashed line that crosses the whole page, below a given row."""
    darkness = 255.0 - rgb[..., 1]
    ends = np.concatenate([darkness[:, 3:100], darkness[:, -100:-3]], axis=1).mean(axis=1)
    ends[: int(below) + 3] = 0
    rows = np.arange(len(ends))
    near = np.abs(rows - ends.argmax()) <= 3
    return float((rows[near] * ends[near]).sum() / ends[near].sum())


def pages_of(pdf):
    return PdfReader(io.BytesIO(pdf)).pages


@pytest.mark.parametrize("number", [0, 17, 888, 999])
def test_a_standing_card_measures_what_it_says(number):
    (page,) = preview_cards([CardOrder(number)], layout="stand", px_per_inch=DPI)
    rgb = rgb_of(page)
    (card,) = ArucoCardReader().read(rgb)
    assert card.id == number
    np.testing.assert_allclose(sides_m(card.corners_px), CARD_SIDE_M, rtol=0.0005)
    lower_edge = card.corners_px[2:, 1].mean()
    foot_m = (cut_line_row_px(rgb, lower_edge) - lower_edge) / PX_PER_M
    assert foot_m == pytest.approx(CARD_FOOT_M, abs=0.00005)


def test_the_white_around_a_standing_card_is_as_wide_as_its_foot():
    (page,) = preview_cards([CardOrder(8, "A" * 60)], layout="stand", px_per_inch=DPI)
    rgb = rgb_of(page)
    (card,) = ArucoCardReader().read(rgb)
    (left, top), (right, bottom) = card.corners_px.min(axis=0), card.corners_px.max(axis=0)
    reach = 0.024 * PX_PER_M
    ring = rgb[
        int(top - reach) : int(bottom + reach), int(left - reach) : int(right + reach)
    ].copy()
    inset = int(reach) - 1
    ring[inset:-inset, inset:-inset] = 255
    assert ring.min() == 255


def test_the_ruler_is_a_hundred_millimetres():
    (page,) = preview_cards([CardOrder(8)], layout="stand", px_per_inch=DPI)
    dark = rgb_of(page)[int(0.069 * PX_PER_M) : int(0.076 * PX_PER_M), :, 1] < 160
    columns = np.flatnonzero(dark[dark.sum(axis=1).argmax()])
    run = max(np.split(columns, np.flatnonzero(np.diff(columns) > 1) + 1), key=len)
    assert len(run) / PX_PER_M == pytest.approx(0.1, abs=0.0005)


@pytest.mark.skipif(not shutil.which("pdftoppm"), reason="needs pdftoppm (poppler-utils)")
def test_another_renderer_agrees(tmp_path):
    path = tmp_path / "cards.pdf"
    path.write_bytes(print_cards([CardOrder(311)], layout="stand"))
    command = ["pdftoppm", "-png", "-r", str(DPI), str(path), str(tmp_path / "page")]
    subprocess.run(command, check=True, capture_output=True)
    (png,) = tmp_path.glob("page*.png")
    rgb = rgb_of(png.read_bytes())
    (card,) = ArucoCardReader().read(rgb)
    assert card.id == 311
    np.testing.assert_allclose(sides_m(card.corners_px), CARD_SIDE_M, rtol=0.0005)


def test_small_cards_are_all_read_and_forty_millimetres():
    numbers = list(range(100, 114))
    pages = preview_cards([CardOrder(n) for n in numbers], layout="small", px_per_inch=2 * DPI)
    assert len(pages) == 2
    found = [card for page in pages for card in ArucoCardReader().read(rgb_of(page))]
    assert sorted(card.id for card in found) == numbers
    for card in found:
        sides = sides_m(card.corners_px, 2.0 * PX_PER_M)
        np.testing.assert_allclose(sides, SMALL_CARD_SIDE_M, rtol=0.001)


@pytest.mark.parametrize(
    ("layout", "count", "pages"),
    [
        ("stand", 1, 1),
        ("stand", 3, 3),
        ("small", 1, 1),
        ("small", 12, 1),
        ("small", 13, 2),
    ],
)
def test_pages_are_a4_and_as_many_as_needed(layout, count, pages):
    printed = pages_of(print_cards([CardOrder(n) for n in range(count)], layout=layout))
    assert len(printed) == pages
    for page in printed:
        size = (float(page.mediabox.width), float(page.mediabox.height))
        assert size == pytest.approx(A4_PT, abs=0.1)


def test_a_page_says_its_number_and_what_to_do():
    text = pages_of(print_cards([CardOrder(417)], layout="stand"))[0].extract_text()
    text = " ".join(text.split())
    assert "417" in text
    for words in ("100 mm", "actual size", "Stand it upright", "0.4 m", "about 3 m", "cut here"):
        assert words in text


def test_a_name_is_printed_only_when_given_and_never_read_as_markup():
    name = '#panic("x") *Ida* $y$ \\ "'
    for layout in ("stand", "small"):
        named = pages_of(print_cards([CardOrder(3, name)], layout=layout))[0].extract_text()
        assert '#panic("x") *Ida* $y$ \\' in named
        assert "Ida" not in pages_of(print_cards([CardOrder(3)], layout=layout))[0].extract_text()


def test_only_fonts_that_come_along_are_used():
    fonts = set()
    for page in pages_of(print_cards([CardOrder(3, "Zoë Łucja")], layout="stand")):
        fonts |= {str(f.get_object()["/BaseFont"]) for f in page["/Resources"]["/Font"].values()}
    assert fonts
    assert all("LibertinusSerif" in font for font in fonts)


def test_the_same_orders_give_the_same_bytes():
    orders = [CardOrder(3), CardOrder(3, "Ida")]
    assert print_cards(orders, layout="stand") == print_cards(orders, layout="stand")


@pytest.mark.parametrize("number", [-1, 1000, 12345])
def test_a_number_that_no_card_has_is_refused(number):
    with pytest.raises(WrongUseError, match=f"0 to 999.*{number}"):
        print_cards([CardOrder(5), CardOrder(number)], layout="stand")


def test_nothing_to_print_and_unknown_layouts_are_refused():
    with pytest.raises(WrongUseError, match="at least one"):
        print_cards([], layout="small")
    with pytest.raises(WrongUseError, match="stand or small"):
        print_cards([CardOrder(1)], layout="poster")
