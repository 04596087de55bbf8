"""One screen: photos in battery order, what is still possible, holds; the same as JSON."""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from club_pages import ClubSite, level_faults, open_club, words_of

from chordline.application.club.records import NewPhoto


@pytest.fixture
def site(tmp_path: Path) -> Iterator[ClubSite]:
    with open_club(tmp_path) as opened_club:
        yield opened_club


@pytest.fixture
def screen(site: ClubSite) -> int:
    return site.screen(site.add("Ada", 7))


def test_photos_stand_in_battery_order_and_missing_tests_are_still_possible(
    site: ClubSite, screen: int
) -> None:
    page = site.page(f"/screens/{screen}")
    grid = page.partition('class="grid"')[2]
    titles = ("beside the body", "over the ears on the floor", "lifted for her", "Handstand")
    places = [grid.index(title) for title in titles]
    assert places == sorted(places)
    possible = words_of(page.partition('id="possible"')[2].partition("</section>")[0])
    assert "On the back, arms beside the body" in possible
    assert "Handstand" not in possible
    assert level_faults(page) == []


def test_how_straight_she_can_stand_today_is_told_of_this_screen(
    site: ClubSite, screen: int
) -> None:
    page = site.page(f"/screens/{screen}")
    hands = page.partition('class="hands"')[2].partition("</section>")[0]
    assert "the straightest line she can reach bows" in words_of(hands)
    assert f"/forecast?screen={screen}" in hands


def test_a_photo_that_waits_is_shown_as_such(site: ClubSite, screen: int) -> None:
    with site.app.records.transaction() as tx:
        new = NewPhoto("late.jpg", "a" * 64, 10, None, screen_id=screen, test="supine-sides")
        tx.photos.file(site.app.club().id, new)
    said = words_of(site.page(f"/screens/{screen}"))
    assert "On the back, arms beside the body Being measured" in said


def test_a_test_that_a_sign_forbids_is_not_offered(site: ClubSite, screen: int) -> None:
    with site.app.records.reading() as tx:
        her = tx.screens.get(screen).gymnast_id
    site.post(f"/gymnasts/{her}/notes", what="wrist_pain")
    possible = site.page(f"/screens/{screen}").partition('id="possible"')[2]
    assert "not until this is looked at: Wrist pain" in possible


def test_a_hold_is_kept_judged_and_removed(site: ClubSite, screen: int) -> None:
    short = {"test": "hold-front", "seconds": "4,5"}
    answer = site.post(f"/screens/{screen}/holds", **short, token="h")
    assert answer.status_code == 303
    site.post(f"/screens/{screen}/holds", **short, token="h")
    page = site.page(f"/screens/{screen}")
    assert words_of(page).count("4.5 s until the shape broke") == 1
    assert "front_chain_s" in site.limiters(screen)
    remove = re.search(r'action="(/screens/\d+/holds/\d+/remove)"', page)
    assert remove is not None
    assert site.post(remove[1]).status_code == 303
    assert "front_chain_s" not in site.limiters(screen)
    assert "removed+already" in site.post(remove[1]).headers["location"].replace("%20", "+")


def test_a_hold_that_was_stopped_is_at_least_so_long(site: ClubSite, screen: int) -> None:
    site.post(f"/screens/{screen}/holds", test="hold-back", seconds="60", stopped="yes")
    assert "at least 60 s she was stopped in shape" in words_of(site.page(f"/screens/{screen}"))


@pytest.mark.parametrize(
    ("test", "seconds"), [("handstand", "5"), ("hold-front", "0"), ("hold-front", "soon"), ("", "")]
)
def test_a_hold_that_cannot_be_is_refused_and_stays_in_the_form(
    site: ClubSite, screen: int, test: str, seconds: str
) -> None:
    answer = site.post(f"/screens/{screen}/holds", test=test, seconds=seconds)
    assert answer.status_code == 422
    assert f'name="seconds" value="{seconds}"' in answer.text
    assert 'role="alert"' in answer.text


def test_those_screened_on_the_same_day_follow_each_other_by_card(
    site: ClubSite, screen: int
) -> None:
    bea, cleo = site.add("Bea", 3), site.add("Cleo", 11)
    site.screen(bea, {"prone-sides": {"hip": 0.0}})
    latest = site.screen(cleo, {"prone-sides": {"hip": 0.0}})
    page = site.page(f"/screens/{screen}")
    assert f'rel="prev" href="/gymnasts/{bea.id}/screen"' in page
    assert f'rel="next" href="/gymnasts/{cleo.id}/screen"' in page
    answer = site.client.get(f"/gymnasts/{cleo.id}/screen")
    assert answer.headers["location"] == f"/screens/{latest}"


def test_the_same_as_json(site: ClubSite, screen: int) -> None:
    get, post = site.client.get, site.client.post
    told = get(f"/api/screens/{screen}").json()
    her = told["gymnast_id"]
    assert told["findings"]["schema"] == "chordline.findings/1"
    assert told["photos"][0]["measurement"]["schema"] == "chordline.measurement/1"
    assert get(f"/api/gymnasts/{her}/findings").json() == told["findings"]
    hold = post(f"/api/screens/{screen}/holds", json={"test": "hold-front", "seconds": 4})
    assert hold.status_code == 201
    assert hold.json()["reached_cap"] is False
    listed = get(f"/api/gymnasts/{her}/screens").json()["screens"]
    assert [(one["photos"], one["holds"]) for one in listed] == [(5, 1)]
    assert "front_chain_s" in listed[0]["limiters"]
    assert site.client.delete(f"/api/holds/{hold.json()['id']}").status_code == 204
    assert site.client.delete(f"/api/holds/{hold.json()['id']}").status_code == 404
    note = post(f"/api/gymnasts/{her}/notes", json={"what": "numbness"}).json()
    assert note["flag"] == "numbness"
    stops = get(f"/api/gymnasts/{her}/findings").json()["stops"]
    assert stops[0]["flag"] == "numbness"
    closed = post(f"/api/notes/{note['id']}/close").json()
    assert closed["closed_on"] is not None
    assert post(f"/api/notes/{note['id']}/open").json()["closed_on"] is None
    assert len(get(f"/api/gymnasts/{her}/notes").json()) == 1


def test_json_that_cannot_be_is_refused_with_a_reason(site: ClubSite, screen: int) -> None:
    holds = f"/api/screens/{screen}/holds"
    for body in ({"test": "hold-front", "seconds": -1}, {"test": "x", "seconds": 3}, {}):
        answer = site.client.post(holds, json=body)
        assert answer.status_code == 422
        assert answer.json()["detail"]
    her = site.add("Bea")
    assert site.client.get(f"/api/gymnasts/{her.id}/findings").status_code == 404
    assert site.client.get("/api/gymnasts/99/screens").status_code == 404
    assert site.client.post(f"/api/gymnasts/{her.id}/notes", json={"what": "x"}).status_code == 422


def test_the_interface_describes_what_it_answers(site: ClubSite) -> None:
    api = site.client.get("/api/openapi.json").json()
    answers = api["paths"]["/api/gymnasts/{gymnast_id}/findings"]["get"]["responses"]["200"]
    assert answers["content"]["application/json"]["schema"]["$ref"].endswith("/FindingsJson")
    assert "schema" in api["components"]["schemas"]["FindingsJson"]["properties"]
