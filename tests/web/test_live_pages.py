"""The live line over its routes: sentences for what cannot be, and nothing of it on the disk."""

import logging
from collections.abc import Iterator
from pathlib import Path

import pytest
from site_client import opened
from starlette.testclient import TestClient

from chordline.bootstrap import App
from live_stories import TellingEye, frame, straight_girl

FRAME = frame()
ASK = {"at_ms": 1000.0, "test": "prone-overhead"}


@pytest.fixture
def site(tmp_path: Path) -> Iterator[tuple[App, TestClient]]:
    with opened(tmp_path / "club") as (app, client):
        app.__dict__["live_eye"] = TellingEye([straight_girl()])
        yield app, client


@pytest.fixture
def client(site: tuple[App, TestClient]) -> TestClient:
    return site[1]


def begun(client: TestClient) -> str:
    answer = client.post("/api/live")
    assert answer.status_code == 201
    return str(answer.json()["session"])


def everything_in(folder: Path) -> dict[str, tuple[int, int]]:
    files = [path for path in folder.rglob("*") if path.is_file()]
    return {str(path): (path.stat().st_size, path.stat().st_mtime_ns) for path in files}


def test_the_page_offers_every_test_and_its_care(site: tuple[App, TestClient]) -> None:
    app, client = site
    page = client.get("/live?test=handstand").text
    assert '<option value="handstand" selected>' in page
    for name, test in app.catalogue.tests.items():
        assert f'<option value="{name}"' in page
        assert test.care.split(":")[0] in page
    assert "not a medical device" in page
    assert client.get("/live?test=cartwheel").status_code == 422
    assert client.get("/live?gymnast=999").status_code == 404


def test_screening_leads_to_it_with_its_test(client: TestClient) -> None:
    assert 'href="/live?test=prone-out"' in client.get("/screening?test=prone-out").text


def test_frames_are_answered_with_line_words_and_tone(client: TestClient) -> None:
    session = begun(client)
    for i in range(10):
        ask = {**ASK, "at_ms": 1000.0 + 80.0 * i}
        answer = client.post(f"/api/live/{session}", params=ask, content=FRAME)
        assert answer.status_code == 200
    told = answer.json()
    assert (told["late"], told["tone"], told["headline"]) == (False, "on", "On the line")
    assert set(told["chord"]) <= set(told["landmarks"])
    assert [one["label"] for one in told["measures"]] == ["Shoulders", "Hips", "Knees"]
    assert told["side_origin"] == "test"
    late = client.post(f"/api/live/{session}", params=ASK, content=FRAME)
    assert late.json() == {"late": True}


@pytest.mark.parametrize(
    ("content", "status", "why"),
    [
        (b"not a picture", 422, "no JPEG"),
        (b"", 422, "no JPEG"),
        (FRAME[:300], 422, "This picture"),
        (frame(2000, 1000), 422, "2000 × 1000"),
        (b"\xff\xd8\xff" + bytes(700_000), 413, "too large"),
    ],
)
def test_what_is_no_frame_gets_a_sentence(
    client: TestClient, content: bytes, status: int, why: str
) -> None:
    answer = client.post(f"/api/live/{begun(client)}", params=ASK, content=content)
    assert answer.status_code == status
    assert why in answer.json()["detail"]
    assert answer.json()["detail"].endswith(".")


def test_an_unknown_session_test_or_side_gets_a_sentence(client: TestClient) -> None:
    session = begun(client)
    gone = client.post("/api/live/nobody", params=ASK, content=FRAME)
    assert (gone.status_code, "start it again" in gone.json()["detail"]) == (404, True)
    wrong = client.post(f"/api/live/{session}", params={**ASK, "test": "cartwheel"}, content=FRAME)
    assert (wrong.status_code, "prone-overhead" in wrong.json()["detail"]) == (400, True)
    side = client.post(f"/api/live/{session}", params={**ASK, "near": "front"}, content=FRAME)
    assert side.status_code == 422
    for at_ms in ("nan", "-1", "soon"):
        when = client.post(f"/api/live/{session}", params={**ASK, "at_ms": at_ms}, content=FRAME)
        assert when.status_code == 422


def test_an_ended_line_is_gone_and_ending_again_is_no_fault(client: TestClient) -> None:
    session = begun(client)
    assert client.delete(f"/api/live/{session}").status_code == 204
    assert client.delete(f"/api/live/{session}").status_code == 204
    assert client.post(f"/api/live/{session}", params=ASK, content=FRAME).status_code == 404


def test_a_page_of_another_site_gets_nothing(client: TestClient) -> None:
    other = {"origin": "http://elsewhere.example", "sec-fetch-site": "cross-site"}
    assert client.post("/api/live", headers=other).status_code == 403
    session = begun(client)
    answer = client.post(f"/api/live/{session}", params=ASK, content=FRAME, headers=other)
    assert answer.status_code == 403


def test_without_weights_it_says_what_to_install(site: tuple[App, TestClient]) -> None:
    app, client = site
    app.__dict__["live_eye"] = None
    answer = client.post("/api/live")
    assert (answer.status_code, "chordline weights" in answer.json()["detail"]) == (422, True)


def test_nothing_is_stored_or_logged(
    site: tuple[App, TestClient], tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    _, client = site
    client.get("/live")
    before = everything_in(tmp_path)
    with caplog.at_level(logging.DEBUG, logger="chordline"):
        session = begun(client)
        for i in range(5):
            ask = {**ASK, "at_ms": 1000.0 + 80.0 * i}
            client.post(f"/api/live/{session}", params=ask, content=FRAME)
        client.post(f"/api/live/{session}", params={**ASK, "at_ms": 9000.0}, content=b"broken")
        client.delete(f"/api/live/{session}")
    assert everything_in(tmp_path) == before
    assert [one for one in caplog.records if one.name.startswith("chordline")] == []
