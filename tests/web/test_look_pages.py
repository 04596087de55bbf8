"""The queue of photos that need a look."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from photo_stories import Gym, finder, open_gym

from chordline.web.pages import look


@pytest.fixture
def gym(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Gym]:
    with open_gym(tmp_path, monkeypatch, finder=finder()) as gym:
        yield gym


def test_an_empty_queue_teaches_what_comes_here(gym: Gym) -> None:
    page = gym.client.get("/look").text
    assert "Nothing to look at" in page
    assert "Start looking" not in page


def test_what_waits_is_said_in_the_empty_queue(gym: Gym) -> None:
    gym.take_in()
    assert "1 photo still to be measured" in gym.client.get("/look").text


def test_each_photo_says_whose_which_test_and_why(gym: Gym) -> None:
    photo_id = gym.measured("11_handstand.jpg")
    page = gym.client.get("/look").text
    assert f'href="/photos/{photo_id}?queue=1" data-start' in page
    assert f'src="/photos/{photo_id}/picture?px=480"' in page
    for words in ("Mila Berg", "Handstand, from the side", "She does not lie or stand as in"):
        assert words in page


def test_a_photo_without_owner_asks_for_one(gym: Gym) -> None:
    gym.measured("image.jpg")
    page = gym.client.get("/look").text
    assert "Whose photo is it?" in page
    assert "Which test is it?" in page


def test_long_queues_come_in_pages(gym: Gym, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(look, "_SHOWN", 2)
    ids = [gym.measured("11_handstand.jpg", shade=shade) for shade in (10, 20, 30)]
    first = gym.client.get("/look").text
    assert "3 photos need a look" in first
    after = first.split('href="/look?after=')[1].split('"')[0]
    rest = gym.client.get(f"/look?after={after}").text
    assert f"/photos/{ids[2]}?queue=1" in rest
    assert f"/photos/{ids[1]}?queue=1" not in rest
    # Looking starts with the first all the same.
    assert f'href="/photos/{ids[0]}?queue=1" data-start' in rest


def test_a_cursor_that_is_none_is_told(gym: Gym) -> None:
    assert gym.client.get("/look?after=nonsense").status_code == 400
