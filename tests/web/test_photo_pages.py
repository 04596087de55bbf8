"""The page of one photo: marks, whose it is, which test, history, taking it out."""

import json
import re
from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
from photo_stories import Gym, finder, open_gym

from application_doubles import PRONE, FakePoses, body_of


@pytest.fixture
def gym(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Gym]:
    with open_gym(tmp_path, monkeypatch, finder=finder()) as gym:
        yield gym


def data_of(page: str) -> dict[str, Any]:
    found = re.search(r'<script type="application/json" id="photo-data">(.*?)</script>', page)
    assert found
    data = json.loads(found[1])
    assert isinstance(data, dict)
    return data


def file_it(gym: Gym, photo_id: int, **fields: str) -> Any:
    form = {"gymnast": "", "test": "", "day": "", "person": "", "near_side": "", **fields}
    return gym.client.post(f"/photos/{photo_id}", data=form)


def test_the_editor_gets_what_was_measured(gym: Gym) -> None:
    photo_id = gym.measured()
    page = gym.client.get(f"/photos/{photo_id}")
    assert page.status_code == 200
    editor = data_of(page.text)["editor"]
    assert editor["landmarks"] == gym.photo(photo_id)["measurement"]["landmarks"]
    assert editor["photo"] == {"width_px": 1600, "height_px": 1200}
    assert editor["version"] == 0
    assert editor["test"]["id"] == "prone-overhead"
    assert set(editor["words"]["measures"]) == set(editor["test"]["measures"])
    assert editor["view"]["distance_m"] > 0
    assert editor["frame"]["up"] == [0.0, -1.0]


def test_saved_marks_are_there_after_a_reload(gym: Gym) -> None:
    photo_id = gym.measured()
    gym.save(photo_id, moved_px=30.0)
    editor = data_of(gym.client.get(f"/photos/{photo_id}").text)["editor"]
    assert editor["version"] == 1
    assert editor["landmarks"]["hip"]["y_px"] == PRONE["hip"][1] + 30.0


def test_where_nobody_was_found_the_editor_lets_marks_be_set(gym: Gym) -> None:
    gym.app.__dict__["poses"] = FakePoses((), shrink=1.0)
    photo_id = gym.measured()
    page = gym.client.get(f"/photos/{photo_id}").text
    editor = data_of(page)["editor"]
    assert editor["landmarks"] == {}
    assert (editor["nearSide"], editor["front"]) == ("left", "down")
    assert "Not measured" in page
    assert gym.save(photo_id, confirmed=True).json()["state"] == "measured"


def test_marks_of_before_can_be_seen_again(gym: Gym) -> None:
    photo_id = gym.measured()
    gym.save(photo_id, moved_px=30.0)
    gym.save(photo_id, moved_px=60.0, version=1)
    page = gym.client.get(f"/photos/{photo_id}?marks=1").text
    editor = data_of(page)["editor"]
    assert editor["landmarks"]["hip"]["y_px"] == PRONE["hip"][1] + 30.0
    assert editor["version"] == 2
    assert "marks of version 1" in page
    assert gym.client.get(f"/photos/{photo_id}?marks=9").status_code == 404


def test_a_waiting_photo_says_so(gym: Gym) -> None:
    page = gym.client.get(f"/photos/{gym.take_in()}").text
    assert "still to be measured" in page
    assert data_of(page)["waiting"] is True
    assert data_of(page)["editor"] is None


def test_a_photo_that_nobody_owns_is_filed_by_card_or_name(gym: Gym) -> None:
    photo_id = gym.measured("image.jpg")
    page = gym.client.get(f"/photos/{photo_id}").text
    assert "Whose photo is it?" in page
    assert data_of(page)["editor"] is None
    answer = file_it(gym, photo_id, gymnast="12", test="prone-out")
    assert answer.status_code == 303
    photo = gym.photo(photo_id)["photo"]
    assert (photo["gymnast"]["name"], photo["test"]) == ("Ida Sol", "prone-out")
    assert photo["state"] == "measured"


def test_several_people_are_told_apart_by_number(gym: Gym) -> None:
    two = (body_of(PRONE, scale=0.5), body_of(PRONE, scale=0.5, shift_px=800.0))
    gym.app.__dict__["poses"] = FakePoses(two, shrink=1.0)
    photo_id = gym.measured()
    assert "people were found" in gym.photo(photo_id)["photo"]["reason"]
    answer = file_it(gym, photo_id, gymnast="11", test="prone-overhead", person="2")
    assert answer.status_code == 303
    hip = gym.photo(photo_id)["measurement"]["landmarks"]["hip"]
    assert hip["x_px"] == pytest.approx(PRONE["hip"][0] * 0.5 + 800.0, abs=1.0)


def test_a_form_sent_twice_files_once(gym: Gym) -> None:
    photo_id = gym.measured("image.jpg")
    for _ in range(2):
        assert file_it(gym, photo_id, gymnast="12", test="prone-out").status_code == 303
    with gym.app.records.reading() as tx:
        assert len(tx.photos.measurements(photo_id)) <= 2
        assert len(tx.gymnasts.view(gym.ida.id).screens) == 1


@pytest.mark.parametrize(
    ("fields", "reason"),
    [
        ({"gymnast": "Nobody"}, "nobody is called"),
        ({"gymnast": "77"}, "card 77 is nobody"),
        ({"gymnast": "12", "test": "cartwheel"}, "no test is called"),
        ({"gymnast": "12", "day": "soon"}, "is no day"),
        ({"gymnast": "12", "day": (date.today() + timedelta(days=2)).isoformat()}, "future"),
        ({"gymnast": "12", "person": "first"}, "no number of a person"),
    ],
)
def test_a_form_that_cannot_be_is_shown_again_with_the_reason(
    gym: Gym, fields: dict[str, str], reason: str
) -> None:
    photo_id = gym.measured()
    answer = file_it(gym, photo_id, **fields)
    assert answer.status_code == 422
    assert reason in answer.text.lower()
    assert f'value="{fields["gymnast"]}"' in answer.text
    assert gym.photo(photo_id)["photo"]["gymnast"]["name"] == "Mila Berg"


def test_one_of_two_with_one_name_stays_the_owner_of_her_photo(gym: Gym) -> None:
    from chordline.application.club.records import NewGymnast  # noqa: PLC0415

    with gym.app.records.transaction() as tx:
        tx.gymnasts.add(gym.app.club().id, NewGymnast("Ida Sol"))
    photo_id = gym.measured("12_prone-out.jpg")
    file_it(gym, photo_id, gymnast="Ida Sol, card 12", test="prone-overhead")
    assert gym.photo(photo_id)["photo"]["gymnast"]["id"] == gym.ida.id
    answer = file_it(gym, gym.measured(shade=9), gymnast="Ida Sol")
    assert "2 gymnasts are called Ida Sol" in answer.text


def test_taken_out_twice_is_out(gym: Gym) -> None:
    photo_id = gym.measured()
    for _ in range(2):
        answer = gym.client.post(f"/photos/{photo_id}/out")
        assert answer.status_code == 303
        assert answer.headers["location"].startswith("/look")
    assert gym.client.get(f"/photos/{photo_id}").status_code == 404


def test_measured_again_from_the_page(gym: Gym) -> None:
    photo_id = gym.measured()
    answer = gym.client.post(f"/photos/{photo_id}/measure", data={"queue": "1"})
    assert answer.headers["location"].startswith(f"/photos/{photo_id}?queue=1")
    with gym.app.records.reading() as tx:
        assert len(tx.photos.measurements(photo_id)) == 2


def test_the_history_says_who_and_what_was_set_aside(gym: Gym) -> None:
    photo_id = gym.measured()
    gym.client.cookies.set("coach", "Ana")
    gym.save(photo_id, moved_px=30.0)
    gym.client.cookies.set("coach", "Bo")
    gym.save(photo_id, moved_px=60.0)
    page = gym.client.get(f"/photos/{photo_id}").text
    assert "<b>Ana</b>" in page
    assert "set aside: somebody had been quicker" in page


def test_words_of_a_file_name_are_no_markup(gym: Gym) -> None:
    photo_id = gym.measured("</script><script>alert(1)</script>.jpg")
    assert "<script>alert" not in gym.client.get(f"/photos/{photo_id}").text


# Walking through the queue


def test_the_next_is_the_next_of_the_queue(gym: Gym) -> None:
    first, second, third = (gym.measured("11_handstand.jpg", shade=shade) for shade in (10, 20, 30))
    places = [data_of(gym.client.get(f"/photos/{one}?queue=1").text) for one in gym.look()]
    assert [(one["previous"], one["next"]) for one in places] == [
        (None, second),
        (first, third),
        (second, None),
    ]
    assert places[0]["nextPicture"] == f"/photos/{second}/picture?px=1600"


def test_what_has_left_the_queue_goes_on_with_its_first(gym: Gym) -> None:
    first, second = (gym.measured("11_handstand.jpg", shade=shade) for shade in (10, 20))
    told = gym.photo(first)["measurement"]
    body = {**{key: told[key] for key in ("near_side", "front", "landmarks")}, "version": 0}
    gym.client.put(f"/api/photos/{first}/marks", json={**body, "confirmed": True})
    data = data_of(gym.client.get(f"/photos/{first}?queue=1").text)
    assert (data["inQueue"], data["next"]) == (False, second)


def test_a_trusted_photo_leads_back_to_her(gym: Gym) -> None:
    data = data_of(gym.client.get(f"/photos/{gym.measured()}").text)
    assert (data["walks"], data["home"]) == (False, f"/gymnasts/{gym.mila.id}")
