"""Recovery codes: every typo of one sign is told, and in which group."""

import random
import re

import pytest

from chordline.adapters.vault.recovery_code import code_in_words, new_code, read_code
from chordline.errors import WrongSecretError

CODE = random.Random(11).randbytes(20)
WORDS = code_in_words(CODE)
SIGNS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"


def test_a_code_is_160_random_bits_in_eight_groups() -> None:
    assert len(new_code()) == 20
    assert new_code() != new_code()
    assert re.fullmatch(r"([0-9A-HJKMNP-TV-Z]{5}-){7}[0-9A-HJKMNP-TV-Z]{5}", WORDS)
    assert read_code(WORDS) == CODE


@pytest.mark.parametrize("code", [bytes(20), b"\xff" * 20])
def test_every_code_survives_print_and_hand(code: bytes) -> None:
    assert read_code(code_in_words(code)) == code


def test_small_letters_spaces_and_lookalikes_do_not_matter() -> None:
    typed = f" {WORDS.lower().replace('-', '  ').replace('0', 'o').replace('1', 'l')} "
    assert read_code(typed) == CODE


def test_every_wrong_sign_is_told_by_its_group() -> None:
    for at, sign in enumerate(WORDS):
        if sign == "-":
            continue
        for other in SIGNS.replace(sign, ""):
            with pytest.raises(WrongSecretError, match=f"typo in group {at // 6 + 1};"):
                read_code(WORDS[:at] + other + WORDS[at + 1 :])


def test_two_swapped_neighbours_are_told() -> None:
    for at in range(len(WORDS) - 1):
        one, two = WORDS[at], WORDS[at + 1]
        if "-" in (one, two) or one == two:
            continue
        with pytest.raises(WrongSecretError, match="typo"):
            read_code(WORDS[:at] + two + one + WORDS[at + 2 :])


def test_swapped_groups_are_told() -> None:
    groups = WORDS.split("-")
    for at in range(7):
        moved = [*groups]
        moved[at], moved[at + 1] = moved[at + 1], moved[at]
        with pytest.raises(WrongSecretError, match=f"groups {at + 1}, {at + 2};"):
            read_code("-".join(moved))


@pytest.mark.parametrize("typed", ["", "abc", WORDS + "A", WORDS[:-1], "ü" * 40])
def test_what_is_no_code_is_told(typed: str) -> None:
    with pytest.raises(WrongSecretError):
        read_code(typed)
