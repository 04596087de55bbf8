"""To whom and to which test a photo belongs."""

import pytest

from chordline.application.folder import (
    Gymnast,
    Owner,
    ScreenRow,
    find_owner,
    read_file_name,
)

TESTS = ("prone-sides", "prone-overhead", "prone-out", "handstand", "back-roll-handstand")
ROSTER = (Gymnast("Juna Falkenried", 11), Gymnast("Mirela Ostrava", 12), Gymnast("Tove", None))


@pytest.mark.parametrize(
    ("name", "test", "rest"),
    [
        ("13_prone-overhead.jpg", "prone-overhead", "13"),
        ("prone overhead 13.HEIC", "prone-overhead", "13"),
        ("Tove-PRONE_OUT.png", "prone-out", "Tove"),
        ("7 back-roll-handstand (2).jpg", "back-roll-handstand", "7 (2)"),
        ("IMG_0412.jpg", None, "IMG 0412"),
        ("proneoverhead.jpg", "prone-overhead", ""),
        ("myhandstand.jpg", None, "myhandstand"),
    ],
)
def test_a_file_name_tells_test_and_rest(name: str, test: str | None, rest: str) -> None:
    named = read_file_name(name, TESTS)
    assert (named.test, named.rest) == (test, rest)


def owner(name: str, *, cards: tuple[int, ...] = (), row: ScreenRow | None = None) -> Owner | str:
    return find_owner(row=row, named=read_file_name(name, TESTS), cards_seen=cards, roster=ROSTER)


def test_the_card_in_the_picture_says_who() -> None:
    assert owner("prone-out.jpg", cards=(12,)) == Owner("Mirela Ostrava", 12)


def test_the_coachs_word_comes_before_the_card() -> None:
    row = ScreenRow("prone-out.jpg", gymnast="tove")
    assert owner("prone-out.jpg", cards=(12,), row=row) == Owner("Tove", None)


def test_a_name_in_the_file_name_says_who() -> None:
    assert owner("Tove_prone-out.jpg") == Owner("Tove", None)


def test_a_number_in_the_file_name_says_who() -> None:
    assert owner("011_prone-out.jpg") == Owner("Juna Falkenried", 11)


def test_card_and_file_name_that_contradict_are_left_to_the_coach() -> None:
    told = owner("11_prone-out.jpg", cards=(12,))
    assert isinstance(told, str)
    assert "card 11" in told
    assert "card 12" in told


def test_a_card_that_nobody_has_is_told() -> None:
    assert owner("prone-out.jpg", cards=(77,)) == "card 77 is not in gymnasts.csv"


def test_two_known_cards_are_left_to_the_coach() -> None:
    told = owner("prone-out.jpg", cards=(11, 12))
    assert isinstance(told, str)
    assert "screen.csv" in told


def test_a_strangers_card_beside_hers_does_not_matter() -> None:
    assert owner("prone-out.jpg", cards=(77, 12)) == Owner("Mirela Ostrava", 12)


def test_nothing_at_all_is_told() -> None:
    told = owner("prone-out.jpg")
    assert isinstance(told, str)
    assert "no card" in told


def test_an_unknown_name_is_told() -> None:
    assert owner("Zoe_prone-out.jpg") == "'Zoe' (its name) is not in gymnasts.csv"


def test_without_a_roster_the_name_is_taken_as_it_is() -> None:
    named = read_file_name("Zoe_prone-out.jpg", TESTS)
    assert find_owner(row=None, named=named, cards_seen=(), roster=()) == Owner("Zoe", None)
