"""Videos come in, are measured, looked at and taken out over the JSON interface."""

import io
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image
from site_client import opened
from starlette.testclient import TestClient

from chordline.application.club.records import GymnastRecord, NewGymnast
from chordline.bootstrap import App
from chordline.bootstrap.measuring import Measuring
from chordline.conventions import LANDMARKS
from chordline.web import video_stream
from gym_site import jpeg
from made_videos import plain_frames, write_sound, write_video
from moving_bodies import even_times, place_joints
from video_doubles import Desk, MadeBody, landmarks_of


@pytest.fixture(scope="module")
def film(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """Two seconds of grey, by which nothing can be measured."""
    path = tmp_path_factory.mktemp("films") / "film.mp4"
    return write_video(path, plain_frames(2.0), metadata={"location": "+48.1+011.5/"}).read_bytes()


@dataclass
class Club:
    app: App
    client: TestClient
    mila: GymnastRecord

    def send(self, name: str, content: Any, **query: Any) -> Any:
        return self.client.post("/api/videos", params={"name": name, **query}, content=content)

    def kept(self) -> int:
        return len(list(self.app.photo_store.keys()))

    def get(self, address: str, **headers: str) -> Any:
        return self.client.get(f"/api/videos/{address}", headers=headers)


@contextmanager
def open_club(folder: Path) -> Iterator[Club]:
    with opened(folder) as (app, client):
        with app.records.transaction() as tx:
            mila = tx.gymnasts.add(app.club().id, NewGymnast("Mila Berg", card=13))
        yield Club(app, client, mila)


@pytest.fixture(scope="module")
def club(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Club]:
    with open_club(tmp_path_factory.mktemp("club")) as club:
        yield club


@pytest.fixture(scope="module")
def measured(
    tmp_path_factory: pytest.TempPathFactory, film: bytes
) -> Iterator[tuple[Club, dict[str, Any]]]:
    """A real file; what is seen in it is a made body on her hands that sways."""
    t = even_times(6.0)
    sway = place_joints(
        t,
        heading_deg=-90.0,
        foot_px=(800.0, 60.0),
        turn=lambda at: 2.0 * np.sin(2.0 * np.pi * 0.5 * at),
    )
    # Smaller, so that the hands are well within the picture.
    desk = Desk(MadeBody(t, landmarks_of(0.85 * sway)))
    with pytest.MonkeyPatch.context() as patch, open_club(tmp_path_factory.mktemp("club")) as club:
        sent = club.send("13_handstand.mp4", film).json()
        patch.setattr(Measuring, "measure_video", lambda _: desk.use_case())
        club.client.post(f"/api/videos/{sent['id']}/measure")
        work = club.app.work_off()
        assert work("test") is not None
        yield club, club.get(str(sent["id"])).json()


# Coming in


def test_a_video_arrives_with_what_its_file_says(club: Club, film: bytes) -> None:
    before = club.kept()
    answer = club.send("13_handstand.mp4", iter([film[:9], film[9:500], film[500:]]), keep_file=0)
    told = answer.json()
    assert answer.status_code == 201
    assert (told["state"], told["test"], told["gymnast"]["name"]) == (
        "arrived",
        "handstand",
        "Mila Berg",
    )
    assert (told["width_px"], told["height_px"]) == (160, 120)
    assert told["duration_s"] == pytest.approx(2.0, abs=0.05)
    assert told["rate_hz"] == pytest.approx(30.0, abs=0.1)
    assert (told["keep_file"], told["file_kept"]) == (False, True)
    again = club.send("other.mp4", film)
    assert (again.status_code, again.json()["id"]) == (200, told["id"])
    assert again.json()["already_there"]
    assert club.kept() == before + 1


def bad_files(folder: Path) -> dict[str, tuple[bytes, str]]:
    whole = write_video(folder / "whole.mp4", plain_frames(1.0)).read_bytes()
    return {
        "a still": (jpeg(), "is a still picture with a video's name"),
        "a list of files": (b"#EXTM3U\nhttp://127.0.0.1/x.ts\n" * 40, "is not a video"),
        "only sound": (write_sound(folder / "s.mp4").read_bytes(), "holds only sound"),
        "no index": (whole[: len(whole) // 3], "index is missing"),
        "nothing": (b"", "is not a video"),
    }


@pytest.mark.parametrize(
    "which", ["a still", "a list of files", "only sound", "no index", "nothing"]
)
def test_what_is_no_video_is_told_why_and_leaves_nothing(
    club: Club, tmp_path: Path, which: str
) -> None:
    content, reason = bad_files(tmp_path)[which]
    before = club.kept()
    answer = club.send("13_handstand.mp4", content)
    assert answer.status_code == 422
    assert reason in answer.json()["detail"]
    assert club.kept() == before


def test_a_video_that_is_cut_off_or_too_large_leaves_nothing(
    club: Club, film: bytes, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = club.kept()
    short = club.client.post(
        "/api/videos?name=x.mp4", content=iter([film[:-9]]), headers={"content-length": "99999999"}
    )
    assert short.status_code == 400
    assert "only in part" in short.json()["detail"]
    monkeypatch.setitem(video_stream.Arriving.__init__.__kwdefaults__, "most_bytes", 1000)
    for content in (film, iter([film])):
        answer = club.send("x.mp4", content)
        assert answer.status_code == 413
    assert club.kept() == before


def test_a_video_is_measured_only_once_all_is_said(club: Club, tmp_path: Path) -> None:
    other = write_video(tmp_path / "o.mp4", plain_frames(1.5)).read_bytes()
    video = club.send("clip.mp4", other).json()
    address = f"/api/videos/{video['id']}/measure"
    assert "Choose the test" in club.client.post(address).json()["detail"]
    said = {"test": "handstand", "gymnast_id": club.mila.id, "from_s": 0.2, "to_s": 1.2}
    assert club.client.post(address, json={**said, "frm_s": 1}).status_code == 422
    assert "ends before" in club.client.post(address, json={**said, "to_s": 0.1}).json()["detail"]
    told = club.client.post(address, json=said).json()
    assert (told["state"], told["from_s"], told["to_s"]) == ("waiting", 0.2, 1.2)
    assert told["progress"]["said"] == "waits for its turn"
    listed = club.client.get("/api/videos", params={"state": "waiting"}).json()["videos"]
    assert [one["id"] for one in listed] == [video["id"]]
    stopped = club.client.post(f"/api/videos/{video['id']}/cancel").json()
    assert (stopped["state"], stopped["progress"]) == ("arrived", None)
    assert club.client.get("/api/videos/99").status_code == 404
    assert club.get(f"{video['id']}/traces").status_code == 422
    assert club.get(f"{video['id']}/track").status_code == 422


# The file


@pytest.mark.parametrize(
    ("asked", "status", "begin", "end"),
    [
        ("", 200, 0, None),
        ("bytes=0-", 206, 0, None),
        ("bytes=100-199", 206, 100, 200),
        ("bytes=-50", 206, -50, None),
        ("bytes=5-1,7-9", 200, 0, None),
        ("bytes=99999999-", 416, 0, 0),
        ("bytes=-0", 416, 0, 0),
    ],
)
def test_a_browser_gets_the_part_that_it_asks_for(
    measured: tuple[Club, dict[str, Any]],
    film: bytes,
    asked: str,
    status: int,
    begin: int,
    end: int | None,
) -> None:
    club, video = measured
    answer = club.get(f"{video['id']}/file", **({"range": asked} if asked else {}))
    assert answer.status_code == status
    assert answer.content == film[begin:end]
    assert answer.headers["accept-ranges"] == "bytes"
    if status == 200:
        assert answer.headers["content-type"] == "video/mp4"
        assert answer.headers["content-disposition"] == "inline"
    if status == 416:
        assert answer.headers["content-range"] == f"bytes */{len(film)}"
    if asked == "bytes=-50":
        size = len(film)
        assert answer.headers["content-range"] == f"bytes {size - 50}-{size - 1}/{size}"


def test_a_frame_is_a_picture_without_metadata(measured: tuple[Club, dict[str, Any]]) -> None:
    club, video = measured
    for t_s in (0.5, 99.0):
        answer = club.get(f"{video['id']}/frame?t_s={t_s}&px=80")
        assert answer.headers["content-type"] == "image/jpeg"
        picture = Image.open(io.BytesIO(answer.content))
        assert picture.size == (80, 60)
        assert not picture.getexif()


# What was measured


def test_a_measured_video_tells_hold_sway_and_best_moment(
    measured: tuple[Club, dict[str, Any]],
) -> None:
    club, video = measured
    assert (video["state"], video["reason"]) == ("measured", None)
    hold = video["hold"]
    assert hold["reached_cap"]
    assert hold["words"].startswith("in shape for at least")
    assert set(hold) >= {"seconds", "sd", "low_s", "high_s", "broke_at_s", "where"}
    assert 0.0 < video["key_s"] < 6.0
    assert "shoulder_opening_deg" in video["measures"]
    sway = video["sway"]
    for name in ("rms_distance", "mean_speed", "range"):
        assert set(sway[name]) >= {"value", "sd", "unit", "words"}
    assert sway["words"].startswith("sways by ")
    shown = club.client.get(f"/api/photos/{video['key_photo_id']}").json()
    assert shown["photo"]["name"].startswith("13_handstand.mp4 at ")
    assert shown["photo"]["test"] == "handstand"


def test_traces_share_their_times(measured: tuple[Club, dict[str, Any]]) -> None:
    club, video = measured
    told = club.get(f"{video['id']}/traces").json()
    hips = told["traces"]["hip_opening_deg"]
    assert len(told["t_s"]) == len(hips["value"]) == len(hips["sd"]) > 50
    assert (hips["unit"], hips["words"]) == ("deg", "Hips")
    ((begin, end),) = told["in_shape"]
    assert end - begin == pytest.approx(video["hold"]["seconds"], abs=0.01)
    assert told["key_s"] == video["key_s"]


def test_her_line_is_in_pixels_of_the_file_also_without_it(
    measured: tuple[Club, dict[str, Any]],
) -> None:
    club, video = measured
    told = club.get(f"{video['id']}/track").json()
    assert set(told["landmarks"]) == set(LANDMARKS)
    hip = told["landmarks"]["hip"]
    assert len(told["t_s"]) == len(hip["x_px"]) == 180
    assert told["near_side"] == "left"
    dropped = club.client.delete(f"/api/videos/{video['id']}/file").json()
    assert (dropped["file_kept"], dropped["state"]) == (False, "measured")
    assert club.get(f"{video['id']}/file").status_code == 404
    assert club.get(f"{video['id']}/frame").status_code == 404
    assert club.get(f"{video['id']}/track").json() == told
    assert club.client.post(f"/api/videos/{video['id']}/measure").status_code == 422
    assert club.client.delete(f"/api/videos/{video['id']}").status_code == 204
    assert club.kept() == 0
