"""Takes gymnasts who are no more out of what plans and sessions say.

Plans and sessions name gymnasts by their number alone, and no number is given twice: once a gymnast
is erased, her number means nobody, and whoever reads the plan no longer meets it.
"""

from collections.abc import Mapping, Set
from typing import Any, Final

from chordline.application.club.records import Json

#: Keys of an object that is about one gymnast; it goes with her.
_ONE: Final = frozenset({"gymnast"})
#: Keys of lists of numbers of gymnasts; of lists of such lists, round by round.
_SEVERAL: Final = frozenset({"gymnasts", "absent", "away", "resting"})


def named_in(record: Json) -> frozenset[int]:
    """Return the numbers of all gymnasts that a plan or a session names."""
    return frozenset(_numbers(record))


def without_gone(record: Json, there: Set[int]) -> dict[str, Any]:
    """Return a plan or a session without the gymnasts who are not among `there`.

    An object about a single gymnast goes with her; so does a turn that has nobody left.
    """
    left = _kept(record, there)
    return left if isinstance(left, dict) else {}


def _numbers(value: Any) -> set[int]:
    found: set[int] = set()
    if isinstance(value, Mapping):
        for key, inner in value.items():
            if key in _ONE and isinstance(inner, int):
                found.add(inner)
            elif key in _SEVERAL:
                found |= _listed(inner)
            found |= _numbers(inner)
    elif isinstance(value, list | tuple):
        for inner in value:
            found |= _numbers(inner)
    return found


def _listed(inner: Any) -> set[int]:
    """Return the numbers in a list, or in the lists of a list."""
    if not isinstance(inner, list | tuple):
        return set()
    found = {one for one in inner if isinstance(one, int)}
    return found.union(*(_listed(one) for one in inner))


_NOTHING: Final = object()


def _kept(value: Any, there: Set[int]) -> Any:
    """Return what is left of a value, `_NOTHING` where it goes."""
    if isinstance(value, list | tuple):
        return [left for one in value if (left := _kept(one, there)) is not _NOTHING]
    if not isinstance(value, Mapping):
        return value
    kept: dict[str, Any] = {}
    for key, inner in value.items():
        if key in _ONE and isinstance(inner, int) and inner not in there:
            return _NOTHING
        if key not in _SEVERAL:
            kept[key] = _kept(inner, there)
            continue
        numbers = _listed(inner)
        if numbers and not numbers & there and "exercise" in value:
            return _NOTHING
        kept[key] = _kept(_only(inner, there), there)
    return {key: inner for key, inner in kept.items() if inner is not _NOTHING}


def _only(inner: Any, there: Set[int]) -> Any:
    """Return a list without the numbers that mean nobody any more."""
    if not isinstance(inner, list | tuple):
        return inner
    return [_only(one, there) for one in inner if not isinstance(one, int) or one in there]
