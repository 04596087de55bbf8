"""Which reference table a gymnast's growth is compared with."""

from typing import Final, Literal, get_args

from chordline.core.progress.growth_age import Sex

#: Said by her family or coach, for growth alone; nothing else asks for it.
GrowthReference = Literal["girls", "boys"]
GROWTH_REFERENCES: Final[tuple[GrowthReference, ...]] = get_args(GrowthReference)

_TABLES: Final[dict[GrowthReference, Sex]] = {"girls": "girl", "boys": "boy"}


def sex_of_table(reference: GrowthReference | None) -> Sex | None:
    """Return how the growth catalogue calls a table; None where it was not said."""
    return None if reference is None else _TABLES[reference]
