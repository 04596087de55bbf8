"""Sheets of training from the records, in the reader's language."""

import io
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path

import pytest
from club_pages import ClubSite, open_club
from pypdf import PdfReader

from chordline.application.club.records import GymnastRecord
from training_sheet_samples import plan_record


@dataclass
class Planned:
    """Three gymnasts of a group with a plan from today on; Ada is screened."""

    site: ClubSite
    group: int
    ada: GymnastRecord
    today: date

    def paper(self, address: str) -> str:
        answer = self.site.client.get(address)
        assert answer.status_code == 200, answer.text
        assert answer.headers["content-type"] == "application/pdf"
        pages = PdfReader(io.BytesIO(answer.content)).pages
        return " ".join(" ".join(page.extract_text() for page in pages).split())

    def note(self, what: str, text: str = "") -> int:
        self.site.post(f"/gymnasts/{self.ada.id}/notes", what=what, text=text)
        with self.site.app.records.reading() as tx:
            return tx.gymnasts.notes(self.ada.id)[-1].id


@pytest.fixture
def planned(tmp_path: Path) -> Iterator[Planned]:
    with open_club(tmp_path) as site:
        today = date.today()
        born = today.replace(year=today.year - 10, day=1)
        girls = [
            site.add(name, card, birth_date=born)
            for card, name in enumerate(("Ada Berg", "Elif Holm", "Cleo Lund"), start=7)
        ]
        site.screen(girls[0])
        record = plan_record(tuple(one.id for one in girls), rounds=2, stations=2, weeks=2)
        for place, session in enumerate(record["sessions"]):
            session["date"] = (today + timedelta(days=2 * place)).isoformat()
        record["first_day"] = today.isoformat()
        with site.app.records.transaction() as tx:
            group = tx.clubs.add_group(site.app.club().id, "Thursday")
            tx.clubs.put_in_group(group.id, [one.id for one in girls])
            tx.training.add_plan(group.id, first_day=today, record=record, author="Kim")
        yield Planned(site, group.id, girls[0], today)


def test_a_familys_sheet_in_her_language_names_no_other_child(planned: Planned) -> None:
    words = planned.paper(f"/gymnasts/{planned.ada.id}/family.pdf?language=de")
    assert "Ada Berg" in words
    assert "Zu Hause" in words
    assert "Elif" not in words
    assert "Cleo" not in words


def test_the_coachs_plan(planned: Planned) -> None:
    words = planned.paper(f"/gymnasts/{planned.ada.id}/coach-plan.pdf")
    assert "Shoulders, passive: closed by" in words
    assert "12 min" in words.replace("\u00a0", " ")


def test_the_stations_of_a_day_and_of_no_other(planned: Planned) -> None:
    words = planned.paper(f"/groups/{planned.group}/stations/{planned.today}.pdf?language=fr")
    assert "Aux ateliers" in words
    assert "Elif" in words
    day = planned.today + timedelta(days=1)
    page = planned.site.page(f"/groups/{planned.group}/stations/{day}.pdf", 422)
    assert "the next is on" in page


def test_a_group_at_a_glance(planned: Planned) -> None:
    words = planned.paper(f"/groups/{planned.group}/plan.pdf?language=de")
    assert "Thursday" in words
    assert "Cleo Lund" in words
    assert "Trainingstermine" in words


def test_a_referral_note_for_an_open_sign_of_hers(planned: Planned) -> None:
    note = planned.note("wrist_pain", "Sore since Monday.")
    words = planned.paper(f"/gymnasts/{planned.ada.id}/referral/{note}.pdf")
    assert "Sore since Monday." in words
    assert "Cleo" not in words
    assert "note" in planned.site.page(f"/gymnasts/{planned.ada.id}/referral/{note + 9}.pdf", 404)
    planned.site.post(f"/notes/{note}/close")
    page = planned.site.page(f"/gymnasts/{planned.ada.id}/referral/{note}.pdf", 422)
    assert "closed" in page


def test_words_about_another_child_stay_in_the_club(planned: Planned) -> None:
    note = planned.note("pain", "Elif landed on her foot.")
    words = planned.paper(f"/gymnasts/{planned.ada.id}/referral/{note}.pdf")
    assert "Elif" not in words
    assert "name another child" in words


def test_a_sign_noted_after_the_plan_holds_her_back_on_the_wall(planned: Planned) -> None:
    address = f"/groups/{planned.group}/stations/{planned.today}.pdf"
    assert "Rest: Ada" not in planned.paper(address)
    planned.note("numbness")
    words = planned.paper(address)
    assert "Rest: Ada" in words
    assert "umbness" not in words.partition("At the stations")[0]


def test_a_sign_that_her_photos_show_holds_her_back_on_the_wall(planned: Planned) -> None:
    with planned.site.app.records.transaction() as tx:
        (screen,) = tx.gymnasts.view(planned.ada.id, screens=1).screens
        assert screen.findings is not None
        stops = [{"flag": "numbness", "advice": "", "tests": []}]
        record = {**screen.findings.record, "stops": stops}
        tx.screens.save_findings(screen.screen, record, catalogue="c", models=["m"])
    words = planned.paper(f"/groups/{planned.group}/stations/{planned.today}.pdf")
    assert "Rest: Ada" in words


def test_who_left_the_group_is_on_no_sheet_of_it(planned: Planned) -> None:
    with planned.site.app.records.transaction() as tx:
        tx.clubs.take_out_of_group(planned.group, [planned.ada.id])
    for address in (f"stations/{planned.today}.pdf", "plan.pdf"):
        words = planned.paper(f"/groups/{planned.group}/{address}")
        assert "Ada" not in words
        assert "Elif" in words


def test_who_trains_with_two_groups_has_the_dates_of_both(planned: Planned) -> None:
    tomorrow = planned.today + timedelta(days=1)
    record = plan_record((planned.ada.id,), rounds=1, stations=1, weeks=1)
    record["first_day"] = planned.today.isoformat()
    record["sessions"] = [{**record["sessions"][0], "date": tomorrow.isoformat()}]
    with planned.site.app.records.transaction() as tx:
        other = tx.clubs.add_group(planned.site.app.club().id, "Second")
        tx.clubs.put_in_group(other.id, [planned.ada.id])
        tx.training.add_plan(other.id, first_day=planned.today, record=record, author="Kim")
    words = planned.paper(f"/gymnasts/{planned.ada.id}/family.pdf")
    for day in (planned.today, tomorrow):
        assert f"{day:%A} {day.day} {day:%B}" in words.replace("\u00a0", " ")


def test_a_group_without_a_plan_is_told_to_make_one(planned: Planned) -> None:
    with planned.site.app.records.transaction() as tx:
        bare = tx.clubs.add_group(planned.site.app.club().id, "Bare")
    assert "make one first" in planned.site.page(f"/groups/{bare.id}/plan.pdf", 422)
    assert "make a plan first" in planned.site.page(
        f"/groups/{bare.id}/stations/{planned.today}.pdf", 422
    )


def test_who_is_not_there_and_what_is_no_language(planned: Planned) -> None:
    planned.site.page("/gymnasts/999/family.pdf", 404)
    planned.site.page("/groups/999/plan.pdf", 404)
    answer = planned.site.client.get(f"/gymnasts/{planned.ada.id}/family.pdf?language=xx")
    assert answer.status_code == 422


def test_a_changed_evening_is_printed_as_it_was_changed(planned: Planned) -> None:
    with planned.site.app.records.transaction() as tx:
        plan = tx.training.plan_holding(planned.group, planned.today)
        assert plan is not None
        session = {**plan.record["sessions"][0], "stations": [{"name": "Beam hall"}] * 2}
        tx.training.session_on(planned.group, planned.today, plan_id=plan.id, record=session)
    words = planned.paper(f"/groups/{planned.group}/stations/{planned.today}.pdf")
    assert "Beam hall" in words
    assert "Airtrack" not in words
