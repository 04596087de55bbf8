"""What is said of a photo or video that comes in."""

from datetime import date

from chordline.catalogue.schema import Catalogue
from chordline.errors import ImpossibleRecordError, RefusedInputError


def check_incoming(test: str | None, day: date, *, catalogue: Catalogue, today: date) -> None:
    """Raise `RefusedInputError` for a test that nobody knows, or a day that has not come."""
    if test is not None and test not in catalogue.tests:
        known = ", ".join(catalogue.tests)
        raise RefusedInputError(f"no test is called '{test}'; known are {known}")
    if day > today:
        raise ImpossibleRecordError("screened_in_the_future", "the day lies in the future")
