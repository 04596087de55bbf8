"""Gymnasts and groups as JSON."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from site_client import opened
from starlette.testclient import TestClient


@pytest.fixture
def client(tmp_path: Path) -> Iterator[TestClient]:
    with opened(tmp_path) as (_, client):
        yield client


def add(client: TestClient, **said: object) -> dict:
    answer = client.post("/api/gymnasts", json=said)
    assert answer.status_code == 201, answer.text
    return answer.json()


def test_a_gymnast_comes_back_as_she_was_given(client: TestClient) -> None:
    ada = add(client, name="Ada", card=7, birth_date="2015-04-02", consent={"measure": True})
    assert client.get(f"/api/gymnasts/{ada['id']}").json() == ada
    assert ada["consent"]["measure"] is True
    assert ada["consent"]["keep_pictures"] is False


def test_pages_follow_one_another(client: TestClient) -> None:
    for i in range(7):
        add(client, name=f"Gymnast {i}", card=i)
    seen, after = [], ""
    while after is not None:
        page = client.get("/api/gymnasts", params={"limit": 3, "after": after or None}).json()
        seen += [one["card"] for one in page["gymnasts"]]
        after = page["next"]
    assert seen == list(range(7))


def test_two_coaches_who_change_one_record_do_not_lose_each_others_work(
    client: TestClient,
) -> None:
    ada = add(client, name="Ada", card=7)
    address = f"/api/gymnasts/{ada['id']}"
    first = client.patch(address, json={"version": ada["version"], "card": 8})
    second = client.patch(address, json={"version": ada["version"], "name": "Adele"})
    assert (first.status_code, second.status_code) == (200, 409)
    assert "meanwhile" in second.json()["detail"]
    kept = client.get(address).json()
    assert (kept["name"], kept["card"]) == ("Ada", 8)
    third = client.patch(address, json={"version": kept["version"], "name": "Adele"})
    assert third.json()["name"] == "Adele"


@pytest.mark.parametrize(
    ("body", "status"),
    [
        ({}, 422),
        ({"name": ""}, 422),
        ({"name": "Bea", "card": 1000}, 422),
        ({"name": "Bea", "card": 7}, 409),
        ({"name": "Bea", "birth_date": "2015-02-30"}, 422),
        ({"name": "Bea", "birth_date": "2999-01-01"}, 422),
        ({"name": "Bea", "shoe_size": 30}, 422),
    ],
)
def test_what_cannot_be_is_refused_and_not_kept(
    client: TestClient, body: dict, status: int
) -> None:
    add(client, name="Ada", card=7)
    answer = client.post("/api/gymnasts", json=body)
    assert answer.status_code == status
    assert answer.headers["content-type"] == "application/problem+json"
    assert client.get("/api/gymnasts").json()["total"] == 1


def test_a_gymnast_who_is_not_there(client: TestClient) -> None:
    assert client.get("/api/gymnasts/99").status_code == 404
    assert client.patch("/api/gymnasts/99", json={"version": 1}).status_code == 404


def test_groups(client: TestClient) -> None:
    ada = add(client, name="Ada")
    group = client.post("/api/groups", json={"name": "Red"}).json()
    client.put(f"/api/groups/{group['id']}/gymnasts/{ada['id']}")
    found = client.get("/api/gymnasts", params={"group": group["id"]}).json()["gymnasts"]
    assert [one["name"] for one in found] == ["Ada"]
    client.delete(f"/api/groups/{group['id']}/gymnasts/{ada['id']}")
    assert client.get("/api/groups").json()[0]["size"] == 0
