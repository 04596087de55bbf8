"""A video's page without scripts: what it says, its form, and where videos are listed."""

import json
import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from club_pages import level_faults, words_of
from site_client import opened
from starlette.testclient import TestClient

from application_doubles import PRONE, FakePoses, body_of
from chordline.application.club.records import NewGymnast
from chordline.bootstrap import App
from chordline.bootstrap.measuring import Measuring
from gym_site import jpeg
from made_videos import plain_frames, write_video
from moving_bodies import even_times, place_joints, ramp
from video_doubles import Desk, MadeBody, landmarks_of


def sagging() -> MadeBody:
    """Face down, in shape from 1.5 s on; from 4 s the hips close."""
    t = even_times(7.0)
    sag = ramp(4.0, -8.0, -40.0)
    joints = place_joints(t, hip=lambda at: np.where(at < 1.5, -70.0, sag(at)))
    return MadeBody(t, landmarks_of(joints))


@dataclass
class Site:
    app: App
    client: TestClient

    def send(self, name: str, content: bytes, **query: Any) -> int:
        answer = self.client.post("/api/videos", params={"name": name, **query}, content=content)
        assert answer.status_code in (200, 201), answer.text
        return int(answer.json()["id"])

    def page(self, address: str, status: int = 200) -> str:
        answer = self.client.get(address)
        assert answer.status_code == status, answer.text
        return answer.text

    def ask(self, video_id: int, **form: str) -> Any:
        return self.client.post(f"/videos/{video_id}/measure", data=form)

    def work(self) -> None:
        work = self.app.work_off()
        while work("test") is not None:
            pass

    def video(self, video_id: int) -> dict[str, Any]:
        told: dict[str, Any] = self.client.get(f"/api/videos/{video_id}").json()
        return told


@pytest.fixture(scope="module")
def film(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_video(tmp_path_factory.mktemp("films") / "film.mp4", plain_frames(7.0))


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Site]:
    """In every video the same made body is seen: she sags in a hold, face down."""
    desk = Desk(sagging())
    folder = tmp_path_factory.mktemp("club")
    with pytest.MonkeyPatch.context() as patch, opened(folder) as (app, client):
        patch.setattr(Measuring, "measure_video", lambda _: desk.use_case())
        app.__dict__["poses"] = FakePoses((body_of(PRONE),), shrink=1.0)
        with app.records.transaction() as tx:
            for card, name in ((13, "Mila Berg"), (14, "Ida Sol")):
                tx.gymnasts.add(app.club().id, NewGymnast(name, card=card))
        yield Site(app, client)


@pytest.fixture(scope="module")
def measured(site: Site, film: Path) -> dict[str, Any]:
    """A hold that was measured through the page's own form."""
    video_id = site.send("hold.mp4", film.read_bytes())
    answer = site.ask(
        video_id, gymnast="Mila Berg, card 13", test="hold-front", from_s="0,5", keep_file="1"
    )
    assert (answer.status_code, answer.headers["location"]) == (303, f"/videos/{video_id}")
    site.work()
    return site.video(video_id)


def another(film: Path, shade: int) -> bytes:
    """The same pictures in another file."""
    return film.read_bytes() + b"\x00\x00\x00\x09free" + bytes([shade])


def data_of(page: str) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(re.findall(r'id="video-data">(.*?)</script>', page)[0])
    return found


def test_a_video_that_arrived_asks_whose_which_test_and_which_part(site: Site, film: Path) -> None:
    video_id = site.send("IMG_1.mp4", another(film, 1))
    page = site.page(f"/videos/{video_id}")
    told = words_of(page)
    assert "It is here, and not measured yet. Say whose it is and which test" in told
    assert "Drop the video. The line, its course, the seconds" in told
    for name in ("gymnast", "test", "day", "near_side", "person", "from_s", "to_s", "keep_file"):
        assert f'name="{name}"' in page
    assert level_faults(page) == []
    assert f'src="/api/videos/{video_id}/file"' in page
    looks = words_of(site.page("/look"))
    assert "Videos to trim and measure Whose video is it?" in looks
    assert "to trim and measure" in words_of(site.page("/"))


def test_the_hold_stands_in_words_before_anything_is_drawn(
    site: Site, measured: dict[str, Any]
) -> None:
    page = site.page(f"/videos/{measured['id']}")
    told = words_of(page)
    assert re.search(r"In shape for \d\.\d s ± \d\.\d s, then the hips closed\.", told)
    assert "Marks of this moment" in told
    assert f'href="/photos/{measured["key_photo_id"]}"' in page
    assert level_faults(page) == []


def test_the_script_is_told_the_break_and_the_order_of_the_traces(
    site: Site, measured: dict[str, Any]
) -> None:
    data = data_of(site.page(f"/videos/{measured['id']}"))
    broke = data["broke"]
    assert broke["measure"] == "hip_opening_deg"
    assert broke["low_s"] < broke["at_s"] == measured["hold"]["broke_at_s"] < broke["high_s"]
    assert broke["words"].startswith("The hips close at ")
    traces = site.client.get(f"/api/videos/{measured['id']}/traces").json()["traces"]
    assert set(traces) <= set(data["order"])
    assert data["order"][:3] == ["shoulder_opening_deg", "hip_opening_deg", "knee_opening_deg"]
    assert data["path"] == list(site.app.catalogue.tests["hold-front"].chord)


def test_the_form_remembers_what_was_said(site: Site, measured: dict[str, Any]) -> None:
    page = site.page(f"/videos/{measured['id']}")
    assert 'value="Mila Berg, card 13"' in page
    assert '<option value="hold-front" selected>' in page
    assert 'name="from_s" inputmode="decimal" value="0.5"' in page


@pytest.mark.parametrize(
    ("said", "why"),
    [
        ({"gymnast": ""}, "Say whose video it is"),
        ({"gymnast": "Nobody"}, "Nobody is called"),
        ({"test": ""}, "Choose the test"),
        ({"from_s": "5", "to_s": "2"}, "ends before it begins"),
        ({"from_s": "soon"}, "is no number"),
        ({"person": "0"}, "counted from the left"),
        ({"day": "2999-01-01"}, "lies in the future"),
    ],
)
def test_what_cannot_be_measured_is_told_and_nothing_typed_is_lost(
    site: Site, film: Path, said: dict[str, str], why: str
) -> None:
    video_id = site.send("IMG_2.mp4", another(film, 2))
    form = {"gymnast": "13", "test": "hold-front", "to_s": "6.25", "keep_file": "1", **said}
    answer = site.ask(video_id, **form)
    assert answer.status_code == 422
    assert why in words_of(answer.text)
    assert f'value="{form["to_s"]}"' in answer.text
    assert site.video(video_id)["state"] == "arrived"


def test_measuring_is_stopped_and_goes_on(site: Site, film: Path) -> None:
    video_id = site.send("IMG_3.mp4", another(film, 3))
    site.ask(video_id, gymnast="14", test="hold-front", keep_file="1")
    page = site.page(f"/videos/{video_id}")
    assert "It waits its turn" in words_of(page)
    assert 'name="test"' not in page
    assert "1 video being measured" in words_of(site.page("/"))
    assert site.client.post(f"/videos/{video_id}/cancel").status_code == 303
    assert site.video(video_id)["state"] == "arrived"
    assert 'name="test"' in site.page(f"/videos/{video_id}")


def test_the_screen_lists_the_video_and_its_hold_with_the_same_seconds(
    site: Site, measured: dict[str, Any]
) -> None:
    link = f'href="/videos/{measured["id"]}"'
    page = site.page(f"/screens/{measured['screen_id']}")
    assert page.count(link) == 2
    seconds = re.findall(r"\d\.\d s ± \d\.\d s", words_of(page))
    assert len(seconds) == 2
    assert len(set(seconds)) == 1
    assert link in site.page(f"/gymnasts/{measured['gymnast']['id']}")
    # A hold counts once the picture of its best moment is trusted; here a coach says so.
    marks = {name: {"x_px": 0.2 * x, "y_px": 0.2 * y} for name, (x, y) in PRONE.items()}
    said = {"near_side": "left", "landmarks": marks, "version": 0, "confirmed": True}
    saved = site.client.put(f"/api/photos/{measured['key_photo_id']}/marks", json=said)
    assert saved.json()["state"] == "measured", saved.text
    sheet = words_of(site.page(f"/screens/{measured['screen_id']}/sheet.html"))
    assert f"{seconds[0]}, then the hips closed." in sheet


def test_a_dropped_file_leaves_the_line_and_can_only_be_moved(site: Site, film: Path) -> None:
    video_id = site.send("IMG_4.mp4", another(film, 4))
    site.ask(video_id, gymnast="13", test="hold-front", keep_file="1")
    site.work()
    assert site.client.post(f"/videos/{video_id}/drop-file").status_code == 303
    page = site.page(f"/videos/{video_id}")
    assert "The video is not kept; its landmarks are." in words_of(page)
    assert "<video" not in page
    assert 'name="from_s"' not in page
    assert site.ask(video_id, gymnast="14", day=date.today().isoformat()).status_code == 303
    assert site.video(video_id)["gymnast"]["name"] == "Ida Sol"
    assert site.client.get(f"/api/videos/{video_id}/track").status_code == 200


def test_a_video_is_taken_out_for_good_and_only_once(site: Site, film: Path) -> None:
    video_id = site.send("IMG_5.mp4", another(film, 5))
    assert site.client.post(f"/videos/{video_id}/out").headers["location"].startswith("/look?said=")
    assert site.page(f"/videos/{video_id}", 404)
    again = site.client.post(f"/videos/{video_id}/out")
    assert "out%20already" in again.headers["location"]


def test_a_plain_form_brings_photos_and_videos_together(site: Site, film: Path) -> None:
    files = [
        ("photos", ("13_prone-out.jpg", jpeg(3), "image/jpeg")),
        ("photos", ("13_hold-front.mp4", another(film, 6), "application/octet-stream")),
    ]
    page = site.client.post("/screening", data={"day": ""}, files=files).text
    assert re.search(r'href="/photos/\d+"><b>13_prone-out.jpg', page)
    assert re.search(r'href="/videos/\d+"><b>13_hold-front.mp4', page)
    assert "here; trim and measure it" in page


def test_the_browser_may_play_from_this_machine_only(site: Site) -> None:
    policy = site.client.get("/help").headers["content-security-policy"]
    assert "media-src 'self';" in policy
