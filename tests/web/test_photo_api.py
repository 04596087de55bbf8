"""Photos come in, are marked, moved and taken out over the JSON interface."""

import io
from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path

import pytest
from photo_stories import MARKS, Gym, finder, open_gym

from chordline.web import uploads
from gym_site import jpeg


@pytest.fixture
def gym(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Gym]:
    with open_gym(tmp_path, monkeypatch, finder=finder()) as gym:
        yield gym


def kept(gym: Gym) -> int:
    return len(list(gym.app.photo_store.keys()))


# Coming in


def test_a_photo_is_kept_and_waits(gym: Gym) -> None:
    answer = gym.send("11_prone-overhead.jpg", jpeg())
    told = answer.json()
    assert answer.status_code == 201
    assert (told["state"], told["test"], told["already_there"]) == (
        "waiting",
        "prone-overhead",
        False,
    )
    assert told["day"] == date.today().isoformat()
    assert gym.client.get("/api/progress").json()["waiting"] == 1


def test_the_same_bytes_are_there_already(gym: Gym) -> None:
    first = gym.send("11_prone-overhead.jpg", jpeg()).json()
    again = gym.send("another name.jpg", jpeg())
    assert again.status_code == 200
    assert again.json()["already_there"] is True
    assert again.json()["id"] == first["id"]
    assert kept(gym) == 1


def test_what_was_chosen_for_all_holds_for_this_one(gym: Gym) -> None:
    day = date.today() - timedelta(days=3)
    told = gym.send("image.jpg", jpeg(), day=day, test="prone-out", gymnast_id=gym.ida.id).json()
    assert told["gymnast"] == {"id": gym.ida.id, "name": "Ida Sol", "card": 12}
    assert (told["day"], told["test"]) == (day.isoformat(), "prone-out")


def test_its_name_may_stand_in_a_header(gym: Gym) -> None:
    answer = gym.client.post(
        "/api/photos", content=jpeg(), headers={"X-Photo-Name": "Schr%C3%A4g%20prone-out.jpg"}
    )
    assert answer.json()["name"] == "Schräg prone-out.jpg"


@pytest.mark.parametrize(
    ("content", "reason"),
    [
        (b"", "is empty"),
        (b"%PDF-1.7 no picture", "is not a picture"),
        (jpeg()[:3000], "damaged or incomplete"),
    ],
)
def test_what_is_no_picture_is_refused_with_the_reason(
    gym: Gym, content: bytes, reason: str
) -> None:
    answer = gym.send("list.jpg", content)
    assert answer.status_code == 422
    assert answer.headers["content-type"] == "application/problem+json"
    assert reason in answer.json()["detail"]
    assert kept(gym) == 0


def test_an_unknown_test_is_refused(gym: Gym) -> None:
    answer = gym.send("a.jpg", jpeg(), test="cartwheel")
    assert answer.status_code == 422
    assert "no test is called 'cartwheel'" in answer.json()["detail"].lower()
    assert kept(gym) == 0


def test_a_day_in_the_future_is_refused(gym: Gym) -> None:
    answer = gym.send("a.jpg", jpeg(), day=date.today() + timedelta(days=1))
    assert answer.status_code == 422
    assert "future" in answer.json()["detail"]
    assert kept(gym) == 0


def test_a_gymnast_who_is_not_there_is_refused(gym: Gym) -> None:
    assert gym.send("a.jpg", jpeg(), gymnast_id=99).status_code == 404
    assert kept(gym) == 0


def test_too_large_is_refused_before_it_is_read(gym: Gym, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(uploads.read_body, "__kwdefaults__", {"most_bytes": 1000})
    answer = gym.send("a.jpg", b"x" * 1001)
    assert answer.status_code == 413
    assert "too large" in answer.json()["detail"]


def test_too_large_without_saying_so_is_refused_while_it_is_read(
    gym: Gym, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(uploads.read_body, "__kwdefaults__", {"most_bytes": 1000})
    pieces = (b"x" * 400 for _ in range(4))
    answer = gym.client.post("/api/photos", params={"name": "a.jpg"}, content=pieces)
    assert answer.status_code == 413
    assert kept(gym) == 0


# Marks


def test_a_measured_photo_tells_its_measurement(gym: Gym) -> None:
    told = gym.photo(gym.measured())
    assert told["photo"]["gymnast"]["name"] == "Mila Berg"
    assert told["photo"]["state"] == "measured"
    assert told["marks"] is None
    assert told["measurement"]["landmarks"]["hip"]["origin"] == "auto"


def test_moved_marks_are_kept_measured_and_told(gym: Gym) -> None:
    photo_id = gym.measured()
    answer = gym.save(photo_id, moved_px=30.0, confirmed=True)
    told = answer.json()
    assert answer.status_code == 200
    assert (told["version"], told["state"], told["checked_by"]) == (1, "measured", "A coach")
    assert told["measurement"]["model"] == "hand marks"
    hip = gym.photo(photo_id)["marks"]["landmarks"]["hip"]
    assert hip["y_px"] == MARKS["hip"]["y_px"] + 30.0


def test_what_a_coach_found_right_stays_when_the_worker_comes_late(gym: Gym) -> None:
    photo_id = gym.measured("11_handstand.jpg")
    assert gym.photo(photo_id)["photo"]["state"] == "needs_look"
    gym.save(photo_id, moved_px=30.0, confirmed=True)
    gym.measure()
    photo = gym.photo(photo_id)["photo"]
    assert (photo["state"], photo["checked_by"]) == ("measured", "A coach")


def test_the_second_coach_is_told_and_nothing_is_lost(gym: Gym) -> None:
    photo_id = gym.measured()
    gym.client.cookies.set("coach", "Ana")
    assert gym.save(photo_id, moved_px=30.0).status_code == 200
    gym.client.cookies.set("coach", "Bo")
    answer = gym.save(photo_id, moved_px=-30.0)
    assert answer.status_code == 409
    current = answer.json()["current"]
    assert (current["version"], current["author"]) == (1, "Ana")
    assert current["landmarks"]["hip"]["y_px"] == MARKS["hip"]["y_px"] + 30.0
    history = gym.client.get(f"/api/photos/{photo_id}/marks").json()
    assert [(one["author"], one["set_aside"]) for one in history] == [("Ana", False), ("Bo", True)]
    # Knowing of it, Bo may put hers over them.
    assert gym.save(photo_id, moved_px=-30.0, version=1).json()["version"] == 3


def test_the_same_marks_sent_twice_are_kept_once(gym: Gym) -> None:
    photo_id = gym.measured()
    first = gym.save(photo_id, moved_px=30.0, confirmed=True)
    again = gym.save(photo_id, moved_px=30.0, confirmed=True)
    assert (first.json()["version"], again.json()["version"]) == (1, 1)
    assert len(gym.client.get(f"/api/photos/{photo_id}/marks").json()) == 1


def test_marks_that_are_right_as_they_stand_make_no_version(gym: Gym) -> None:
    photo_id = gym.measured("11_handstand.jpg")
    told = gym.photo(photo_id)["measurement"]
    answer = gym.client.put(
        f"/api/photos/{photo_id}/marks",
        json={
            "near_side": told["near_side"],
            "front": told["front"],
            "landmarks": told["landmarks"],
            "confirmed": True,
            "version": 0,
        },
    ).json()
    assert (answer["version"], answer["state"]) == (0, "measured")
    assert answer["measurement"]["model"] == "fake"


def test_every_fault_of_marks_is_told_and_nothing_is_kept(gym: Gym) -> None:
    photo_id = gym.measured()
    landmarks = {
        "hip": {"x_px": 5000.0, "y_px": 10.0},
        "tail": {"x_px": 10.0, "y_px": 10.0},
        "shoulder": {"x_px": 10.0, "y_px": 10.0},
    }
    answer = gym.client.put(
        f"/api/photos/{photo_id}/marks", json={"landmarks": landmarks, "version": 0}
    )
    assert answer.status_code == 422
    told = " ".join(fault["why"] for fault in answer.json()["faults"])
    for part in ("'tail' is no landmark", "outside the picture", "also needs marks for malleolus"):
        assert part in told
    assert gym.client.get(f"/api/photos/{photo_id}/marks").json() == []
    assert gym.photo(photo_id)["photo"]["state"] == "measured"


@pytest.mark.parametrize(
    "body",
    [
        '{"landmarks": {"hip": {"x_px": NaN, "y_px": 1}}, "version": 0}',
        '{"landmarks": {"hip": {"x_px": 1, "y_px": 1, "sd_px": 0}}, "version": 0}',
        '{"landmarks": {}, "version": 0}',
        '{"landmarks": {"hip": {"x_px": 1, "y_px": 1}}}',
        "no json",
    ],
)
def test_marks_that_are_none_are_refused_with_their_place(gym: Gym, body: str) -> None:
    photo_id = gym.measured()
    answer = gym.client.put(
        f"/api/photos/{photo_id}/marks", content=body, headers={"Content-Type": "application/json"}
    )
    assert answer.status_code == 422
    assert answer.json()["faults"]


def test_a_photo_without_owner_cannot_be_marked_yet(gym: Gym) -> None:
    photo_id = gym.measured("prone-overhead.jpg")
    answer = gym.save(photo_id)
    assert answer.status_code == 422
    assert "whose photo" in answer.json()["detail"]


def test_turning_her_in_the_editor_overrules_what_was_said_before(gym: Gym) -> None:
    photo_id = gym.measured()
    gym.client.patch(f"/api/photos/{photo_id}", json={"near_side": "left"})
    gym.measure()
    answer = gym.save(photo_id, near_side="right", front="up")
    assert answer.json()["state"] in ("measured", "needs_look")
    assert answer.json()["measurement"]["near_side"] == "right"


# Moving and taking out


def test_a_photo_moves_to_another_gymnast_and_day(gym: Gym) -> None:
    photo_id = gym.measured()
    day = (date.today() - timedelta(days=1)).isoformat()
    change = {"gymnast_id": gym.ida.id, "day": day, "test": "prone-out"}
    told = gym.client.patch(f"/api/photos/{photo_id}", json=change).json()
    assert (told["gymnast"]["name"], told["day"], told["test"]) == ("Ida Sol", day, "prone-out")
    assert told["state"] == "waiting"
    gym.measure()
    assert gym.photo(photo_id)["measurement"]["test"] == "prone-out"


def test_what_is_left_out_of_a_change_stays(gym: Gym) -> None:
    photo_id = gym.measured()
    told = gym.client.patch(f"/api/photos/{photo_id}", json={"person": 1}).json()
    assert (told["gymnast"]["name"], told["test"], told["person"]) == (
        "Mila Berg",
        "prone-overhead",
        1,
    )


@pytest.mark.parametrize(
    ("change", "status"),
    [
        ({"test": "cartwheel"}, 422),
        ({"day": (date.today() + timedelta(days=1)).isoformat()}, 422),
        ({"gymnast_id": None, "day": "2020-01-01"}, 422),
        ({"gymnast_id": 99}, 404),
        ({"person": 0}, 422),
        ({"colour": "blue"}, 422),
    ],
)
def test_an_impossible_change_changes_nothing(
    gym: Gym, change: dict[str, object], status: int
) -> None:
    photo_id = gym.measured()
    before = gym.photo(photo_id)
    assert gym.client.patch(f"/api/photos/{photo_id}", json=change).status_code == status
    assert gym.photo(photo_id) == before


def test_a_photo_taken_out_is_gone_with_its_picture(gym: Gym) -> None:
    photo_id = gym.measured()
    assert gym.client.get(f"/photos/{photo_id}/picture?px=480").status_code == 200
    assert gym.client.delete(f"/api/photos/{photo_id}").status_code == 204
    assert gym.client.get(f"/api/photos/{photo_id}").status_code == 404
    assert gym.client.get(f"/photos/{photo_id}/picture?px=480").status_code == 404
    assert gym.client.delete(f"/api/photos/{photo_id}").status_code == 404
    assert kept(gym) == 0


def test_measuring_again_measures_what_is_measured(gym: Gym) -> None:
    photo_id = gym.measured()
    gym.client.post(f"/api/photos/{photo_id}/measure")
    gym.measure()
    with gym.app.records.reading() as tx:
        assert len(tx.photos.measurements(photo_id)) == 2


# The queue and what goes on


def test_the_queue_starts_with_what_could_not_be_measured(gym: Gym) -> None:
    doubtful = gym.measured("11_handstand.jpg", shade=10)
    unowned = gym.measured("prone-overhead.jpg", shade=20)
    gym.measured("12_prone-overhead.jpg", shade=30)
    assert gym.look() == [unowned, doubtful]
    first = gym.client.get("/api/look?limit=1").json()
    assert (first["total"], first["photos"][0]["id"]) == (2, unowned)
    rest = gym.client.get("/api/look", params={"after": first["next"]}).json()
    assert [one["id"] for one in rest["photos"]] == [doubtful]


def test_measuring_can_be_paused_and_goes_on(gym: Gym) -> None:
    assert gym.client.post("/api/progress/pause").json()["paused"] is True
    assert gym.client.post("/api/progress/go-on").json()["paused"] is False


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("12", "Ida Sol"),
        ("card 12", "Ida Sol"),
        ("Ida Sol, card 12", "Ida Sol"),
        ("mila berg", "Mila Berg"),
    ],
)
def test_a_card_number_or_a_name_means_a_gymnast(gym: Gym, text: str, name: str) -> None:
    assert gym.client.get("/api/meant", params={"text": text}).json()["name"] == name


@pytest.mark.parametrize("text", ["99", "Nobody", "card"])
def test_nobody_is_meant_by_other_words(gym: Gym, text: str) -> None:
    assert gym.client.get("/api/meant", params={"text": text}).status_code == 422


def test_pictures_come_without_metadata_and_stay_in_no_browser(gym: Gym) -> None:
    photo_id = gym.measured()
    answer = gym.client.get(f"/photos/{photo_id}/picture?px=480")
    assert answer.headers["content-type"] == "image/jpeg"
    assert answer.headers["cache-control"] == "private, no-store"
    assert "etag" not in answer.headers
    assert b"Exif" not in answer.content
    from PIL import Image  # noqa: PLC0415

    assert max(Image.open(io.BytesIO(answer.content)).size) == 480
    assert gym.client.get(f"/photos/{photo_id}/picture?px=500").status_code == 422


def test_a_picture_that_is_not_kept_is_told_in_a_sentence(gym: Gym) -> None:
    photo_id = gym.measured()
    with gym.app.records.transaction() as tx:
        tx.photos.forget_picture(photo_id)
    answer = gym.client.get(f"/photos/{photo_id}/picture")
    assert answer.status_code == 404
    assert "not kept" in answer.text
    refused = gym.save(photo_id, moved_px=10.0)
    assert refused.status_code == 422
    assert gym.photo(photo_id)["photo"]["state"] == "measured"


def test_the_interface_describes_itself(gym: Gym) -> None:
    paths = gym.client.get("/api/openapi.json").json()["paths"]
    for path, methods in {
        "/api/photos": {"post"},
        "/api/photos/{photo_id}": {"get", "patch", "delete"},
        "/api/photos/{photo_id}/marks": {"get", "put"},
        "/api/photos/{photo_id}/measure": {"post"},
        "/api/look": {"get"},
        "/api/progress": {"get"},
        "/api/progress/pause": {"post"},
        "/api/progress/go-on": {"post"},
    }.items():
        assert methods <= set(paths[path])
        for method in methods:
            assert paths[path][method]["description"]
