"""One gymnast: pictures in pairs, findings, notes, and a record that two coaches may change."""

import html
import re
from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path

import pytest
from club_pages import CLOSED, MARCH, MONDAY, ClubSite, level_faults, open_club, words_of

from chordline.application.club.records import BodySize, Consent
from chordline.core.body.measurement import Trust


@pytest.fixture
def site(tmp_path: Path) -> Iterator[ClubSite]:
    with open_club(tmp_path) as opened_club:
        yield opened_club


def test_somebody_without_a_screen_is_told_how_to_get_one(site: ClubSite) -> None:
    her = site.add("Ada", 7)
    page = site.page(f"/gymnasts/{her.id}")
    assert "Not screened yet" in page
    assert "with card 7 beside her" in page
    assert level_faults(page) == []


def test_nobody_is_not_there(site: ClubSite) -> None:
    assert "gymnast 99" in site.page("/gymnasts/99", 404)


def test_what_limits_her_stands_before_numbers_and_reasons_are_one_tap_away(
    site: ClubSite,
) -> None:
    her = site.add("Ada", 7)
    site.screen(her)
    page = site.page(f"/gymnasts/{her.id}")
    said = words_of(page)
    assert re.search(r"Shoulders, passive: closed by \d+° ± \d+°", said)
    assert "Almost certain" in said
    assert "Work that fits:" in said
    assert re.search(r"<details[^>]*>\s*<summary>What shows it", page)
    assert level_faults(page) == []


def test_each_test_stands_beside_its_base_test_with_what_else_changed(site: ClubSite) -> None:
    her = site.add("Ada")
    site.screen(her)
    page = site.page(f"/gymnasts/{her.id}")
    active = page.partition("she lifts the arms herself</h3>")[2].partition("</article>")[0]
    assert "<b>Before:</b> On the stomach, arms lifted for her" in active
    assert re.search(r"hips \d+° ± \d+° more open", active)
    assert "filled: what changed" in active
    assert active.count('class="cl-photo"') == 1
    referred = re.search(r'<use href="#(line-\d)"', active)
    assert referred is not None
    assert page.count(f'id="{referred[1]}"') == 1


def test_a_pair_between_which_nothing_else_changed_is_shown_as_well(site: ClubSite) -> None:
    her = site.add("Ada")
    site.screen(her)
    page = site.page(f"/gymnasts/{her.id}")
    raised = page.partition(">On the stomach, arms lifted for her</h3>")[2].partition("</article>")
    assert "<b>Before:</b> On the stomach, arms over the ears on the floor" in raised[0]
    assert "Nothing else in the body changes beyond its ±" in raised[0]


def test_a_test_without_its_base_says_so(site: ClubSite) -> None:
    her = site.add("Ada")
    site.screen(her, {"prone-active": CLOSED["prone-active"]})
    said = words_of(site.page(f"/gymnasts/{her.id}"))
    assert "‘On the stomach, arms lifted for her’ was not done" in said


def test_pictures_are_asked_for_by_address_late_and_lead_to_their_page(site: ClubSite) -> None:
    her = site.add("Ada")
    site.screen(her, kept=True)
    page = site.page(f"/gymnasts/{her.id}")
    with site.app.records.reading() as tx:
        photo = tx.gymnasts.view(her.id).screens[0].photos[0].photo
    assert f'href="/photos/{photo.id}"' in page
    assert f"/photos/{photo.id}/picture?px=1600 1600w" in page
    assert page.count("<img") == page.count('loading="lazy"') > 0
    assert "base64" not in page
    assert len(page.encode()) < 150_000


def test_a_picture_that_is_not_kept_leaves_its_drawing(site: ClubSite) -> None:
    her = site.add("Ada")
    site.screen(her)
    page = site.page(f"/gymnasts/{her.id}")
    assert "<img" not in page
    assert "Picture not kept" in page


def test_doubtful_photos_say_nothing_but_ask_for_a_look(site: ClubSite) -> None:
    her = site.add("Ada")
    site.screen(her, trust=Trust(False, ("the hip is doubtful",)))
    said = words_of(site.page(f"/gymnasts/{her.id}"))
    assert "Not a finding yet" in said
    assert "the hip is doubtful" in said
    assert "Not counted" in said


def test_a_screen_is_chosen_by_its_day(site: ClubSite) -> None:
    her, other = site.add("Ada"), site.add("Bea")
    old = site.screen(her, {"prone-sides": {"hip": -25.0}}, day=MARCH)
    site.screen(her)
    theirs = site.screen(other)
    page = site.page(f"/gymnasts/{her.id}?screen={old}")
    assert words_of(page).partition("What limits her")[2].startswith(" No limiter found")
    assert f'<option value="{old}" selected>3 Mar 2025' in page
    assert site.client.get(f"/gymnasts/{her.id}?screen={theirs}").status_code == 404
    assert site.client.get(f"/gymnasts/{her.id}?screen=99").status_code == 404


def test_the_history_has_every_screen_and_judges_no_change(site: ClubSite) -> None:
    her = site.add("Ada")
    site.screen(her, day=MARCH)
    site.screen(her)
    history = site.page(f"/gymnasts/{her.id}").partition('id="history"')[2]
    assert history.index("1 Sep 2025") < history.index("3 Mar 2025")
    assert history.partition("</table>")[0].count('class="cl-glyph"') == 6
    assert "is a real change stands under Progress" in history


def test_findings_that_are_out_of_date_are_kept_anew(site: ClubSite) -> None:
    her = site.add("Ada")
    screen = site.screen(her, judged=False)
    assert "Nothing of her photos counts yet." in site.page("/squad")
    site.page(f"/gymnasts/{her.id}")
    assert "shoulder_flexion_deg" in site.limiters(screen)
    with site.app.records.reading() as tx:
        before = len(tx.screens.findings(screen))
    site.page(f"/gymnasts/{her.id}")
    with site.app.records.reading() as tx:
        assert len(tx.screens.findings(screen)) == before


def test_a_sign_stops_tests_at_once_and_until_it_is_closed(site: ClubSite) -> None:
    her = site.add("Ada")
    screen = site.screen(her)
    answer = site.post(f"/gymnasts/{her.id}/notes", what="wrist_pain", text="after vaulting")
    assert answer.status_code == 303
    assert "wrists" in answer.headers["location"]
    page = site.page(f"/gymnasts/{her.id}")
    said = words_of(page)
    assert said.index("Wrist pain.") < said.index("What limits her")
    assert "after vaulting" in said
    note = re.search(r'action="/notes/(\d+)/close"', page)
    assert note is not None
    site.post(f"/notes/{note[1]}/close")
    assert 'class="care stop"' not in site.page(f"/gymnasts/{her.id}")
    site.post(f"/notes/{note[1]}/open")
    assert 'class="care stop"' in site.page(f"/gymnasts/{her.id}")
    site.limiters(screen)


def test_a_note_that_cannot_be_is_refused_and_its_words_stay(site: ClubSite) -> None:
    her = site.add("Ada")
    assert site.post(f"/gymnasts/{her.id}/notes", what="remark", text=" ").status_code == 422
    assert site.post(f"/gymnasts/{her.id}/notes", what="lazy", text="x").status_code == 422
    tomorrow = (date.today() + timedelta(days=2)).isoformat()
    answer = site.post(
        f"/gymnasts/{her.id}/notes", what="pain", text="a <b>knee", noted_on=tomorrow
    )
    assert answer.status_code == 422
    assert "lies in the future" in answer.text
    assert "a &lt;b&gt;knee</textarea>" in answer.text


def test_a_form_sent_twice_is_kept_once(site: ClubSite) -> None:
    her = site.add("Ada")
    for _ in range(2):
        site.post(f"/gymnasts/{her.id}/notes", what="remark", text="tall today", token="t1")
    assert site.page(f"/gymnasts/{her.id}").count("tall today") == 1


def test_the_record_is_changed_and_sizes_are_kept_by_their_day(site: ClubSite) -> None:
    her = site.add("Ada")
    answer = site.post(
        f"/gymnasts/{her.id}/edit",
        version=her.version,
        name="Ada Berg",
        card="12",
        birth_date="2016-05-31",
        measure="yes",
        taken_on="2025-09-01",
        stature_cm="131,5",
    )
    assert answer.status_code == 303
    said = words_of(site.page(f"/gymnasts/{her.id}"))
    for part in ("Ada Berg", "Card 12", "31 May 2016", "Stature 131.5 cm 1 Sep 2025"):
        assert part in said
    assert "Measuring her is allowed. Pictures may not be kept." in said


def test_what_a_family_did_not_say_is_not_said(site: ClubSite) -> None:
    her = site.add("Ada")
    assert "The family was not asked yet" in site.page(f"/gymnasts/{her.id}")
    gone = site.add("Bea", consent=Consent(measure=True, until=date(2020, 1, 1)))
    assert "ran out on 1 Jan 2020" in site.page(f"/gymnasts/{gone.id}")


def test_of_two_coaches_the_second_is_told_and_loses_nothing(site: ClubSite) -> None:
    her = site.add("Ada", 7)
    form = {"version": her.version, "card": "7", "birth_date": ""}
    assert site.post(f"/gymnasts/{her.id}/edit", **form, name="Ada One").status_code == 303
    late = site.post(f"/gymnasts/{her.id}/edit", **form, name="Ada Two", stature_cm="130")
    assert late.status_code == 409
    assert "Somebody changed this record" in late.text
    assert 'value="Ada Two"' in late.text
    assert 'value="130"' in late.text
    said = words_of(late.text)
    assert "Name Ada One Ada Two" in said
    version = re.search(r'name="version" value="(\d+)"', late.text)
    assert version is not None
    again = site.post(
        f"/gymnasts/{her.id}/edit", version=version[1], name="Ada Two", card="7", stature_cm="130"
    )
    assert again.status_code == 303
    assert "Ada Two" in site.page(f"/gymnasts/{her.id}")


def test_what_the_second_did_not_touch_stays_as_the_first_left_it(site: ClubSite) -> None:
    her = site.add("Ada", 7)
    form = site.page(f"/gymnasts/{her.id}/edit")
    before = re.search(r'name="before" value="([^"]+)"', form)
    assert before is not None
    began = {"version": her.version, "before": html.unescape(before[1])}
    site.post(f"/gymnasts/{her.id}/edit", **began, name="Ada One", card="7", measure="yes")
    late = site.post(f"/gymnasts/{her.id}/edit", **began, name="Ada", card="8")
    assert late.status_code == 409
    assert 'value="Ada One"' in late.text
    assert 'name="card" value="8"' in late.text
    assert 'name="measure" value="yes" checked' in late.text
    assert "Card 7 8" in words_of(late.text)
    assert "Name Ada One" not in words_of(late.text)


@pytest.mark.parametrize("before", ["", "nonsense", "[]", "{}", '{"name": 3}'])
def test_a_form_that_does_not_say_how_it_began_keeps_all_that_was_entered(
    site: ClubSite, before: str
) -> None:
    her = site.add("Ada", 7)
    site.post(f"/gymnasts/{her.id}/edit", version=her.version, name="Ada One", card="7")
    late = site.post(
        f"/gymnasts/{her.id}/edit", version=her.version, before=before, name="Ada", card="7"
    )
    assert late.status_code == 409
    assert 'name="name" value="Ada"' in late.text


@pytest.mark.parametrize(
    ("field", "value", "said"),
    [
        ("card", "8", "is taken already"),
        ("card", "x", "is no whole number"),
        ("name", "", "needs a name"),
        ("birth_date", "31.5.2016", "is no day"),
        ("stature_cm", "900", "between 50 and 230"),
        ("taken_on", "2099-01-01", "lies in the future"),
    ],
)
def test_a_record_that_cannot_be_is_refused_with_its_reason(
    site: ClubSite, field: str, value: str, said: str
) -> None:
    site.add("Bea", 8)
    her = site.add("Ada", 7)
    fields = {"name": "Ada", "card": "7", "stature_cm": "130", field: value}
    answer = site.post(f"/gymnasts/{her.id}/edit", version=her.version, **fields)
    assert answer.status_code == 422
    assert said in answer.text
    assert f'value="{value}"' in answer.text
    with site.app.records.reading() as tx:
        assert tx.gymnasts.sizes(her.id) == ()
        assert tx.gymnasts.get(her.id) == her


def test_she_is_put_away_and_brought_back(site: ClubSite) -> None:
    her = site.add("Ada", 7)
    site.post(f"/gymnasts/{her.id}/archive", token="a")
    page = site.page(f"/gymnasts/{her.id}")
    assert "Bring her back" in page
    site.post(f"/gymnasts/{her.id}/bring-back", token="b")
    site.post(f"/gymnasts/{her.id}/archive", token="a")  # sent twice
    assert "Put away" in site.page(f"/gymnasts/{her.id}")
    site.post(f"/gymnasts/{her.id}/archive")
    site.add("Bea", 7)
    assert site.post(f"/gymnasts/{her.id}/bring-back").status_code == 409


def test_erasing_says_what_is_lost_and_removes_the_pictures(site: ClubSite) -> None:
    her = site.add("Ada")
    screen = site.screen(her, kept=True)
    with site.app.records.transaction() as tx:
        tx.gymnasts.add_size(her.id, BodySize(MONDAY, stature_cm=130.0))
    page = site.page(f"/gymnasts/{her.id}/erase")
    assert "5 photos with all marks and measurements, 5 kept pictures" in page
    assert "1 day of body sizes" in page
    assert site.post(f"/gymnasts/{her.id}/erase").status_code == 200
    assert list(site.app.photo_store.keys())
    assert "Gone for good" in site.post(f"/gymnasts/{her.id}/erase", sure="yes").text
    assert list(site.app.photo_store.keys()) == []
    assert site.client.get(f"/gymnasts/{her.id}").status_code == 404
    assert site.client.get(f"/screens/{screen}").status_code == 404


def test_a_picture_that_somebody_else_needs_is_not_deleted(site: ClubSite) -> None:
    ada, bea = site.add("Ada"), site.add("Bea")
    site.screen(ada, kept=True)
    site.screen(bea, kept=True)  # the same bytes, under a key of her own
    site.post(f"/gymnasts/{ada.id}/erase", sure="yes")
    left = list(site.app.photo_store.keys())
    assert len(left) == 5
    assert all(site.app.photo_store.open(key) for key in left)
