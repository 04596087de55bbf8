"""What forms send, read and answered alike everywhere."""

from datetime import date
from urllib.parse import quote

from starlette.responses import RedirectResponse

from chordline.errors import RefusedInputError


def go_to(address: str, said: str = "") -> RedirectResponse:
    """Return a redirect after a form was taken, with the sentence that says so."""
    if said:
        path, hash_, part = address.partition("#")
        joint = "&" if "?" in path else "?"
        address = f"{path}{joint}said={quote(said)}{hash_}{part}"
    return RedirectResponse(address, status_code=303)


def read_day(text: str, *, of: str) -> date | None:
    """Return the day in a field, None where it is empty.

    Raises
    ------
    RefusedInputError
        For anything that is no day.
    """
    if not text.strip():
        return None
    try:
        return date.fromisoformat(text.strip())
    except ValueError:
        raise RefusedInputError(f"{of}: '{text[:40]}' is no day; write it as 2016-05-31") from None


def read_number(text: str, *, of: str, whole: bool = False) -> float | None:
    """Return the number in a field, None where it is empty; a decimal comma is understood.

    Raises
    ------
    RefusedInputError
        For anything that is no number.
    """
    said = text.strip().replace(",", ".")
    if not said:
        return None
    try:
        value = float(int(said)) if whole else float(said)
    except ValueError:
        kind = "whole number" if whole else "number"
        raise RefusedInputError(f"{of}: '{text[:40]}' is no {kind}") from None
    if not abs(value) < 1e6:
        raise RefusedInputError(f"{of}: '{text[:40]}' is no number that can be")
    return value


def read_card(text: str) -> int | None:
    """Return the card number in a field, None where it is empty."""
    number = read_number(text, of="card", whole=True)
    if number is not None and not 0 <= number <= 999:
        raise RefusedInputError("card numbers run from 0 to 999")
    return None if number is None else int(number)
