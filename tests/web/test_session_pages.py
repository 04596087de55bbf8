"""A session in pages: opened, dealt, run by the timer, ended, and what was done."""

import json
import re
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest
from club_pages import ClubSite, level_faults, open_club, words_of
from planned_club import Training, plan_for


@pytest.fixture
def site(tmp_path: Path) -> Iterator[ClubSite]:
    with open_club(tmp_path) as opened_club:
        yield opened_club


@pytest.fixture
def training(site: ClubSite) -> Training:
    return plan_for(site)


def test_a_session_is_opened_from_the_plan_and_dealt_for_who_is_here(training: Training) -> None:
    closed = training.page("tonight")
    assert "not open yet" in closed
    assert level_faults(closed) == []
    training.post("tonight", on=training.today.isoformat())
    page = training.page("tonight")
    assert level_faults(page) == []
    assert "Ada, Bea" in words_of(page)
    session = training.session()
    listed = [str(one) for one in training.ids.values()]
    here = [str(training.ids[name]) for name in ("Bea", "Cleo")]
    training.post(f"sessions/{session.id}/attendance", listed=listed, was=listed, here=here)
    after = words_of(training.page("tonight").partition('id="rounds"')[2].partition("done")[0])
    assert "Ada" not in after
    assert "Bea" in after


def test_who_ticks_on_an_old_page_undoes_nothing(training: Training) -> None:
    training.post("tonight")
    session = training.session()
    ids = {name: str(one) for name, one in training.ids.items()}
    everybody = list(ids.values())
    address = f"sessions/{session.id}/attendance"
    training.post(address, listed=everybody, was=everybody, here=[ids["Bea"], ids["Cleo"]])
    # Another tablet still shows everybody; its coach takes Bea off.
    answer = training.post(address, listed=everybody, was=everybody, here=[ids["Ada"], ids["Cleo"]])
    assert "1%20here%2C%202%20not" in answer.headers["location"]
    with training.site.app.records.reading() as tx:
        marked = tx.training.attendance(session.id)
    assert marked == {training.ids["Ada"]: False, training.ids["Bea"]: False}


def test_rounds_that_have_begun_stay_and_those_not_reached_were_not_done(
    training: Training,
) -> None:
    training.post("tonight")
    session = training.session()
    everybody = [str(one) for one in training.ids.values()]
    ada = str(training.ids["Ada"])
    training.post(
        f"sessions/{session.id}/attendance",
        listed=everybody,
        was=everybody,
        here=[one for one in everybody if one != ada],
        begun="1",
    )
    first, second = training.session().record["rounds"]
    assert training.ids["Ada"] in first[0]["gymnasts"]
    assert all(training.ids["Ada"] not in one["gymnasts"] for one in second)
    assert '<option value="1" selected>1</option>' in training.page("tonight")
    version = str(training.session().version)
    training.post(f"sessions/{session.id}/end", version=version, rounds="1")
    with training.site.app.records.reading() as tx:
        done = {one.gymnast_id for one in tx.training.work_of_session(session.id)}
    assert done == set(training.ids.values())
    exercises = {one["exercise"] for one in first}
    with training.site.app.records.reading() as tx:
        assert {one.exercise for one in tx.training.work_of_session(session.id)} == exercises


def test_before_the_end_only_what_was_different_is_said(training: Training) -> None:
    training.post("tonight")
    session = training.session()
    first, second = list(training.site.app.training.exercises)[:2]
    ada, bea = training.ids["Ada"], training.ids["Bea"]
    shares = {f"{ada}/{first}": "1", f"{bea}/{first}": "0", f"{ada}/{second}": "1"}
    training.post(f"sessions/{session.id}/done", **shares)
    training.post(f"sessions/{session.id}/done", **{f"{10**12}/{first}": "0"})
    with training.site.app.records.reading() as tx:
        done = tx.training.work_of_session(session.id)
    assert [(one.gymnast_id, one.exercise, one.share) for one in done] == [(bea, first, 0.0)]


def test_what_was_done_is_kept_and_counts(training: Training) -> None:
    training.post("tonight")
    session = training.session()
    training.post(f"sessions/{session.id}/end", version=str(session.version))
    page = training.page("tonight")
    assert "This session has ended" in page
    assert level_faults(page) == []
    exercise = next(iter(training.site.app.training.exercises))
    training.post(f"sessions/{session.id}/done", **{f"{training.ids['Bea']}/{exercise}": "0.5"})
    with training.site.app.records.reading() as tx:
        done = {
            (one.gymnast_id, one.exercise): one.share
            for one in tx.training.work_of_session(session.id)
        }
    assert done[training.ids["Bea"], exercise] == 0.5
    assert done[training.ids["Ada"], exercise] == 1.0


def test_a_day_without_a_session_takes_the_nearest_one_s_turns_and_says_so(
    training: Training,
) -> None:
    day = (training.today + timedelta(days=1)).isoformat()
    training.post("tonight", on=day)
    assert "no session on this day" in words_of(training.page(f"tonight?on={day}"))


def test_before_the_plan_there_is_no_session(training: Training) -> None:
    day = (training.today - timedelta(days=3)).isoformat()
    assert "No plan holds on this day" in training.page(f"tonight?on={day}")
    assert training.post("tonight", on=day).status_code == 422


# --- the timer ----------------------------------------------------------------------------------


def test_the_timer_carries_everything_it_needs(training: Training) -> None:
    assert training.site.client.get(f"/groups/{training.group}/timer").status_code == 422
    training.post("tonight")
    page = training.page("timer")
    (told,) = re.findall(r"<script type=\"application/json\" data-evening>(.*?)</script>", page)
    assert json.loads(told)["round_min"] == 8.0
    assert page.count("data-round") == 2
    assert "Rest: Bea, Cleo" in words_of(page)
    assert level_faults(page) == []
