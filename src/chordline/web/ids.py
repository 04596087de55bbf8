"""Ids in addresses and forms: whole numbers that a database can hold."""

from typing import Annotated

from fastapi import Path
from pydantic import BeforeValidator, Field

_LARGEST = 2**31 - 1

PathId = Annotated[int, Path(ge=1, le=_LARGEST)]
FormId = Annotated[int, Field(ge=1, le=_LARGEST)]
#: A form's empty choice means none.
QueryId = Annotated[FormId | None, BeforeValidator(lambda said: said or None)]


def read_id(text: str) -> int | None:
    """Return the id in a field of a form, or None where it is empty or none."""
    said = text.strip()
    if not (said.isascii() and said.isdigit() and len(said) <= 10):
        return None
    return int(said) if 1 <= int(said) <= _LARGEST else None
