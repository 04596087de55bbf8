"""Whose photo it is, from the card, the file name and the coach's words."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from stored_photos import Gym, open_gym

from chordline.application.club.records import GymnastRecord
from chordline.application.club.whose import find_meant, find_whose
from chordline.application.folder import read_file_name
from chordline.errors import RefusedInputError
from screen_stories import CATALOGUE


@pytest.fixture
def gym(tmp_path: Path) -> Iterator[Gym]:
    names = ("Mila Berg", "Ida Sol", "Zoë Ångström-Lind", "Noa Falk", "Noa Falk")
    with open_gym(tmp_path, *names) as gym:
        yield gym


def whose(gym: Gym, name: str, *cards: int) -> GymnastRecord | str:
    named = read_file_name(name, list(CATALOGUE.tests))
    with gym.records.reading() as tx:
        return find_whose(tx.gymnasts, gym.club.id, named=named, cards_seen=cards)


def meant(gym: Gym, text: str) -> GymnastRecord:
    with gym.records.reading() as tx:
        return find_meant(tx.gymnasts, gym.club.id, text)


@pytest.mark.parametrize(
    ("name", "cards", "index"),
    [
        ("image.jpg", (1,), 1),
        ("image.jpg", (1, 1), 1),
        ("1_prone-out.jpg", (), 1),
        ("1_prone-out.jpg", (1,), 1),
        ("Mila Berg_prone-out.jpg", (), 0),
        ("Mila Berg_prone-out.jpg", (1,), 1),
        ("0_prone-out.jpg", (0, 1), 0),
        ("image.jpg", (1, 77), 1),
        ("prone-out zoe angstrom lind.jpg", (), 2),
    ],
)
def test_it_is_told(gym: Gym, name: str, cards: tuple[int, ...], index: int) -> None:
    assert whose(gym, name, *cards) == gym.girls[index]


@pytest.mark.parametrize(
    ("name", "cards", "reason"),
    [
        ("image.jpg", (), "no card was found"),
        ("prone-out.jpg", (), "no card was found"),
        ("0_prone-out.jpg", (1,), "its name says card 0, the picture shows card 1"),
        ("image.jpg", (0, 1), "cards 0 and 1 stand in the picture"),
        ("image.jpg", (77,), "card 77 is nobody's in the roster"),
        ("77_prone-out.jpg", (), "card 77 is nobody's in the roster"),
        ("noa falk.jpg", (), "2 gymnasts are called Noa Falk"),
    ],
)
def test_it_is_not_decided(gym: Gym, name: str, cards: tuple[int, ...], reason: str) -> None:
    told = whose(gym, name, *cards)
    assert isinstance(told, str)
    assert reason in told


@pytest.mark.parametrize(
    ("text", "index"),
    [
        ("1", 1),
        (" card 1 ", 1),
        ("mila  berg", 0),
        ("Zoe Angstrom Lind", 2),
        ("Noa Falk, card 4", 4),
    ],
)
def test_a_coach_means_somebody(gym: Gym, text: str, index: int) -> None:
    assert meant(gym, text) == gym.girls[index]


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("Mila", "nobody is called 'Mila'"),
        ("77", "card 77 is nobody's"),
        ("Noa Falk", "2 gymnasts are called Noa Falk; type her card number"),
        ("1 or 2", "nobody is called"),
    ],
)
def test_a_coach_means_nobody(gym: Gym, text: str, reason: str) -> None:
    with pytest.raises(RefusedInputError, match=reason):
        meant(gym, text)


def test_an_archived_gymnast_is_not_meant(gym: Gym) -> None:
    with gym.records.transaction() as tx:
        tx.gymnasts.archive(gym.girls[4].id)
    assert meant(gym, "Noa Falk") == gym.girls[3]
    assert isinstance(whose(gym, "4_prone-out.jpg"), str)
