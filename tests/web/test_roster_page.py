"""The roster's page: a file is looked at before it is taken; nothing is done twice."""

import io
import re
from collections.abc import Iterator
from pathlib import Path

import openpyxl
import pytest
from pypdf import PdfReader
from site_client import opened
from starlette.testclient import TestClient

GOOD = "card,name,birth_date,group\n1,Ada Sommerfeld,2015-04-02,Red\n2,Bea Winterhalt,,Red|Blue\n"
MIXED = "card;name;birth_date\n1;Ada Sommerfeld;2015-04-02\n2;Bea Winterhalt;2016-02-30\n"


@pytest.fixture
def client(tmp_path: Path) -> Iterator[TestClient]:
    with opened(tmp_path) as (_, client):
        yield client


def look(client: TestClient, content: str | bytes, name: str = "roster.csv") -> str:
    data = content.encode() if isinstance(content, str) else content
    answer = client.post("/roster/preview", files={"file": (name, data)})
    assert answer.status_code in (200, 422), answer.text
    return answer.text


def token_of(page: str) -> str:
    found = re.search(r'name="token" value="(\w+)"', page)
    assert found is not None
    return found[1]


def names(client: TestClient) -> list[str]:
    return [one["name"] for one in client.get("/api/gymnasts").json()["gymnasts"]]


def test_looking_changes_nothing(client: TestClient) -> None:
    page = look(client, GOOD)
    assert "2 new gymnasts" in page
    assert "New groups: Blue, Red" in page
    assert names(client) == []


def test_a_good_file_is_taken_in_whole(client: TestClient) -> None:
    token = token_of(look(client, GOOD))
    answer = client.post("/roster/import", data={"token": token})
    assert answer.status_code == 303
    assert names(client) == ["Ada Sommerfeld", "Bea Winterhalt"]
    groups = {one["name"]: one["size"] for one in client.get("/api/groups").json()}
    assert groups == {"Red": 2, "Blue": 1}


def test_a_form_sent_twice_imports_once_and_says_so(client: TestClient) -> None:
    token = token_of(look(client, GOOD))
    client.post("/roster/import", data={"token": token})
    again = client.post("/roster/import", data={"token": token})
    assert "imported%20before" in again.headers["location"]
    assert len(names(client)) == 2


def test_bad_rows_are_shown_with_the_reason_and_left_out_only_when_told(
    client: TestClient,
) -> None:
    page = look(client, MIXED)
    assert "2016-02-30 is not in the calendar" in page
    token = token_of(page)
    assert client.post("/roster/import", data={"token": token}).status_code == 422
    assert names(client) == []
    token = token_of(look(client, MIXED))
    client.post("/roster/import", data={"token": token, "skip_bad": "true"})
    assert names(client) == ["Ada Sommerfeld"]


def test_a_file_that_was_forgotten_is_asked_for_again(client: TestClient) -> None:
    answer = client.post("/roster/import", data={"token": "0" * 32})
    assert answer.status_code == 409
    assert "choose it again" in answer.text


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (b"", "empty"),
        (b"\x89PNG\r\n\x1a\n0000", "picture"),
        (b"%PDF-1.4", "PDF"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "XLS"),
        (b"PK\x03\x04broken", "damaged"),
    ],
)
def test_what_is_no_table_is_refused_with_a_sentence(
    client: TestClient, content: bytes, told: str
) -> None:
    assert told in look(client, content)


def test_names_in_a_file_are_never_markup(client: TestClient) -> None:
    page = look(client, "name\n<script>alert(1)</script>\n")
    assert "<script>alert" not in page
    assert "&lt;script&gt;alert" in page


@pytest.mark.parametrize("kind", ["csv", "xlsx"])
def test_the_list_taken_away_can_be_brought_again(client: TestClient, kind: str) -> None:
    client.post("/roster/import", data={"token": token_of(look(client, GOOD))})
    file = client.get(f"/roster/export.{kind}")
    assert f"roster.{kind}" in file.headers["content-disposition"]
    page = look(client, file.content, f"roster.{kind}")
    assert "0 new gymnasts, 0 changes, 2 rows the same" in page
    if kind == "xlsx":
        sheet = openpyxl.load_workbook(io.BytesIO(file.content)).active
        assert sheet.max_row == 3


def test_one_gymnast_gets_the_next_free_card_once(client: TestClient) -> None:
    client.post("/roster/import", data={"token": token_of(look(client, GOOD))})
    form = {"token": "t1", "name": "  Cleo   Herbstner ", "birth_date": "2014-01-05"}
    for _ in range(2):
        assert client.post("/roster/gymnasts", data=form).status_code == 303
    (cleo,) = client.get("/api/gymnasts?search=cleo").json()["gymnasts"]
    assert (cleo["name"], cleo["card"], cleo["birth_date"]) == ("Cleo Herbstner", 3, "2014-01-05")


@pytest.mark.parametrize(
    ("form", "told"),
    [
        ({"name": ""}, "Write a name"),
        ({"name": "Cleo", "card": "1"}, "taken already"),
        ({"name": "Cleo", "card": "1000"}, "0 to 999"),
        ({"name": "Cleo", "card": "one"}, "no whole number"),
        ({"name": "Cleo", "birth_date": "2015-02-30"}, "no day"),
        ({"name": "Cleo", "birth_date": "2999-01-01"}, "future"),
    ],
)
def test_a_gymnast_that_cannot_be_is_refused(
    client: TestClient, form: dict[str, str], told: str
) -> None:
    client.post("/roster/import", data={"token": token_of(look(client, GOOD))})
    answer = client.post("/roster/gymnasts", data={"token": "t", **form})
    assert answer.status_code == 422
    assert told in answer.text
    assert len(names(client)) == 2


def test_everybody_gets_a_card_and_cards_are_printed(client: TestClient) -> None:
    client.post("/roster/import", data={"token": token_of(look(client, "name\nAda S\nBea W\n"))})
    assert client.get("/roster/cards.pdf").status_code == 422
    client.post("/roster/give-cards")
    cards = [one["card"] for one in client.get("/api/gymnasts").json()["gymnasts"]]
    assert cards == [1, 2]
    paper = client.get("/roster/cards.pdf")
    assert len(PdfReader(io.BytesIO(paper.content)).pages) == 2
    assert b"Ada" not in paper.content
    small = client.get("/roster/cards.pdf?group=&layout=small&names=true")
    assert "Ada" in PdfReader(io.BytesIO(small.content)).pages[0].extract_text()


def test_groups_are_made_filled_renamed_and_removed(client: TestClient) -> None:
    client.post("/roster/import", data={"token": token_of(look(client, "name\nAda S\nBea W\n"))})
    client.post("/groups", data={"name": " Red  squad "})
    (group,) = client.get("/api/groups").json()
    assert group["name"] == "Red squad"
    assert client.post("/groups", data={"name": "red squad"}).status_code == 409
    assert client.post("/groups", data={"name": " "}).status_code == 422
    address = f"/groups/{group['id']}"
    assert "Ada S" in client.get(f"{address}?search=ada").text
    client.post(f"{address}/members", data={"put": ["1", "2"]})
    client.post(f"{address}/members", data={"take": "2"})
    assert client.get("/api/groups").json()[0]["size"] == 1
    client.post(f"{address}/rename", data={"name": "Blue"})
    client.post(f"{address}/remove")
    assert client.get("/api/groups").json() == []
    assert len(names(client)) == 2
