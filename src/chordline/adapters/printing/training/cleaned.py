"""A view without the characters that no paper can carry."""

from dataclasses import fields, is_dataclass, replace
from typing import Any, TypeVar

from chordline.adapters.printing.svg import clean

_T = TypeVar("_T")


def cleaned(view: _T) -> _T:
    """Return a dataclass with every text in it cleaned, however deep."""
    return _cleaned(view)  # type: ignore[no-any-return]


def _cleaned(value: Any) -> Any:
    if isinstance(value, str):
        return clean(value)
    if isinstance(value, tuple):
        return tuple(_cleaned(part) for part in value)
    if is_dataclass(value) and not isinstance(value, type):
        return replace(
            value, **{one.name: _cleaned(getattr(value, one.name)) for one in fields(value)}
        )
    return value
