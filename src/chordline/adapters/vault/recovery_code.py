"""The recovery code: 160 random bits in eight groups, each with a sign that tells a typo.

A group is four signs of five bits and a check sign. The check is a sum in the field of 32
elements: every sign counts with a weight of its own, and so does the group's place. One wrong sign,
two swapped signs and two swapped groups are always found; other faults 31 times in 32.
"""

import secrets

from chordline.errors import WrongSecretError

#: Letters and figures without those that look alike (I, L, O) and without U: Crockford's base 32.
_SIGNS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
_LOOKS_LIKE = str.maketrans({"I": "1", "L": "1", "O": "0"})
GROUPS = 8
_DATA_SIGNS = 4
GROUP_SIGNS = _DATA_SIGNS + 1
#: x⁵ + x² + 1, which no smaller one divides.
_MODULUS = 0b100101


def new_code() -> bytes:
    """Return the 20 random bytes of a code."""
    return secrets.token_bytes(GROUPS * _DATA_SIGNS * 5 // 8)


def code_in_words(code: bytes) -> str:
    """Return a code as it is printed, e.g. ``7K2QF-…``."""
    number = int.from_bytes(code, "big")
    values = [(number >> 5 * place) & 31 for place in reversed(range(GROUPS * _DATA_SIGNS))]
    groups = [values[at : at + _DATA_SIGNS] for at in range(0, len(values), _DATA_SIGNS)]
    return "-".join(
        "".join(_SIGNS[value] for value in (*group, _check(place, group)))
        for place, group in enumerate(groups)
    )


def read_code(text: str) -> bytes:
    """Return the code that somebody typed; case, spaces and hyphens do not matter.

    Raises
    ------
    WrongSecretError
        Where it has a typo: it names the groups.
    """
    signs = "".join(one for one in text.upper() if not one.isspace() and one not in "-–—.")
    signs = signs.translate(_LOOKS_LIKE)
    if len(signs) != GROUPS * GROUP_SIGNS:
        raise WrongSecretError(
            f"a recovery code has {GROUPS} groups of {GROUP_SIGNS} signs, {GROUPS * GROUP_SIGNS} "
            f"in all; these are {len(signs)}"
        )
    number, wrong = 0, []
    for place in range(GROUPS):
        group = signs[place * GROUP_SIGNS : (place + 1) * GROUP_SIGNS]
        values = [_SIGNS.find(one) for one in group]
        if min(values) < 0 or _check(place, values[:_DATA_SIGNS]) != values[_DATA_SIGNS]:
            wrong.append(place + 1)
            continue
        for value in values[:_DATA_SIGNS]:
            number = number << 5 | value
    if wrong:
        which = f"group {wrong[0]}" if len(wrong) == 1 else f"groups {', '.join(map(str, wrong))}"
        raise WrongSecretError(f"the recovery code has a typo in {which}; compare with the sheet")
    return number.to_bytes(GROUPS * _DATA_SIGNS * 5 // 8, "big")


def _check(place: int, values: list[int]) -> int:
    total, weight = 0, 1
    for value in (*values, place):
        weight = _times_x(weight)
        total ^= _times(value, weight)
    return total


def _times_x(value: int) -> int:
    value <<= 1
    return value ^ _MODULUS if value & 32 else value


def _times(a: int, b: int) -> int:
    product = 0
    while b:
        if b & 1:
            product ^= a
        a, b = _times_x(a), b >> 1
    return product
