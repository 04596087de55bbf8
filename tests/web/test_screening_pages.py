"""The page in the gym, without scripts; and photos over a real connection that breaks."""

import json
import os
import re
import signal
import socket
import subprocess
import sys
import threading
import time
import urllib.error
import urllib.parse
import urllib.request
from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
from photo_stories import Gym, finder, open_gym

from chordline.adapters.pose.weights import FOLDER_VARIABLE
from chordline.bootstrap import App
from gym_site import jpeg, listening


@pytest.fixture
def gym(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Gym]:
    with open_gym(tmp_path, monkeypatch, finder=finder()) as gym:
        yield gym


def send_form(gym: Gym, *files: tuple[str, bytes], **fields: str) -> Any:
    photos = [("photos", (name, content, "image/jpeg")) for name, content in files]
    return gym.client.post("/screening", data=fields, files=photos)


def test_the_page_offers_every_test_and_today(gym: Gym) -> None:
    page = gym.client.get("/screening").text
    assert f'value="{date.today().isoformat()}"' in page
    for test_id, test in gym.app.catalogue.tests.items():
        assert f'<option value="{test_id}">{test.title}' in page


def test_every_position_is_told_with_its_care(gym: Gym) -> None:
    page = gym.client.get("/screening").text
    data = json.loads(re.findall(r'id="screening-data">(.*?)</script>', page)[0])
    assert {one["id"] for one in data["tests"]} == set(gym.app.catalogue.tests)
    assert all(one["how"] and one["care"] for one in data["tests"])


def test_a_screen_can_be_begun_for_one_test_and_gymnast(gym: Gym) -> None:
    page = gym.client.get(f"/screening?test=prone-out&gymnast={gym.ida.id}").text
    assert '<option value="prone-out" selected>' in page
    assert 'value="Ida Sol, card 12"' in page
    assert gym.client.get("/screening?test=cartwheel").status_code == 422


def test_a_plain_form_brings_several_and_tells_of_each(gym: Gym) -> None:
    answer = send_form(
        gym,
        ("11_prone-out.jpg", jpeg(1)),
        ("list.txt", b"no picture"),
        ("12_prone-out.jpg", jpeg(2)),
    )
    assert answer.status_code == 200
    assert answer.text.count('<span class="soft">filed</span>') == 2
    assert "Refused: is not a picture" in answer.text
    assert len(list(gym.app.photo_store.keys())) == 2


def test_a_plain_form_sent_twice_files_once(gym: Gym) -> None:
    send_form(gym, ("11_prone-out.jpg", jpeg(1)))
    assert "it was there already" in send_form(gym, ("11_prone-out.jpg", jpeg(1))).text
    gym.measure()
    with gym.app.records.reading() as tx:
        screens = tx.gymnasts.view(gym.mila.id).screens
    assert [len(one.photos) for one in screens] == [1]


def test_what_was_chosen_holds_for_the_whole_form(gym: Gym) -> None:
    day = date.today() - timedelta(days=2)
    send_form(
        gym,
        ("image.jpg", jpeg(1)),
        day=day.isoformat(),
        test="prone-out",
        gymnast="Ida Sol, card 12",
    )
    gym.measure()
    with gym.app.records.reading() as tx:
        (screen,) = tx.gymnasts.view(gym.ida.id).screens
    assert screen.screen.screened_on == day
    assert screen.photos[0].photo.test == "prone-out"


@pytest.mark.parametrize(
    ("fields", "reason"),
    [
        ({"gymnast": "Nobody"}, "Nobody is called"),
        ({"day": "soon"}, "is no day"),
    ],
)
def test_a_plain_form_that_cannot_be_says_why(
    gym: Gym, fields: dict[str, str], reason: str
) -> None:
    answer = send_form(gym, ("a.jpg", jpeg()), **fields)
    assert answer.status_code == 422
    assert reason in answer.text
    assert list(gym.app.photo_store.keys()) == []


def test_a_plain_form_without_a_photo_says_so(gym: Gym) -> None:
    answer = send_form(gym, ("", b""))
    assert answer.status_code == 422
    assert "No file was chosen" in answer.text


def test_a_day_in_the_future_is_told_for_the_photo(gym: Gym) -> None:
    day = (date.today() + timedelta(days=2)).isoformat()
    assert "lies in the future" in send_form(gym, ("a.jpg", jpeg()), day=day).text


def test_measuring_is_paused_without_scripts(gym: Gym) -> None:
    gym.take_in()
    answer = gym.client.post("/screening/measuring", data={"do": "pause"})
    assert answer.status_code == 303
    page = gym.client.get("/screening").text
    assert "1 photo waits; measuring is paused" in page
    assert "Go on" in page


def test_another_site_cannot_send_photos_here(gym: Gym) -> None:
    answer = gym.client.post(
        "/api/photos", content=jpeg(), headers={"Origin": "http://elsewhere.example"}
    )
    assert answer.status_code == 403


# Over a real connection


def begin_upload(port: int, content: bytes, *, announced: int) -> socket.socket:
    connection = socket.create_connection(("127.0.0.1", port), timeout=10)
    head = (
        f"POST /api/photos?name=11_prone-out.jpg HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\n"
        f"Content-Length: {announced}\r\n\r\n"
    )
    connection.sendall(head.encode() + content)
    return connection


def test_an_upload_that_is_cut_off_leaves_nothing_behind(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(FOLDER_VARIABLE, str(tmp_path))
    whole = jpeg()
    app = App(data=tmp_path / "club")
    with listening(app, measure=False) as port:
        begin_upload(port, whole[: len(whole) // 2], announced=len(whole)).close()
        # The server is free for the next: the same photo, whole.
        with begin_upload(port, whole, announced=len(whole)) as connection:
            assert connection.recv(4096).startswith(b"HTTP/1.1 201")
        keys = list(app.photo_store.keys())
        with app.records.reading() as tx:
            counts = tx.photos.counts(app.club().id)
    assert len(keys) == 1
    assert counts.waiting == 1


def test_a_huge_upload_is_refused_by_its_length_alone(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(FOLDER_VARIABLE, str(tmp_path))
    app = App(data=tmp_path / "club")
    with (
        listening(app, measure=False) as port,
        begin_upload(port, b"", announced=10**10) as connection,
    ):
        assert connection.recv(4096).startswith(b"HTTP/1.1 413")
        assert list(app.photo_store.keys()) == []


# A server that is killed


class Served:
    """`chordline serve` on a folder, in a process of its own."""

    def __init__(self, folder: Path, weights: Path) -> None:
        with socket.socket() as probe:
            probe.bind(("127.0.0.1", 0))
            self.port = probe.getsockname()[1]
        self._process = subprocess.Popen(
            [
                *(sys.executable, "-c", "from chordline.cli.main import run; run()"),
                *("serve", "--no-browser", "--port", str(self.port), "--data", str(folder)),
            ],
            env={**os.environ, FOLDER_VARIABLE: str(weights)},
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        try:
            self._until(lambda: self.ask("/api/progress") is not None, 60)
        except BaseException:
            self.kill()
            raise

    def ask(self, path: str, content: bytes | None = None) -> dict[str, Any]:
        request = urllib.request.Request(f"http://127.0.0.1:{self.port}{path}", data=content)
        with urllib.request.urlopen(request, timeout=20) as answer:
            told = json.load(answer)
            assert isinstance(told, dict)
            return told

    def send(self, name: str, content: bytes) -> dict[str, Any]:
        return self.ask(f"/api/photos?name={urllib.parse.quote(name)}", content)

    def wait_until_measured(self) -> None:
        self._until(lambda: self.ask("/api/progress")["waiting"] == 0, 60)

    def kill(self) -> None:
        self._process.send_signal(signal.SIGKILL)
        self._process.wait(10)

    def end(self) -> None:
        self._process.terminate()
        self._process.wait(30)

    @staticmethod
    def _until(done: Any, seconds: float) -> None:
        deadline = time.monotonic() + seconds
        while True:
            try:
                if done():
                    return
            except (urllib.error.URLError, ConnectionError):
                pass
            assert time.monotonic() < deadline, "it never came so far"
            time.sleep(0.1)


@pytest.mark.slow
def test_a_server_killed_in_the_middle_loses_and_doubles_nothing(tmp_path: Path) -> None:
    weights = tmp_path / "no weights"
    weights.mkdir()
    photos = {f"{11 + i}_prone-out.jpg": jpeg(10 * i) for i in range(12)}
    folder = tmp_path / "club"
    server = Served(folder, weights)
    club = App(data=folder)
    with club.records.transaction() as tx:
        from chordline.application.club.records import NewGymnast  # noqa: PLC0415

        for i in range(12):
            tx.gymnasts.add(club.club().id, NewGymnast(f"Girl {i}", card=11 + i))
    names = list(photos)
    answered: list[str] = []

    def send_all() -> None:
        for name in names:
            try:
                server.send(name, photos[name])
            except (urllib.error.URLError, ConnectionError, OSError):
                return
            answered.append(name)

    sending = threading.Thread(target=send_all)
    sending.start()
    while len(answered) < 5:
        time.sleep(0.005)
    server.kill()
    sending.join(30)

    again = Served(folder, weights)
    try:
        told = {name: again.send(name, content) for name, content in photos.items()}
        again.wait_until_measured()
        queue = again.ask("/api/look?limit=100")
    finally:
        again.end()
    assert all(told[name]["already_there"] for name in answered)
    assert len({one["id"] for one in told.values()}) == 12
    assert queue["total"] == 12
    assert {one["gymnast"] for one in queue["photos"]} == {f"Girl {i}" for i in range(12)}
    assert all("weights are not installed" in one["reason"] for one in queue["photos"])
    assert len(list(club.photo_store.keys())) == 12
    club.records.close()
