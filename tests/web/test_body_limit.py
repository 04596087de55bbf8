"""No request fills the memory or the disk, whatever it says of its size."""

import pytest
from site_client import opened

from chordline.web.body_limit import MOST_BYTES

TOO_MUCH = b"x" * (MOST_BYTES + 1)


@pytest.fixture(scope="module")
def client(tmp_path_factory):
    with opened(tmp_path_factory.mktemp("club")) as (_, client):
        yield client


def in_pieces():
    for _ in range(MOST_BYTES // 100_000 + 1):
        yield b"[" * 100_000


@pytest.mark.parametrize("path", ["/api/gymnasts", "/settings/club", "/api/photos/1/marks"])
def test_too_large_a_body_is_refused_with_a_sentence(client, path):
    answer = client.post(path, content=TOO_MUCH, headers={"content-type": "application/json"})
    assert answer.status_code == 413
    assert "send less at once" in answer.text


def test_a_body_that_does_not_say_its_size_is_counted(client):
    answer = client.post(
        "/api/gymnasts", content=in_pieces(), headers={"content-type": "application/json"}
    )
    assert answer.status_code == 413


def test_brackets_without_end_are_no_fault_of_the_server(client):
    answer = client.post(
        "/api/gymnasts", content=b"[" * 500_000, headers={"content-type": "application/json"}
    )
    assert answer.status_code in (400, 422)


def test_a_number_of_a_million_digits_is_no_fault_of_the_server(client):
    body = b'{"name": "Ada", "card": ' + b"1" * 1_000_000 + b"}"
    answer = client.post(
        "/api/gymnasts", content=body, headers={"content-type": "application/json"}
    )
    assert answer.status_code in (400, 422)


@pytest.mark.parametrize("value", ["NaN", "Infinity", "1e999"])
def test_a_size_that_is_no_number_is_refused(client, value):
    body = f'{{"name": "Ada", "card": {value}}}'
    answer = client.post(
        "/api/gymnasts", content=body, headers={"content-type": "application/json"}
    )
    assert answer.status_code in (400, 422)


def test_half_a_letter_in_a_name_is_refused(client):
    answer = client.post(
        "/api/gymnasts",
        content=b'{"name": "Ada \\ud800"}',
        headers={"content-type": "application/json"},
    )
    assert answer.status_code in (400, 422)
