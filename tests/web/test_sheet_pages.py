"""Sheets from the records: they print also where a picture is not kept any more."""

import io
from collections.abc import Iterator
from pathlib import Path

import pytest
from club_pages import MARCH, ClubSite, open_club, words_of
from pypdf import PdfReader

from chordline.adapters.printing.palette import css_theme
from chordline.application.club import latest_screens
from chordline.web.pages import sheets
from chordline.web.rendering import STATICS


@pytest.fixture
def site(tmp_path: Path) -> Iterator[ClubSite]:
    with open_club(tmp_path) as opened_club:
        yield opened_club


def paper(content: bytes) -> str:
    pages = PdfReader(io.BytesIO(content)).pages
    return " ".join(" ".join(page.extract_text() for page in pages).split())


def test_a_sheet_with_its_pictures(site: ClubSite) -> None:
    screen = site.screen(site.add("Ada", 7), kept=True)
    page = site.client.get(f"/screens/{screen}/sheet.html")
    assert page.text.count("data:image/jpeg;base64,") == 5
    assert "1 Sep 2025" in page.text
    assert "img-src 'self' data:" in page.headers["content-security-policy"]
    answer = site.client.get(f"/screens/{screen}/sheet.pdf")
    assert answer.headers["content-type"] == "application/pdf"
    assert 'filename="Ada-2025-09-01.pdf"' in answer.headers["content-disposition"]
    assert "Shoulders, passive" in paper(answer.content)


def test_a_sheet_whose_pictures_are_not_kept_still_prints(site: ClubSite) -> None:
    screen = site.screen(site.add("Ada", 7))
    page = site.page(f"/screens/{screen}/sheet.html")
    assert "data:image" not in page
    assert words_of(page).count("The picture is not kept (any more)") == 5
    assert page.count('class="cl-photo"') == 5
    assert "not kept" in paper(site.client.get(f"/screens/{screen}/sheet.pdf").content)


def test_a_damaged_store_does_not_stop_the_press(site: ClubSite) -> None:
    screen = site.screen(site.add("Ada", 7), kept=True)
    for key in list(site.app.photo_store.keys()):
        site.app.photo_store.delete(key)
    assert "The picture is not kept (any more)" in site.page(f"/screens/{screen}/sheet.html")


def test_the_squad_on_one_sheet_with_everybodys_latest_screen(site: ClubSite) -> None:
    ada, bea, cleo = site.add("Ada", 7), site.add("Bea", 3), site.add("Cleo", 9)
    site.screen(ada, day=MARCH)
    site.screen(ada)
    site.screen(bea, day=MARCH)
    page = site.page("/squad/sheet.html")
    said = words_of(page)
    assert "latest screens, 3 Mar 2025 to 1 Sep 2025" in said
    assert "Cleo: not screened yet" in said
    assert page.index("Bea") < page.index("Ada")
    assert f'href="/gymnasts/{ada.id}"' in page
    with site.app.records.transaction() as tx:
        group = tx.clubs.add_group(site.app.club().id, "Tuesday & more")
        tx.clubs.put_in_group(group.id, [bea.id])
    answer = site.client.get(f"/squad/sheet.pdf?group={group.id}")
    text = paper(answer.content)
    assert "Bea" in text
    assert "Ada" not in text
    assert "Tuesday & more" in text
    assert cleo.name not in text


def test_a_squad_without_screens_is_a_sheet_without_rows(site: ClubSite) -> None:
    site.add("Ada")
    assert "Ada: not screened yet" in words_of(site.page("/squad/sheet.html"))
    assert "not screened yet" in paper(site.client.get("/squad/sheet.pdf").content)


def test_too_many_for_one_sheet_are_told_to_choose_a_group(
    site: ClubSite, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(latest_screens, "MOST_TOGETHER", 2)
    for i in range(3):
        site.add(f"Ada {i}")
    assert "choose a group" in site.page("/squad/sheet.html", 422)


@pytest.mark.parametrize(
    ("name", "safe"),
    [
        ("Ada Berg 2025-09-01.pdf", "Ada-Berg-2025-09-01.pdf"),
        ('Zoë "Ö"; x=\r\n1.pdf', "Zoe-O-x-1.pdf"),
        ("艾达.pdf", "sheet.pdf"),
    ],
)
def test_a_file_name_is_safe_for_every_program(name: str, safe: str) -> None:
    header = sheets.disposition(name)
    assert header.startswith(f"inline; filename=\"{safe}\"; filename*=UTF-8''")
    assert header.isascii()
    assert "\n" not in header


def test_pages_colour_the_drawings_as_the_press_does() -> None:
    css = STATICS._files["css/drawings.css"][1].decode()
    rules = [line for line in css_theme().splitlines() if line.startswith(".cl-")]
    assert len(rules) > 5
    for rule in rules:
        assert rule in css
