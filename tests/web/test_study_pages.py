"""The pages of studies: begun, marked blind, told, used; another coach's photo is not hers."""

import json
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from photo_stories import MARKS, Gym, finder, open_gym

TESTS = ("prone-overhead", "prone-sides", "prone-out", "prone-raised", "prone-active")
JOINTS = ("malleolus", "knee", "hip", "shoulder", "hand")


@pytest.fixture
def empty(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Gym]:
    with open_gym(tmp_path, monkeypatch, finder=finder()) as gym:
        gym.app.__dict__["forecast_line"] = None
        yield gym


@pytest.fixture(scope="module")
def filled(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of a gym with ten measured photos."""
    place = tmp_path_factory.mktemp("filled")
    with pytest.MonkeyPatch.context() as patch, open_gym(place, patch, finder=finder()) as gym:
        gym.app.__dict__["forecast_line"] = None
        fill(gym, 10)
    return place


@pytest.fixture
def gym(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, filled: Path) -> Iterator[Gym]:
    with open_gym(tmp_path, monkeypatch, finder=finder(), begun=filled) as gym:
        gym.app.__dict__["forecast_line"] = None
        yield gym


def fill(gym: Gym, photos: int) -> None:
    for i in range(photos):
        gym.take_in(f"{11 + i % 2}_{TESTS[i // 2 % 5]}.jpg", 20 + i)
    gym.measure()


def begin(gym: Gym, **said: object) -> int:
    answer = gym.client.post("/studies", data={"photos": 10, **said})
    assert answer.status_code == 303, answer.text
    return int(re.match(r"/studies/(\d+)", answer.headers["location"])[1])  # type: ignore[index]


def join(gym: Gym, study: int, name: str = "Kim") -> None:
    answer = gym.client.post(f"/studies/{study}/join", data={"name": name})
    assert answer.headers["location"] == f"/studies/{study}/mark"


def handed(gym: Gym, study: int) -> dict:
    page = gym.client.get(f"/studies/{study}/mark")
    assert page.status_code == 200
    return json.loads(re.search(r'id="study-data">(.*?)</script>', page.text, re.S)[1])  # type: ignore[index]


def keep(gym: Gym, study: int, task: int, moved_px: float = 0.0, *, marks: tuple = JOINTS):
    places = {n: {"x_px": MARKS[n]["x_px"], "y_px": MARKS[n]["y_px"]} for n in marks}
    if "hip" in places:
        places["hip"]["y_px"] += moved_px
    return gym.client.put(f"/api/studies/{study}/tasks/{task}", json={"landmarks": places})


def mark_everything(gym: Gym, study: int, name: str, moved_px: list[float]) -> None:
    join(gym, study, name)
    for moved in moved_px:
        assert keep(gym, study, handed(gym, study)["task"], moved).status_code == 200


def test_too_few_photos_are_told_instead_of_a_form(empty: Gym) -> None:
    fill(empty, 4)
    page = empty.client.get("/studies").text
    assert "Too few photos yet" in page
    assert "here are 4" in page
    refused = empty.client.post("/studies", data={"photos": 10})
    assert refused.status_code == 422
    assert "here are 4" in refused.text


def test_the_settings_lead_to_the_studies(gym: Gym) -> None:
    assert 'href="/studies"' in gym.client.get("/settings").text
    page = gym.client.get("/studies").text
    assert "Photograph ten gymnasts twice in" in page
    assert "4 minutes" in page
    assert "<b>Our defaults</b> are in use" in page


def test_a_form_sent_twice_begins_one_study(gym: Gym) -> None:
    begin(gym, token="abc")
    assert gym.client.post("/studies", data={"photos": 10, "token": "abc"}).status_code == 303
    with gym.app.records.reading() as tx:
        assert len(tx.studies.all(gym.app.club().id)) == 1


def test_what_the_editor_is_handed_knows_no_mark_no_angle_and_nobody(gym: Gym) -> None:
    study = begin(gym)
    join(gym, study)
    page = gym.client.get(f"/studies/{study}/mark").text
    editor = handed(gym, study)["editor"]
    assert editor["landmarks"] == {}
    assert editor["test"]["measures"] == []
    assert "view" not in editor
    assert "Mila" not in page
    assert "Ida" not in page
    assert not re.search(r"-?\d+(\.\d+)?°", page)
    with gym.app.records.reading() as tx:
        (photo_id,) = {
            one.photo_id for one in tx.studies.tasks(study) if one.id == handed(gym, study)["task"]
        }
        landmarks = tx.photos.view(photo_id).measurement.record["landmarks"]
    assert all(str(mark["x_px"]) not in page for mark in landmarks.values())


def test_who_gave_no_name_is_asked_first(gym: Gym) -> None:
    study = begin(gym)
    answer = gym.client.get(f"/studies/{study}/mark")
    assert answer.status_code == 303
    assert answer.headers["location"].startswith(f"/studies/{study}?said=Say")
    refused = gym.client.post(f"/studies/{study}/join", data={"name": "  "})
    assert refused.status_code == 422
    assert "ay who marks" in refused.text


def test_a_photo_is_kept_once_and_the_next_one_comes(gym: Gym) -> None:
    study = begin(gym)
    join(gym, study)
    first = handed(gym, study)["task"]
    assert keep(gym, study, first).json() == {"kept": True}
    assert keep(gym, study, first, moved_px=50.0).json() == {"kept": True}
    assert handed(gym, study)["task"] != first
    with gym.app.records.reading() as tx:
        task = tx.studies.task(first)
        assert task.marks["landmarks"]["hip"]["y_px"] == MARKS["hip"]["y_px"]
        assert task.readings["hip_opening_deg"].sd > 0.0
        assert tx.photos.marks_history(task.photo_id) == ()
        assert tx.photos.view(task.photo_id).photo.state == "measured"


def test_marks_that_miss_a_joint_or_the_picture_are_refused_with_the_reason(gym: Gym) -> None:
    study = begin(gym)
    join(gym, study)
    task = handed(gym, study)["task"]
    missing = keep(gym, study, task, marks=("malleolus", "hip"))
    assert missing.status_code == 422
    assert "also needs marks for knee" in missing.json()["detail"]
    outside = keep(gym, study, task, moved_px=9000.0)
    assert outside.status_code == 422
    assert "outside the picture" in outside.json()["detail"]
    with gym.app.records.reading() as tx:
        assert tx.studies.task(task).done_at is None


def test_a_coach_cannot_mark_for_another(gym: Gym) -> None:
    study = begin(gym)
    join(gym, study, "Kim")
    hers = handed(gym, study)["task"]
    join(gym, study, "Lea")
    refused = keep(gym, study, hers)
    assert refused.status_code == 409
    assert "Kim" in refused.json()["detail"]


def test_a_name_written_otherwise_is_the_same_coach(gym: Gym) -> None:
    study = begin(gym)
    join(gym, study, "Kim")
    keep(gym, study, handed(gym, study)["task"])
    join(gym, study, " kim ")
    page = gym.client.get(f"/studies/{study}").text
    assert page.count("1 of 10 marked") == 1
    assert "Photo 2 of 10" in gym.client.get(f"/studies/{study}/mark").text


def test_two_coaches_are_compared_used_and_left_out(gym: Gym) -> None:
    study = begin(gym)
    mark_everything(gym, study, "Kim", [0.0, 3.0, -3.0, 1.0, 4.0, -4.0, 2.0, -2.0, 5.0, -5.0])
    early = gym.client.get(f"/studies/{study}").text
    assert "Cannot tell yet" in early
    assert "Use these for our club" not in early
    mark_everything(gym, study, "Lea", [14.0, 18.0, 12.0, 16.0, 11.0, 17.0, 13.0, 15.0, 19.0, 10.0])
    done = gym.client.get(f"/studies/{study}/mark")
    assert "every%20photo%20is%20marked" in done.headers["location"]
    page = gym.client.get(f"/studies/{study}").text
    assert re.search(r"Kim reads \d+\.\d° (more|less) than Lea", page)
    assert "Whoever of you marks: ±" in page
    assert 'class="cl-agreement"' in page
    assert "<desc>Differences between two markings over their mean" in page
    for form in ("ICC(1,1)", "ICC(2,1)", "ICC(3,1)", "ICC(1,k)", "ICC(2,k)", "ICC(3,k)"):
        assert form in page
    without = gym.client.get(f"/studies/{study}", params={"without": "Lea"}).text
    assert "Lea reads" not in without
    assert "than Lea" not in without
    version = gym.app.catalogue.version
    assert gym.client.post("/studies/errors", data={"study": study}).status_code == 303
    assert gym.app.catalogue.version != version
    told = gym.client.get("/studies").text
    assert "<b>Your own</b> are in use" in told
    assert "These are in use." in told
    assert "own study" in gym.client.get("/settings/numbers").text
    with gym.app.records.reading() as tx:
        screens = tx.gymnasts.view(gym.mila.id).screens
        # Judged anew at once, not only when somebody opens her page.
        assert screens[0].findings.catalogue == gym.app.catalogue.version
    assert gym.client.post("/studies/defaults").status_code == 303
    assert gym.app.catalogue.version == version
    assert "<b>Our defaults</b> are in use" in gym.client.get("/studies").text


def test_who_was_left_out_stays_left_out_of_what_is_in_use(gym: Gym) -> None:
    study = begin(gym, twice=True)
    mark_everything(gym, study, "Kim", [float(i % 7) for i in range(20)])
    mark_everything(gym, study, "Lea", [30.0 + i % 5 for i in range(20)])
    form = {"study": study, "without": "Lea"}
    page = gym.client.get(f"/studies/{study}", params={"without": "Lea"}).text
    assert '<input type="hidden" name="without" value="Lea">' in page
    assert gym.client.post("/studies/errors", data=form).status_code == 303
    told = gym.client.get("/studies").text
    assert "Left out: Lea" in told
    assert "These are in use." in told
    assert "Left out: Lea" not in gym.client.get(f"/studies/{study}").text


def test_nothing_can_be_used_before_a_study_says_something(empty: Gym) -> None:
    answer = empty.client.post("/studies/errors", data={})
    assert answer.status_code == 422
    assert "o study says anything yet" in answer.text


def test_a_study_that_is_not_there_is_told(gym: Gym) -> None:
    for path in ("/studies/7", "/studies/7/mark"):
        assert gym.client.get(path).status_code == 404
    study = begin(gym)
    assert gym.client.post(f"/studies/{study}/out").status_code == 303
    assert gym.client.get(f"/studies/{study}").status_code == 404
