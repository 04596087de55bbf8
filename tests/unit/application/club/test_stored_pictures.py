"""Stored pictures made ready for a page."""

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from stored_photos import Gym, open_gym

from chordline.errors import PhotoStoreError


@pytest.fixture
def gym(tmp_path: Path) -> Iterator[Gym]:
    with open_gym(tmp_path) as gym:
        yield gym


def test_a_page_gets_a_picture_and_what_the_whole_photo_tells(gym: Gym) -> None:
    shown = gym.pictures.show(gym.bring(), max_px=480)
    assert shown.jpeg == b"jpeg"
    assert (shown.width_px, shown.height_px, shown.focal_length_35mm) == (1600, 1200, 26.0)


def test_a_picture_is_made_ready_once_for_every_size(gym: Gym) -> None:
    photo = gym.bring()
    before = len(gym.reader.reads)
    for max_px in (480, 480, 960):
        gym.pictures.show(photo, max_px=max_px)
    assert len(gym.reader.reads) == before + 2


def test_a_forgotten_picture_is_shown_no_more(gym: Gym) -> None:
    photo = gym.bring()
    gym.pictures.show(photo, max_px=480)
    gym.store.kept.clear()
    gym.pictures.forget()
    with pytest.raises(PhotoStoreError):
        gym.pictures.show(photo, max_px=480)


def test_a_picture_that_is_not_kept_is_told(gym: Gym) -> None:
    photo = replace(gym.bring(), content_key=None)
    with pytest.raises(PhotoStoreError, match="not kept"):
        gym.pictures.show(photo, max_px=480)
    with pytest.raises(PhotoStoreError, match="not kept"):
        gym.pictures.read(photo)
