"""A number and how sure we are of it."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Estimate:
    """A value with its standard deviation, both in the same unit."""

    value: float
    sd: float
