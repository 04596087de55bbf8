"""The ladder's pages and its JSON: words first, by name, and a coach's word by one tap."""

import re
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest
from club_pages import ClubSite, level_faults, open_club, words_of

from chordline.catalogue.loader import load_catalogue
from chordline.catalogue.training import load_training

RUNGS = load_training(load_catalogue()).rungs
WELL = {"prone-sides": {"hip": 0.0}, "prone-overhead": {"hip": 0.0, "shoulder": -28.0}}


@pytest.fixture
def site(tmp_path: Path) -> Iterator[ClubSite]:
    with open_club(tmp_path) as opened_club:
        yield opened_club


def part(page: str, rung: str) -> str:
    """What her page says of a rung."""
    found = re.search(rf'<li id="{rung}".*?</li>\n(?=<li id=|</ol>)', page, flags=re.DOTALL)
    assert found is not None
    return found[0]


def test_an_empty_club_says_how_to_begin(site: ClubSite) -> None:
    page = site.page("/ladder")
    assert "Nobody is here yet" in page
    assert 'href="/roster"' in page


def test_a_group_stands_by_name_beside_every_rung(site: ClubSite) -> None:
    for name in ("Zoe", "Ada", "Mia"):
        site.add(name)
    page = site.page("/ladder")
    assert re.findall(r'/ladder">(\w+)</a></th>', page) == ["Ada", "Mia", "Zoe"]
    said = words_of(page)
    for rung in RUNGS.values():
        assert rung.title in said
    assert "No published cut-off" in said
    assert "nobody is ranked" in said
    assert level_faults(page) == []


def test_every_cell_says_its_word_and_what_is_not_known_has_its_pattern(site: ClubSite) -> None:
    site.screen(site.add("Ada"), WELL)
    cells = re.findall(
        r'<td class="stands (\w+)"><span class="word">([^<]+)</span>', site.page("/ladder")
    )
    assert len(cells) == len(RUNGS)
    words = dict(cells)
    assert words["ready"] == "ready"
    assert words["cannot_tell"] == "cannot tell yet"
    assert words["not_yet"] == "not yet"
    style = site.client.get(re.search(r'href="([^"]+ladder\.css)"', site.page("/ladder"))[1])  # type: ignore[index]
    assert re.search(r"\.cannot_tell[^{]*\{[^}]*repeating-linear-gradient", style.text)


def test_a_group_is_chosen_and_nonsense_shows_everybody(site: ClubSite) -> None:
    ada, _ = site.add("Ada"), site.add("Bea")
    with site.app.records.transaction() as tx:
        group = tx.clubs.add_group(site.app.club().id, "Tuesday")
        tx.clubs.put_in_group(group.id, [ada.id])
    page = site.page(f"/ladder?group={group.id}")
    assert "Ada" in words_of(page)
    assert "Bea" not in words_of(page)
    assert "Bea" in words_of(site.page("/ladder?group=x"))
    assert site.client.get("/ladder?after=nonsense").status_code == 400


def test_many_gymnasts_come_in_pages(site: ClubSite) -> None:
    for i in range(18):
        site.add(f"Ada {i:02}")
    first = site.page("/ladder")
    following = re.search(r'href="(/ladder\?[^"]*after=[^"]+)"', first)
    assert following is not None
    second = site.page(following[1].replace("&amp;", "&"))
    assert "Ada 15" in first
    assert "Ada 16" not in first
    assert "Ada 17" in second


def test_her_page_says_what_is_missing_with_its_error_and_what_would_tell(site: ClubSite) -> None:
    her = site.add("Ada", 7)
    site.screen(her)
    page = site.page(f"/gymnasts/{her.id}/ladder")
    assert level_faults(page) == []
    wall = words_of(part(page, "wall-handstand"))
    assert re.search(
        r"Shoulders, passive: closed by \d+° ± \d+°; asked: closed by at most 10°", wall
    )
    assert "Hold face down: no seconds taken yet" in wall
    assert (
        "Chance that all of it clears together: under 1 %. Least sure: shoulders, passive" in wall
    )
    assert "not yet" in wall
    ids = re.findall(r'<li id="([\w-]+)"', page)
    assert ids == list(RUNGS)


def test_meanwhile_names_exercises_with_their_pages(site: ClubSite) -> None:
    her = site.add("Ada")
    site.screen(her)
    wall = part(site.page(f"/gymnasts/{her.id}/ladder"), "wall-handstand")
    assert re.findall(r'href="/exercises/([\w-]+)"', wall)


def test_a_coach_says_that_she_has_it_and_takes_it_back(site: ClubSite) -> None:
    her = site.add("Ada")
    address = f"/gymnasts/{her.id}/ladder"
    site.client.cookies.set("coach", "Bea")
    answer = site.post(f"{address}/has", rung="tripod", token="one")
    assert answer.status_code == 303
    assert answer.headers["location"].startswith(address)
    assert answer.headers["location"].endswith("#tripod")
    tripod = words_of(part(site.page(address), "tripod"))
    assert "has it" in tripod
    assert "said by Bea" in tripod
    assert "Take back" in tripod
    assert site.post(f"{address}/take-back", rung="tripod").status_code == 303
    assert "said by" not in words_of(part(site.page(address), "tripod"))


def test_what_a_higher_rung_leans_on_is_had_and_says_why(site: ClubSite) -> None:
    her = site.add("Ada")
    address = f"/gymnasts/{her.id}/ladder"
    site.post(f"{address}/has", rung="tripod-line", reached_on="2025-03-01")
    page = site.page(address)
    assert "since 1 Mar 2025" in words_of(part(page, "tripod-line"))
    tripod = part(page, "tripod")
    assert "which leans on it" in words_of(tripod)
    assert "<form" not in tripod


@pytest.mark.parametrize(
    ("action", "fields", "status"),
    [
        ("has", {"rung": "moon"}, 422),
        ("has", {"rung": ""}, 422),
        ("has", {}, 422),
        ("has", {"rung": "tripod", "reached_on": "2999-01-01"}, 422),
        ("has", {"rung": "tripod", "reached_on": "soon"}, 422),
        ("take-back", {"rung": "moon"}, 422),
    ],
)
def test_a_form_that_cannot_be_is_refused(
    site: ClubSite, action: str, fields: dict[str, str], status: int
) -> None:
    her = site.add("Ada")
    assert site.post(f"/gymnasts/{her.id}/ladder/{action}", **fields).status_code == status
    assert "said by" not in site.page(f"/gymnasts/{her.id}/ladder")


def test_an_unknown_gymnast_is_not_there(site: ClubSite) -> None:
    assert site.client.get("/gymnasts/99/ladder").status_code == 404
    assert site.post("/gymnasts/99/ladder/has", rung="tripod").status_code == 404
    assert site.client.get("/api/gymnasts/99/ladder").status_code == 404


def test_wrist_pain_stands_first_and_bars_the_hands(site: ClubSite) -> None:
    her = site.add("Ada")
    site.screen(her, WELL)
    site.post(f"/gymnasts/{her.id}/notes", what="wrist_pain")
    page = site.page(f"/gymnasts/{her.id}/ladder")
    said = words_of(page)
    assert "licensed clinician look at her wrists" in said
    assert said.index("Wrist pain.") < said.index("Pelvis tucked")
    assert "not while: wrist pain" in words_of(part(page, "handstand-free"))
    assert "not while wrist pain" in words_of(site.page("/ladder"))


def test_squad_and_gymnast_lead_to_the_ladder(site: ClubSite) -> None:
    her = site.add("Ada")
    assert 'href="/ladder"' in site.page("/squad")
    assert f'href="/gymnasts/{her.id}/ladder"' in site.page(f"/gymnasts/{her.id}")


def test_a_name_cannot_write_into_the_page(site: ClubSite) -> None:
    her = site.add("<b>Ada</b>")
    assert "<b>Ada</b>" not in site.page("/ladder")
    assert "<b>Ada</b>" not in site.page(f"/gymnasts/{her.id}/ladder")


def test_the_json_has_ladders_and_keeps_skills(site: ClubSite) -> None:
    her = site.add("Ada", birth_date=date(2014, 1, 1))
    site.screen(her)
    client = site.client
    one = client.get(f"/api/gymnasts/{her.id}/ladder").json()
    assert one["schema"] == "chordline.ladder/1"
    assert one["together"] == "correlated"
    listed = client.get("/api/ladder").json()
    assert [row["gymnast"] for row in listed["ladders"]] == ["Ada"]
    assert listed["ladders"][0]["together"] == "independent"
    assert [rung["standing"] for rung in listed["ladders"][0]["rungs"]] == [
        rung["standing"] for rung in one["rungs"]
    ]
    path = f"/api/gymnasts/{her.id}/skills/tripod"
    said = client.put(path, json={"reached_on": "2025-05-01"}).json()
    tripod = next(rung for rung in said["rungs"] if rung["rung"] == "tripod")
    assert tripod["standing"] == "had"
    assert tripod["said"]["reached_on"] == "2025-05-01"
    back = client.delete(path).json()
    assert next(rung for rung in back["rungs"] if rung["rung"] == "tripod")["said"] is None
    assert client.put(f"/api/gymnasts/{her.id}/skills/moon", json={}).status_code == 422
    assert client.put(path, json={"reached_on": "2999-01-01"}).status_code == 422
    assert client.put(path, json={"since": "2025-05-01"}).status_code == 422
