"""The squad's table: words first, nobody ranked, few questions to the records."""

import re
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest
from club_pages import CLOSED, MARCH, ClubSite, level_faults, open_club, words_of
from sqlalchemy import event

from chordline.application.club.records import NewGymnast
from chordline.core.body.measurement import Trust
from chordline.web import gate


@pytest.fixture
def site(tmp_path: Path) -> Iterator[ClubSite]:
    with open_club(tmp_path) as opened_club:
        yield opened_club


def test_an_empty_squad_says_how_to_begin(site: ClubSite) -> None:
    page = site.page("/squad")
    assert "Nobody is here yet" in page
    assert 'href="/roster"' in page


def test_a_squad_that_nobody_screened_says_how_to_begin(site: ClubSite) -> None:
    site.add("Ada")
    page = site.page("/squad")
    assert "Nobody has been screened yet" in page
    assert 'href="/screening"' in page
    assert "Not screened yet." in page


def test_a_row_says_what_limits_her_in_words_and_then_how_surely(site: ClubSite) -> None:
    her = site.add("Ada", 7)
    site.screen(her)
    page = site.page("/squad")
    said = words_of(page)
    assert re.search(r"Shoulders, passive: closed by \d+° ± \d+°, almost certain", said)
    assert "1 Sep 2025" in said
    assert f'href="/gymnasts/{her.id}"' in page
    assert 'class="cl-glyph"' in page
    assert level_faults(page) == []


def test_the_line_is_that_of_the_handstand_else_of_the_latest_test_with_arms_overhead(
    site: ClubSite,
) -> None:
    site.screen(site.add("Ada"))
    assert "<title>Handstand, from the side: body line" in site.page("/squad")
    # In whatever order they came in.
    lying = {test: CLOSED[test] for test in reversed(CLOSED) if test != "handstand"}
    site.screen(site.add("Bea"), lying)
    page = site.page("/squad?search=bea")
    assert "<title>On the stomach, she lifts the arms herself: body line" in page
    assert "she lifts the arms herself</span>" in page


def test_no_line_where_no_test_has_the_arms_overhead(site: ClubSite) -> None:
    site.screen(site.add("Ada"), {"prone-sides": {"hip": -2.0}})
    assert 'class="cl-glyph"' not in site.page("/squad")


def test_photos_that_need_a_look_and_reported_signs_stand_in_the_row(site: ClubSite) -> None:
    her = site.add("Ada")
    site.screen(her, trust=Trust(False, ("the hip is doubtful",)))
    site.post(f"/gymnasts/{her.id}/notes", what="wrist_pain")
    said = words_of(site.page("/squad"))
    assert "5 photos need a look" in said
    assert "Stop: Wrist pain" in said


def test_search_group_and_order(site: ClubSite) -> None:
    ada = site.add("Ada Berg", 9, birth_date=date(2016, 1, 1))
    bea = site.add("Béa Zorn", 3, birth_date=date(2014, 1, 1))
    site.screen(ada, day=MARCH)
    with site.app.records.transaction() as tx:
        group = tx.clubs.add_group(site.app.club().id, "Tuesday")
        tx.clubs.put_in_group(group.id, [bea.id])

    def names(address: str) -> list[str]:
        return re.findall(r'<a href="/gymnasts/\d+">([^<]+)</a>', site.page(address))

    assert names("/squad") == ["Ada Berg", "Béa Zorn"]
    assert names("/squad?sort=name&down=1") == ["Béa Zorn", "Ada Berg"]
    assert names("/squad?sort=card") == ["Béa Zorn", "Ada Berg"]
    assert names("/squad?sort=birth_date") == ["Béa Zorn", "Ada Berg"]
    assert names("/squad?sort=last_screened&down=1") == ["Ada Berg", "Béa Zorn"]
    assert names("/squad?search=bea+z") == ["Béa Zorn"]
    assert names("/squad?search=9") == ["Ada Berg"]
    assert names(f"/squad?group={group.id}") == ["Béa Zorn"]
    assert f"/squad/sheet.pdf?group={group.id}" in site.page(f"/squad?group={group.id}")
    assert "Nobody is found" in site.page("/squad?search=%3Cq%3E")
    assert "<q>" not in site.page("/squad?search=%3Cq%3E")


def test_nonsense_in_the_address_shows_the_plain_table(site: ClubSite) -> None:
    site.add("Ada")
    for address in ("/squad?sort=worst", "/squad?view=ranking", "/squad?group=x"):
        assert "Ada" in site.page(address)
    assert site.client.get("/squad?after=nonsense").status_code == 400


def test_those_put_away_are_shown_on_demand_only(site: ClubSite) -> None:
    her = site.add("Ada")
    site.post(f"/gymnasts/{her.id}/archive")
    assert "Ada" not in words_of(site.page("/squad"))
    assert "Ada" in words_of(site.page("/squad?archived=1"))


def test_all_capacities_in_words_with_their_uncertainty(site: ClubSite) -> None:
    site.screen(site.add("Ada"))
    page = site.page("/squad?view=capacities")
    said = words_of(page)
    assert re.search(r"short of the line: closed \d+° ± \d+°", said)
    assert "not tested yet" in said
    for mark in re.findall(r'href="#(mark-\w+)"', page):
        assert page.count(f'id="{mark}"') == 1


def test_pages_follow_each_other_and_keep_what_was_asked(site: ClubSite) -> None:
    with site.app.records.transaction() as tx:
        for i in range(60):
            tx.gymnasts.add(site.app.club().id, NewGymnast(f"Ada {i:02}", card=i))
    first = site.page("/squad?sort=card&view=capacities")
    following = re.search(r'href="(/squad\?[^"]*after=[^"]+)"', first)
    assert following is not None
    address = following[1].replace("&amp;", "&")
    assert "sort=card" in address
    assert "view=capacities" in address
    second = site.page(address)
    assert "Ada 49" in first
    assert "Ada 50" not in first
    assert "Ada 50" in second
    assert "From the top" in second


@pytest.mark.slow
def test_the_number_of_questions_does_not_grow_with_the_rows(
    site: ClubSite, monkeypatch: pytest.MonkeyPatch
) -> None:
    # Whether there are accounts by now is asked by the clock, not by the page.
    monkeypatch.setattr(gate, "_LOOKS_EVERY_S", 1e9)
    asked: list[str] = []
    for i in range(2):
        site.screen(site.add(f"Ada {i}"))

    def count() -> int:
        asked.clear()
        site.page("/squad")
        return len(asked)

    engine = site.app.records._engine  # type: ignore[attr-defined]
    event.listen(engine, "before_cursor_execute", lambda *args: asked.append(args[2]))
    site.page("/squad")
    few = count()
    for i in range(2, 12):
        site.screen(site.add(f"Ada {i}"))
    assert count() == few
    assert few < 20
