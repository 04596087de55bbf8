"""Progress of one gymnast and of the squad."""

import io
import re
from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path

import pytest
from club_pages import CLOSED, ClubSite, level_faults, open_club, words_of
from pypdf import PdfReader

from chordline.application.club.records import Consent, GymnastRecord
from chordline.core.body.measurement import Trust

TODAY = date.today()
LAST, BEFORE, FIRST = (TODAY - timedelta(days=days) for days in (20, 90, 200))


@pytest.fixture
def site(tmp_path: Path) -> Iterator[ClubSite]:
    with open_club(tmp_path) as opened_club:
        yield opened_club


def less(share: float) -> dict[str, dict[str, float]]:
    """The closed shoulders with a share of what was missing."""
    return {
        test: {name: share * value for name, value in shown.items()}
        for test, shown in CLOSED.items()
    }


def page(site: ClubSite, her: GymnastRecord, query: str = "") -> str:
    found = site.page(f"/gymnasts/{her.id}/progress{query}")
    assert level_faults(found) == []
    return found


def test_a_real_change_is_told_in_words_with_its_probability(site: ClubSite) -> None:
    her = site.add("Ada", 7)
    site.screen(her, day=BEFORE)
    site.screen(her, less(0.2), day=LAST)
    said = words_of(page(site, her))
    told = re.search(
        r"Shoulders, passive: (\d+)° ± (\d+)° less missing than on .*?\(([^)]+)\)", said
    )
    assert told is not None
    assert int(told[1]) > int(told[2])
    assert told[3] == "over 99 %"
    assert "Not yet known:" in said
    assert "beyond error" in said


def test_the_change_since_the_first_screen_stands_beside_the_last_one(site: ClubSite) -> None:
    her = site.add("Ada", 7)
    for day, share in ((FIRST, 1.0), (BEFORE, 0.6), (LAST, 0.2)):
        site.screen(her, less(share), day=day)
    found = page(site, her)
    assert found.count("Shoulders, passive:</b>") == 2
    assert "3 screens" in words_of(found)


def test_one_screen_says_that_a_change_needs_two(site: ClubSite) -> None:
    her = site.add("Ada", 7)
    site.screen(her, day=LAST)
    said = words_of(page(site, her))
    assert "One screen only" in said
    assert "A change needs a second screen." in said
    assert "Before and after" not in said


def test_no_screen_leads_to_screening(site: ClubSite) -> None:
    found = page(site, site.add("Ada", 7))
    assert 'href="/screening"' in found
    assert "No screen counts yet" in found


def test_a_screen_of_nothing_that_counts_is_named_and_left_out(site: ClubSite) -> None:
    her = site.add("Ada", 7)
    site.screen(her, day=BEFORE)
    site.screen(her, day=LAST, trust=Trust(False, ("the hip is doubtful",)), judged=False)
    said = words_of(page(site, her))
    assert "One screen only" in said
    assert "1 screen of hers has nothing that counts" in said


def test_a_screen_after_today_is_not_looked_at(site: ClubSite) -> None:
    her = site.add("Ada", 7)
    site.screen(her, day=LAST)
    site.screen(her, less(0.2), day=TODAY + timedelta(days=3))
    assert "One screen only" in words_of(page(site, her))


def test_pictures_stand_in_a_pair_and_an_erased_one_leaves_its_line(site: ClubSite) -> None:
    her = site.add("Ada", 7)
    site.screen(her, day=BEFORE, kept=True)
    site.screen(her, less(0.2), day=LAST, kept=True)
    found = page(site, her)
    assert found.count("<image ") == 2
    photo = re.search(r'href="/photos/(\d+)/picture', found)
    assert photo is not None
    with site.app.records.transaction() as tx:
        tx.photos.forget_picture(int(photo[1]))
    found = page(site, her)
    assert found.count("<image ") == 1
    assert "(line only)" in words_of(found)
    assert "is not kept." in words_of(found)


def test_the_coach_chooses_test_and_screens_of_the_pair(site: ClubSite) -> None:
    her = site.add("Ada", 7)
    ids = [
        site.screen(her, less(share), day=day)
        for day, share in ((FIRST, 1.0), (BEFORE, 0.6), (LAST, 0.2))
    ]
    found = page(site, her, f"?test=prone-raised&before={ids[1]}&after={ids[2]}")
    assert '<option value="prone-raised" selected>' in found
    assert f'<option value="{ids[1]}" selected>' in found
    standing = page(site, her)
    assert '<option value="handstand" selected>' in standing
    assert f'<option value="{ids[0]}" selected>' in standing


@pytest.mark.parametrize(
    "query",
    [
        "?test=nothing",
        "?before=99999",
        "?before=2&after=1",
        "?after=",
        "?test=prone-sides&before=&after=",
    ],
)
def test_a_wish_that_cannot_be_met_shows_what_can(site: ClubSite, query: str) -> None:
    her = site.add("Ada", 7)
    site.screen(her, day=BEFORE)
    site.screen(her, less(0.2), day=LAST)
    assert 'id="pair"' in page(site, her, query)


def test_screens_without_a_test_in_common_have_no_pair(site: ClubSite) -> None:
    her = site.add("Ada", 7)
    site.screen(her, {"prone-sides": {"hip": 0.0}}, day=BEFORE)
    site.screen(her, {"handstand": {"hip": 0.0, "shoulder": -10.0}}, day=LAST)
    said = words_of(page(site, her))
    assert "No test was photographed in two of her screens" in said
    assert "No measure stands in both screens." in said


def test_a_screen_that_is_corrected_is_judged_anew(site: ClubSite) -> None:
    her = site.add("Ada", 7)
    site.screen(her, day=BEFORE)
    last = site.screen(her, less(0.2), day=LAST)
    assert "less missing" in words_of(page(site, her))
    with site.app.records.transaction() as tx:
        for photo in tx.screens.view(last).photos:
            tx.photos.remove(photo.photo.id)
    assert "One screen only" in words_of(page(site, her))


def test_a_gymnast_who_is_not_there_is_not_found(site: ClubSite) -> None:
    site.page("/gymnasts/99/progress", 404)


def test_the_squad_stands_by_name_with_what_moved_and_what_is_open(site: ClubSite) -> None:
    moved, still, once, never = (
        site.add(name, card) for card, name in enumerate(("Bea", "Ada", "Cleo", "Dora"), 1)
    )
    site.screen(moved, day=BEFORE)
    site.screen(moved, less(0.1), day=LAST)
    site.screen(still, day=BEFORE)
    site.screen(still, day=LAST)
    site.screen(once, day=LAST)
    found = site.page("/progress")
    assert level_faults(found) == []
    movers = words_of(found.partition('id="moved"')[2])
    places = [movers.index(name) for name in ("Ada", "Bea", "Cleo", "Dora")]
    assert places == sorted(places)
    ada, bea = movers[places[0] : places[1]], movers[places[1] : places[2]]
    assert "No change is certain yet." in ada
    assert "Shoulders, passive:" in bea
    assert "real change: yes" in bea
    assert "A change needs a second screen." in movers[places[2] :]
    assert re.search(r"Not screened yet:\s*Dora", words_of(found))
    assert f'href="/gymnasts/{never.id}"' in found


def test_retests_stand_by_day(site: ClubSite) -> None:
    late, early = site.add("Ada", 1), site.add("Bea", 2)
    site.screen(late, day=LAST)
    site.screen(early, day=FIRST)
    due = words_of(site.page("/progress").partition('id="due"')[2].partition("</section>")[0])
    assert due.index("Bea") < due.index("Ada")
    assert "due since" in due[: due.index("Ada")]


def test_a_group_shows_its_own_and_its_calendar_names_nobody(site: ClubSite) -> None:
    ada, bea = site.add("Ada", 1), site.add("Bea", 2)
    for her in (ada, bea):
        site.screen(her, day=LAST)
    site.post("/groups", name="Red")
    site.post("/groups/1/members", put=str(bea.id))
    found = site.page("/progress?group=1")
    assert "Bea" in found
    assert "Ada" not in found
    calendar = site.page("/progress/retests.ics?group=1")
    assert "Re-tests due: 1 gymnast" in calendar
    assert "Bea" not in calendar
    assert "Re-tests due: 2 gymnasts" in site.page("/progress/retests.ics")


def test_work_stands_beside_what_moved(site: ClubSite) -> None:
    her = site.add("Ada", 1)
    site.screen(her, day=BEFORE)
    site.screen(her, less(0.2), day=LAST)
    exercise = next(
        name
        for name, entry in site.app.training.exercises.items()
        if list(entry.feeds) == ["shoulder_flexion_deg"]
    )
    with site.app.records.transaction() as tx:
        group = tx.clubs.add_group(site.app.club().id, "Red")
        for day, minutes in ((BEFORE + timedelta(days=3), 25.0), (LAST + timedelta(days=3), 40.0)):
            session = tx.training.session_on(group.id, day, plan_id=None, record={})
            tx.training.mark_done(
                session.id, her.id, exercise=exercise, share=1.0, minutes=minutes, author="Kim"
            )
    squad = words_of(site.page("/progress"))
    assert "25 min of work between" in squad
    assert "Done since then: Shoulders, passive 40 min." in squad
    assert "25 min of work on it between" in words_of(page(site, her))


def test_an_empty_club_and_an_empty_group_say_what_to_do(site: ClubSite) -> None:
    assert 'href="/roster"' in site.page("/progress")
    site.post("/groups", name="Red")
    assert "Put somebody into Red" in site.page("/progress?group=1")


def test_pages_lead_to_progress(site: ClubSite) -> None:
    her = site.add("Ada", 1)
    site.screen(her, day=LAST)
    site.post("/groups", name="Red")
    assert f'href="/gymnasts/{her.id}/progress"' in site.page(f"/gymnasts/{her.id}")
    assert 'href="/progress"' in site.page("/squad")
    assert 'href="/progress?group=1"' in site.page("/training")


@pytest.mark.parametrize("language", ["en", "de", "fr"])
def test_the_sheet_is_a_pdf_in_each_language(site: ClubSite, language: str) -> None:
    her = site.add("Zoë 田中", 1, consent=Consent(show_to_squad=True))
    site.screen(her, day=BEFORE, kept=True)
    site.screen(her, less(0.2), day=LAST, kept=True)
    answer = site.client.get(
        f"/gymnasts/{her.id}/progress.pdf?language={language}&test=prone-raised"
    )
    assert answer.status_code == 200, answer.text
    (sheet,) = PdfReader(io.BytesIO(answer.content)).pages
    assert len(sheet.images) > 0
    assert {"en": "less missing", "de": "weniger", "fr": "de moins"}[
        language
    ] in sheet.extract_text()


def test_the_sheet_of_nobody_screened_says_so(site: ClubSite) -> None:
    her = site.add("Ada", 1)
    answer = site.client.get(f"/gymnasts/{her.id}/progress.pdf")
    (sheet,) = PdfReader(io.BytesIO(answer.content)).pages
    assert "No screen counts yet" in " ".join(sheet.extract_text().split())
