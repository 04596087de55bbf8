"""The sheet as a page."""

import re
from dataclasses import replace
from html.parser import HTMLParser

import pytest
from sample_sheets import photo_of, sheet_of

from chordline.adapters.printing.palette import ON_PHOTO
from chordline.adapters.printing.press import SheetPress
from chordline.application.sheet import GymnastSheet, SheetPrinter
from chordline.core.body.measurement import Trust
from chordline.core.body.verdict import Verdict

NASTY = '<b>&" {{ 7*7 }} </style><script>x</script>'


class Page(HTMLParser):
    """Collects tags, attributes and the text of each element class."""

    def __init__(self, html: str) -> None:
        super().__init__(convert_charrefs=True)
        self.tags: list[str] = []
        self.attributes: list[tuple[str, str | None]] = []
        self.text = ""
        self._silent = 0
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.attributes.extend(attrs)
        self._silent += tag in {"style", "title", "desc"}

    def handle_endtag(self, tag: str) -> None:
        self._silent -= tag in {"style", "title", "desc"}

    def handle_data(self, data: str) -> None:
        if not self._silent:
            self.text += data

    @property
    def words(self) -> str:
        return re.sub(r"\s+", " ", self.text)


def part(html: str, start: str, end: str) -> str:
    """What stands between the first `start` and the `end` after it."""
    return html.split(start, maxsplit=1)[1].split(end, maxsplit=1)[0]


@pytest.fixture(scope="module")
def sheet() -> GymnastSheet:
    return sheet_of(12)


@pytest.fixture(scope="module")
def html(sheet: GymnastSheet) -> str:
    printer: SheetPrinter = SheetPress()
    return printer.to_html(sheet)


def test_the_page_asks_nothing_of_the_network(html: str) -> None:
    page = Page(html)
    outside = re.sub(r'xmlns="http://www\.w3\.org/2000/svg"', "", html)
    assert not re.search(r"https?:|//[a-z]|url\(|@import", re.sub(r"base64,[\w+/=]+", "", outside))
    assert not {"script", "link", "iframe", "object"} & set(page.tags)
    for name, value in page.attributes:
        if name in {"src", "href", "srcset", "xlink:href"}:
            assert (value or "").startswith(("data:image/jpeg;base64,", "#"))
        assert not name.startswith("on")


def test_the_page_carries_its_pictures_and_styles(html: str) -> None:
    assert html.count("data:image/jpeg;base64,") == 8
    assert '<html lang="en">' in html
    assert "--cl-ink:" in html


def test_words_come_first_and_the_number_after_them(html: str) -> None:
    words = Page(html).words
    assert "Hips: short of the line — closed by 18° −18° ± " in words
    assert "Half of the ± comes from where the joint's centre lies" in words


def test_every_measure_opens_its_reason_without_a_script(html: str, sheet: GymnastSheet) -> None:
    measures = sum(len(photo.lines) for photo in sheet.photos)
    assert html.count('<details class="line">') == measures


def test_one_glance_shows_every_test(html: str, sheet: GymnastSheet) -> None:
    strip = html.split("<tbody>")[1].split("</tbody>", maxsplit=1)[0]
    assert strip.count('class="cl-glyph"') == len(sheet.photos)
    for photo in sheet.photos:
        assert photo.title in strip
        assert photo.headline in strip


def test_care_stands_beside_the_test_that_needs_it(html: str) -> None:
    handstand = html.split('aria-labelledby="title-7"')[1].split("</article>", maxsplit=1)[0]
    assert "Spotter beside her, mats around." in handstand
    assert html.count("Spotter beside her, mats around.") == 1


def test_pictures_left_out_are_named_with_their_reason(html: str) -> None:
    assert "IMG_0412.jpg: no body was found" in Page(html).words


def test_the_drawings_are_explained(html: str) -> None:
    words = Page(html).words
    for word in ("Chord and bow", "Band, and ±", "95 of 100", "Not yet known"):
        assert word in words


def test_every_word_is_shown_as_it_was_given() -> None:
    photo = photo_of("12_handstand.jpg")
    line = replace(photo.lines[0], label=NASTY, words=NASTY, reason=NASTY)
    photo = replace(
        photo,
        title=NASTY,
        reads=NASTY,
        headline=NASTY,
        caution=NASTY,
        lines=(line,),
        measurement=replace(photo.measurement, cautions=(NASTY,), trust=Trust(True, (NASTY,))),
    )
    plain = SheetPress().to_html(replace(sheet_of(12), photos=(photo_of("12_handstand.jpg"),)))
    nasty = SheetPress().to_html(
        GymnastSheet(NASTY, 12, NASTY, (photo,), left_out=(NASTY,), care=(NASTY,))
    )
    page = Page(nasty)
    assert page.text.count(NASTY) >= 12
    assert "script" not in page.tags
    # The only <b> are our own: one a line.
    assert page.tags.count("b") == 1
    assert page.tags.count("style") == Page(plain).tags.count("style") == 1


def test_a_verdict_that_reads_like_the_shape_is_said_once() -> None:
    photo = photo_of("11_prone-sides.jpg")
    line = replace(photo.lines[0], verdict=Verdict.ON_THE_LINE, words="on the line")
    page = SheetPress().to_html(replace(sheet_of(11), photos=(replace(photo, lines=(line,)),)))
    assert "Bow: on the line " in Page(page).words
    assert "on the line — on the line" not in Page(page).words


def test_marks_in_doubt_are_never_a_finding() -> None:
    photo = photo_of("12_prone-active.jpg", trust=Trust(False, ("The mirror image disagrees.",)))
    page = SheetPress().to_html(replace(sheet_of(12), photos=(photo,)))
    words = Page(page).words
    assert "The mirror image disagrees." in words
    assert "Hips: needs a look −20° ± " in words
    assert "Not a finding yet" in words
    assert photo.headline not in words
    assert "short of the line —" not in words
    article = page.split("<article")[1]
    assert "stroke-dasharray" in article
    assert ">Hip ?<" in article


def test_what_cannot_be_told_is_hatched_and_points_nothing_out() -> None:
    photo = photo_of("12_prone-active.jpg")
    lines = tuple(
        replace(line, verdict=Verdict.CANNOT_TELL) if line.name == "bow_max_pct" else line
        for line in photo.lines
    )
    page = SheetPress().to_html(replace(sheet_of(12), photos=(replace(photo, lines=lines),)))
    strip = page.split("<tbody>")[1].split("</tbody>")[0]
    assert "cl-hatch" in strip
    assert "cl-look" not in strip


def test_a_good_line_has_nothing_pointed_out() -> None:
    page = SheetPress().to_html(replace(sheet_of(11), photos=(photo_of("11_prone-active.jpg"),)))
    strip = page.split("<tbody>")[1].split("</tbody>")[0]
    assert "cl-look" not in strip
    assert "cl-wash" in strip


def test_the_landmark_that_bows_most_is_pointed_out_by_dot_and_label() -> None:
    for name, label in (
        ("12_prone-active.jpg", "Hip −9.3 %"),
        ("13_handstand.jpg", "Shoulder −10.0 %"),
    ):
        page = SheetPress().to_html(replace(sheet_of(12), photos=(photo_of(name),)))
        labels = re.findall(r'<text [^>]*fill="(#\w+)"[^>]*>([^<]+)</text>', page)
        assert [words for fill, words in labels if fill == ON_PHOTO.accent] == [label]


def test_a_picture_in_which_nobody_was_found_is_shown_only_with_faces() -> None:
    photo = photo_of("12_prone-active.jpg", trust=Trust(False, ("No body was found.",)))
    photo = replace(
        photo, measurement=replace(photo.measurement, landmarks={}, card=None), lines=()
    )
    sheet = replace(sheet_of(12), photos=(photo,), card=None, screened_on="")
    page = SheetPress().to_html(sheet)
    assert "data:image/jpeg" not in page
    assert "where the face is cannot be told surely" in page
    shown = replace(sheet, photos=(replace(photo, faces="shown"),))
    page = SheetPress().to_html(shown)
    assert page.count("data:image/jpeg;base64,") == 1
    assert "No body line was found in this picture." in page


def test_text_is_readable_at_arms_length_and_targets_reachable(html: str) -> None:
    screen = html.split("@media print", maxsplit=1)[0]
    sizes = [float(size) for size in re.findall(r"font(?:-size)?: (\d+)px", screen)]
    assert len(sizes) > 5
    assert min(sizes) >= 18
    heights = dict(re.findall(r"^([\w. ]+) \{[^}]*min-height: (\d+)px", screen, re.MULTILINE))
    assert int(heights["summary"]) >= 44
    assert int(heights[".strip th a"]) >= 44
