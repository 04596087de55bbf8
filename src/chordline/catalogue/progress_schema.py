"""The shape of the records about change through time."""

from typing import Annotated

from pydantic import Field

from chordline.catalogue.schema import Record, Setting, Sourced

#: A share of a variance.
Share = Annotated[float, Field(ge=0, le=1)]


class CapacityMotion(Sourced):
    """How a capacity moves by itself.

    Attributes
    ----------
    wander_per_root_week : float
        Sd after a week [its unit]; after t weeks √t times that.
    worth : float
        Smallest change worth knowing [its unit].
    """

    wander_per_root_week: Annotated[float, Field(gt=0)]
    worth: Annotated[float, Field(gt=0)]


class LastingEntry(Sourced):
    """Share of an offset's variance that stays from screen to screen, by kind of marks."""

    auto: Share
    hand: Share


class ProgressCatalogue(Record):
    """All records about change through time.

    Attributes
    ----------
    version : str
        Changes with any of its files.
    """

    version: str
    capacities: dict[str, CapacityMotion]
    lasting: dict[str, LastingEntry]
    settings: dict[str, Setting]

    def setting(self, name: str) -> float:
        """Return a setting's value."""
        return self.settings[name].value
