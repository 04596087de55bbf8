"""Training in pages: groups, how a group trains, the plan."""

import re
from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
from club_pages import ClubSite, level_faults, open_club, words_of
from planned_club import Training, plan_for

from chordline.application.training.plan_wish import PlanWish
from chordline.application.training.planned import read_plan
from chordline.web.plan_view import show_plan
from chordline.web.planning import PlanningState
from training_stories import CATALOGUE, OURS, planned_session


@pytest.fixture
def site(tmp_path: Path) -> Iterator[ClubSite]:
    with open_club(tmp_path) as opened_club:
        yield opened_club


@pytest.fixture
def training(site: ClubSite) -> Training:
    return plan_for(site)


class Noted:
    """Stands for the planner: keeps what it was asked for."""

    def __init__(self) -> None:
        self.asked: list[tuple[int, PlanWish]] = []
        self.now: PlanningState | None = None
        self.stopped: list[int] = []

    def state(self, group_id: int) -> PlanningState | None:
        return self.now

    def begin(self, group_id: int, wish: PlanWish) -> None:
        self.asked.append((group_id, wish))

    def stop(self, group_id: int) -> None:
        self.stopped.append(group_id)

    def forget(self, group_id: int) -> None:
        self.now = None


@pytest.fixture
def planner(training: Training) -> Noted:
    noted = Noted()
    training.site.client.app.state.desk.planning = noted  # type: ignore[attr-defined]
    return noted


def test_a_club_without_groups_is_told_what_a_group_is_for(site: ClubSite) -> None:
    page = site.page("/training")
    assert "No group yet" in page
    assert level_faults(page) == []


def test_the_list_tells_how_a_group_trains_and_until_when_it_is_planned(
    training: Training,
) -> None:
    page = training.site.page("/training")
    said = words_of(page)
    assert "Tuesday squad 3 gymnasts" in said
    assert "assumed until you say how it is" in said
    assert "next session today" in said
    assert level_faults(page) == []


# --- how it trains ------------------------------------------------------------------------------


def gym(training: Training, **changes: Any) -> dict[str, Any]:
    fields: dict[str, Any] = {
        "version": "0",
        "day": ["1", "3"],
        "starts_at": "16:30",
        "minutes": "50",
        "coaches": "1",
        "station": ["Mats", "Wall", ""],
        "places": ["5", "3", "4"],
        "equipment-0": ["mat", "stick"],
        "equipment-1": ["wall"],
    }
    return {**fields, **changes}


def test_how_a_group_trains_is_assumed_then_said_and_kept(training: Training) -> None:
    before = training.page("gym")
    assert "an ordinary hall is assumed" in before
    assert level_faults(before) == []
    answer = training.post("gym", **gym(training))
    assert answer.status_code == 303
    with training.site.app.records.reading() as tx:
        kept = tx.training.group(training.group)
    assert kept.weekdays == (1, 3)
    assert [(one.name, one.places, one.equipment) for one in kept.stations] == [
        ("Mats", 5, ("mat", "stick")),
        ("Wall", 3, ("wall",)),
    ]
    assert "Tuesday and Thursday from 16:30, 50 min, 1 coach, 2 stations" in words_of(
        training.site.page("/training")
    )


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"day": []}, "say on which days the group trains"),
        ({"minutes": "0"}, "1 to 480 minutes"),
        ({"minutes": "an hour"}, "no whole number"),
        ({"starts_at": "half past"}, "is no time of day"),
        ({"station": ["Mats", "mats", ""]}, "two stations are called"),
        ({"station": ["", "", ""]}, "1 to 20 stations"),
        ({"equipment-0": ["trampoline"]}, "no equipment is called"),
        ({"places": ["0", "3", "4"]}, "place"),
    ],
)
def test_what_cannot_be_is_refused_with_a_sentence(
    training: Training, changes: dict[str, Any], said: str
) -> None:
    answer = training.post("gym", **gym(training, **changes))
    assert answer.status_code == 422
    assert said in words_of(answer.text).lower()
    with training.site.app.records.reading() as tx:
        assert tx.training.group(training.group).version == 0


def test_of_two_forms_the_second_is_told(training: Training) -> None:
    training.post("gym", **gym(training))
    late = training.post("gym", **gym(training, minutes="90"))
    assert late.status_code == 422
    assert "changed how this group trains meanwhile" in words_of(late.text)


def test_how_long_somebody_has_trained_is_kept(training: Training) -> None:
    ids = [str(one) for one in training.ids.values()]
    training.post("levels", gymnast=ids, level=["1", "3", "9"])
    with training.site.app.records.reading() as tx:
        assert tx.training.levels(list(training.ids.values())) == {
            training.ids["Ada"]: 1,
            training.ids["Bea"]: 3,
        }


# --- the plan -----------------------------------------------------------------------------------


def test_the_plan_tells_who_works_on_what_with_its_error(training: Training) -> None:
    page = training.page("plan")
    said = words_of(page)
    assert level_faults(page) == []
    assert "2 sessions in 1 week" in said
    assert "At most 3 % below the most straightening" in said
    assert "Hip flexors 12 min a week 14° ± 8° missing, 6.0° ± 5.9° of it expected to go" in said
    assert "Without weight on the hands." in said
    assert "Never screened" in said
    assert "Less than the usual least a week for neck" in said


def test_who_was_erased_is_in_no_plan_any_more(training: Training) -> None:
    with training.site.app.records.transaction() as tx:
        tx.gymnasts.erase(training.ids["Ada"])
    page = training.page("plan")
    assert "Ada" not in page
    assert "Cleo" in page


def test_planning_again_begins_today_and_keeps_what_was_asked(
    training: Training, planner: Noted
) -> None:
    answer = training.post("plan", weeks="6")
    assert answer.headers["location"] == f"/groups/{training.group}/plan#making"
    ((group, wish),) = planner.asked
    assert group == training.group
    assert (wish.first_day, wish.weeks) == (training.today, 6)
    assert [one.gymnast for one in wish.pins] == [training.ids["Ada"]]


def test_planned_from_a_later_day_what_is_over_by_then_is_not_asked_for(
    training: Training, planner: Noted
) -> None:
    exercise = list(training.site.app.training.exercises)[5]
    with training.site.app.records.transaction() as tx:
        kept = tx.training.plans(training.group)[0]
        pin = {"exercise": exercise, "gymnast": None, "date": training.today.isoformat()}
        asked = {**kept.record["asked"], "pins": [pin]}
        record = {**kept.record, "asked": asked}
        tx.training.add_plan(training.group, first_day=training.today, record=record, author="Kim")
    later = training.today + timedelta(days=7)
    training.post("plan", weeks="6", first_day=later.isoformat())
    ((_, wish),) = planner.asked
    assert (wish.first_day, wish.pins) == (later, ())


def test_every_session_of_a_plan_that_begins_within_a_week_stands_in_some_week() -> None:
    thursday = date(2025, 9, 4)
    days = [thursday, thursday + timedelta(days=4), thursday + timedelta(days=12)]
    record = {
        "first_day": thursday.isoformat(),
        "weeks": 2,
        "objective": {"straightening_pct": 1.0, "bound_pct": 1.0},
        "stations": [],
        "sessions": [{**planned_session(day), "week": n} for n, day in enumerate(days)],
        "gymnasts": [],
    }
    plan = read_plan(record)
    shown = [
        show_plan(
            plan, week=plan.week_of(day) + 1, names={}, catalogue=CATALOGUE, training=OURS
        ).days
        for day in days
    ]
    assert [[one.day for one in week] for week in shown] == [[day] for day in days]
    assert plan.calendar_weeks == 3


def test_wishes_are_added_and_taken_back_by_what_the_page_says(
    training: Training, planner: Noted
) -> None:
    exercise = list(training.site.app.training.exercises)[5]
    day = training.today + timedelta(days=2)
    bea = str(training.ids["Bea"])
    training.post("plan/wishes", what="exclusion", exercise=exercise, gymnast=bea)
    training.post("plan/wishes", what="away", gymnast=bea, day=day.isoformat())
    page = training.page("plan")
    (words,) = re.findall(r'name="words" value="([^"]+)"', page)
    training.post("plan/wishes/pin/0/remove", words=words.replace("&#34;", '"'))
    excluded, away, without = (wish for _, wish in planner.asked)
    assert [one.exercise for one in excluded.exclusions] == [exercise]
    assert away.absences == {day: frozenset({training.ids["Bea"]})}
    assert without.pins == ()
    stale = training.post("plan/wishes/pin/0/remove", words="Somebody else’s wish.")
    assert "already" in stale.headers["location"]
    assert len(planner.asked) == 3


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({"what": "away"}, "say who is away"),
        ({"what": "pin", "exercise": "juggling"}, "choose an exercise"),
        ({"what": "", "exercise": "HIP"}, "wanted or not wanted"),
        ({"what": "away", "gymnast": "1", "day": "soon"}, "is no day"),
    ],
)
def test_a_wish_that_says_nothing_is_refused(
    training: Training, planner: Noted, fields: dict[str, str], said: str
) -> None:
    if fields.get("exercise") == "HIP":
        fields = {**fields, "exercise": next(iter(training.site.app.training.exercises))}
    answer = training.post("plan/wishes", **fields)
    assert answer.status_code == 422
    assert said in words_of(answer.text).lower()
    assert planner.asked == []


def test_a_plan_in_the_making_is_shown_with_a_way_to_stop_it(
    training: Training, planner: Noted
) -> None:
    planner.now = PlanningState("runs", 0.4)
    page = training.page("plan")
    assert 'value="0.400"' in page
    assert level_faults(page) == []
    training.post("plan/stop")
    assert planner.stopped == [training.group]
    answer = training.site.client.get(f"/api/groups/{training.group}/planning").json()
    assert answer == {"busy": True, "stage": "runs", "share": 0.4, "told": []}


def test_what_clashes_is_shown_once_sentence_by_sentence(
    training: Training, planner: Noted
) -> None:
    planner.now = PlanningState("refused", told=("Ada is pinned <b>.", "The wall is full."))
    page = training.page("plan")
    assert "Ada is pinned &lt;b&gt;." in page
    assert "The wall is full." in page
    assert "No plan fits what was asked" not in training.page("plan")


def test_a_group_that_is_not_there_is_told_so(site: ClubSite) -> None:
    for name in ("plan", "gym", "tonight", "timer", "calendar.ics"):
        assert site.client.get(f"/groups/77/{name}").status_code in {404, 422}


def test_the_calendar_names_no_child(training: Training) -> None:
    answer = training.site.client.get(f"/groups/{training.group}/calendar.ics")
    assert answer.headers["content-type"].startswith("text/calendar")
    assert answer.text.count("BEGIN:VEVENT") == 2
    assert not any(name in answer.text for name in training.ids)
