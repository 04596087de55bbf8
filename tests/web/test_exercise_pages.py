"""Exercises in the browser: all to look through, one with everything about it, and as JSON."""

import html
from collections.abc import Iterator
from pathlib import Path

import pytest
from club_pages import ClubSite, level_faults, open_club, words_of


@pytest.fixture(scope="module")
def club(tmp_path_factory: pytest.TempPathFactory) -> Iterator[ClubSite]:
    folder: Path = tmp_path_factory.mktemp("exercises")
    with open_club(folder) as site:
        yield site


def test_all_exercises_are_shown_by_kind_each_with_its_drawing(club: ClubSite) -> None:
    page = club.page("/exercises")
    exercises = club.app.training.exercises
    for name, entry in exercises.items():
        assert f'href="/exercises/{name}"' in page
        assert html.escape(entry.title, quote=False) in page
    assert page.count("<svg") >= len(exercises)
    assert f"{len(exercises)} exercises" in words_of(page)
    assert level_faults(page) == []
    assert "style=" not in page


def test_exercises_are_found_by_words_capacity_kind_and_equipment(club: ClubSite) -> None:
    page = club.page("/exercises?search=shin+wall&for=hip_extension_deg&kind=range&equipment=wall")
    assert "/exercises/lunge-shin-up-wall" in page
    assert "/exercises/forearm-plank" not in page
    assert "1 exercise of" in words_of(page)


def test_at_home_shows_only_what_may_be_done_at_home(club: ClubSite) -> None:
    page = club.page("/exercises?home=true")
    for name, entry in club.app.training.exercises.items():
        assert (f'"/exercises/{name}"' in page) == entry.home


def test_nothing_found_says_what_helps(club: ClubSite) -> None:
    assert "No exercise fits" in words_of(club.page("/exercises?search=trampoline+zebra"))


def test_an_unknown_choice_asks_for_nothing(club: ClubSite) -> None:
    page = club.page("/exercises?for=wings&kind=flying&equipment=rocket")
    assert f"{len(club.app.training.exercises)} exercises" in words_of(page)


@pytest.mark.parametrize("name", ["kneeling-lunge-tucked", "box-pike-push-tall"])
def test_one_exercise_says_everything_about_it(club: ClubSite, name: str) -> None:
    page = club.page(f"/exercises/{name}")
    entry, words = club.app.training.exercises[name], html.unescape(words_of(page))
    for text in (entry.title, entry.position, entry.how, entry.watch, entry.fault, entry.care):
        assert text in words
    for neighbour in (*entry.easier, *entry.harder):
        assert f'href="/exercises/{neighbour}"' in page
    for capacity, feed in entry.feeds.items():
        assert club.app.catalogue.capacities[capacity].label in words
        assert feed.reason in words
    assert f"from {entry.from_age_y} years" in words
    assert "±" in words
    assert page.count('class="cl-exercise"') == 2
    assert level_faults(page) == []


def test_the_caution_stands_before_how_it_is_done(club: ClubSite) -> None:
    page = club.page("/exercises/kneeling-lunge-tucked").partition("</div>")[2]
    entry = club.app.training.exercises["kneeling-lunge-tucked"]
    assert page.index(entry.care) < page.index(entry.how)


def test_every_exercise_has_its_page(club: ClubSite) -> None:
    for name in club.app.training.exercises:
        assert club.page(f"/exercises/{name}").count('class="cl-exercise"') == 2


def test_an_exercise_that_is_not_there_is_not_found(club: ClubSite) -> None:
    club.page("/exercises/flying", status=404)
    assert club.client.get("/api/exercises/flying").status_code == 404


def test_exercises_as_json(club: ClubSite) -> None:
    every = club.client.get("/api/exercises").json()["exercises"]
    assert {one["id"] for one in every} == set(club.app.training.exercises)
    fit = club.client.get("/api/exercises?for=hip_extension_deg&home=true").json()["exercises"]
    assert fit
    assert all("hip_extension_deg" in one["feeds"] and one["home"] for one in fit)
    one = club.client.get("/api/exercises/forearm-plank").json()
    assert one["schema"] == "chordline.exercise/1"
    assert one["dose"]["seconds"] == 20


def test_what_gives_most_for_a_capacity_comes_first_inside_its_kind(club: ClubSite) -> None:
    found = club.client.get("/api/exercises?for=hip_extension_deg&kind=range").json()["exercises"]
    gains = [one["feeds"]["hip_extension_deg"]["gain"] for one in found]
    assert gains == sorted(gains, reverse=True)
    assert len(gains) > 1
