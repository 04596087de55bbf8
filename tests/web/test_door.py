"""Who may come in, and what every answer carries."""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from site_client import opened
from starlette.testclient import TestClient

from chordline.web.door import Door


@pytest.fixture
def client(tmp_path: Path) -> Iterator[TestClient]:
    with opened(tmp_path) as (_, client):
        yield client


@pytest.fixture
def shared(tmp_path: Path) -> Iterator[TestClient]:
    with opened(tmp_path, door=Door(hosts=("192.0.2.7",), address="https://192.0.2.7:8765")) as (
        _,
        client,
    ):
        yield client


@pytest.mark.parametrize("host", ["evil.example", "127.0.0.1.evil.example", "", "192.0.2.7"])
def test_a_name_that_is_not_ours_is_turned_away(client: TestClient, host: str) -> None:
    answer = client.get("/", headers={"Host": host})
    assert answer.status_code == 403
    assert "not known here" in answer.text


@pytest.mark.parametrize("host", ["[", "[::1", "a]b", "evil.example@127.0.0.1", "127.0.0.1/x"])
def test_what_is_no_name_at_all_is_turned_away_in_a_sentence(client: TestClient, host: str) -> None:
    answer = client.get("/", headers={"Host": host})
    assert answer.status_code == 403
    assert "not known here" in answer.text


@pytest.mark.parametrize("host", ["127.0.0.1:8765", "localhost:1", "[::1]:8765"])
def test_this_machine_is_known_by_its_names(client: TestClient, host: str) -> None:
    assert client.get("/", headers={"Host": host}).status_code == 200


@pytest.mark.parametrize(
    "headers",
    [
        {"Origin": "http://evil.example"},
        {"Origin": "null"},
        {"Origin": "http://127.0.0.1:9999"},
        {"Origin": "http://["},
        {"Origin": "http://evil.example@127.0.0.1"},
        {"Sec-Fetch-Site": "cross-site"},
        {"Sec-Fetch-Site": "same-site"},
    ],
)
def test_what_another_page_sends_changes_nothing(
    client: TestClient, headers: dict[str, str]
) -> None:
    assert client.post("/groups", data={"name": "Red"}, headers=headers).status_code == 403
    assert client.get("/api/groups").json() == []


@pytest.mark.parametrize("site", ["cross-site", "same-site"])
def test_another_site_may_link_here_and_draw_nothing_of_ours_into_itself(
    client: TestClient, site: str
) -> None:
    drawn_in = {"Sec-Fetch-Site": site, "Sec-Fetch-Mode": "no-cors"}
    linked = {"Sec-Fetch-Site": site, "Sec-Fetch-Mode": "navigate"}
    assert client.get("/squad/sheet.pdf", headers=drawn_in).status_code == 403
    assert client.get("/squad", headers=linked).status_code == 200


def test_what_our_own_page_sends_is_taken(client: TestClient) -> None:
    headers = {"Origin": "http://127.0.0.1", "Sec-Fetch-Site": "same-origin"}
    assert client.post("/groups", data={"name": "Red"}, headers=headers).status_code == 303
    assert [one["name"] for one in client.get("/api/groups").json()] == ["Red"]


def test_a_shared_club_is_known_by_its_address_and_asks_who_is_there(shared: TestClient) -> None:
    assert shared.get("/", headers={"Host": "192.0.2.8:8765"}).status_code == 403
    assert shared.get("/", headers={"Host": "192.0.2.7:8765"}).status_code == 303
    assert shared.get("/api/gymnasts").status_code == 401


def test_nothing_from_elsewhere_may_be_loaded(client: TestClient) -> None:
    answer = client.get("/")
    policy = answer.headers["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "unsafe-inline" not in policy.partition("script-src")[2].partition(";")[0]
    assert re.findall(r"""(?:src|href)="(?:https?:)?//""", answer.text) == []
    assert answer.headers["cache-control"] == "no-store"


def test_a_page_that_is_not_there_says_so(client: TestClient) -> None:
    answer = client.get("/nowhere")
    assert answer.status_code == 404
    assert "There is no such page" in answer.text
    assert client.get("/api/nowhere").json()["status"] == 404


@pytest.mark.parametrize(
    "path",
    ["../site.py", "..%2fsite.py", "%2e%2e/site.py", "js/../../site.py", "package.json", ""],
)
def test_only_scripts_and_styles_are_served(client: TestClient, path: str) -> None:
    assert client.get(f"/static/x/{path}").status_code == 404


def test_static_files_are_small_and_kept_by_the_browser(client: TestClient) -> None:
    address = re.search(r'href="(/static/[^"]+site\.css)"', client.get("/").text)
    assert address is not None
    answer = client.get(address[1], headers={"Accept-Encoding": "gzip"})
    assert answer.headers["content-encoding"] == "gzip"
    assert "immutable" in answer.headers["cache-control"]
    old = client.get(re.sub(r"/static/\w+/", "/static/before/", address[1]))
    assert old.headers["cache-control"] == "no-cache"
