"""The shape of the segment tables, as printed and as the mechanics use them."""

from collections.abc import Mapping
from typing import Annotated, Literal

import numpy as np
from pydantic import Field

from chordline.catalogue.schema import Record, Source, Sourced
from chordline.core.mechanics.parts import LINKS, Parts

Column = Literal[
    "mass",
    "cm_prox",
    "cm_dist",
    "rg_cm",
    "rg_prox",
    "rg_dist",
    "rg_sagittal",
    "rg_transverse",
    "rg_longitudinal",
]
LinkName = Literal[
    "hand",
    "forearm",
    "upper_arm",
    "head",
    "upper_trunk",
    "lower_trunk",
    "thigh",
    "shank",
    "foot",
]


class Printed(Record):
    """One line of a table, as printed; None where the table prints nothing.

    Attributes
    ----------
    ends : str
        Proximal and distal end, e.g. ``SJC-EJC``.
    mass : float
        Fraction of the body's mass, one side.
    cm_prox, cm_dist : float
        Centre of mass from the proximal and the distal end, fraction of the length.
    rg_… : float
        Radius of gyration about the centre of mass or an end, or about an axis through the centre.
    digits : mapping of column to int
        Decimals printed: a value is known to half of the last.
    """

    ends: str
    mass: Annotated[float, Field(gt=0, lt=1)]
    cm_prox: Annotated[float, Field(ge=0, le=1)]
    cm_dist: Annotated[float, Field(ge=0, le=1)] | None = None
    rg_cm: Annotated[float, Field(gt=0, lt=1)] | None = None
    rg_prox: Annotated[float, Field(gt=0, lt=1.5)] | None = None
    rg_dist: Annotated[float, Field(gt=0, lt=1.5)] | None = None
    rg_sagittal: Annotated[float, Field(gt=0, lt=1)] | None = None
    rg_transverse: Annotated[float, Field(gt=0, lt=1)] | None = None
    rg_longitudinal: Annotated[float, Field(gt=0, lt=1)] | None = None
    digits: dict[str, int]

    def half_digit(self, column: str) -> float:
        """Return half of the last printed decimal of a column."""
        return 0.5 * 10.0 ** -self.digits[column]


class Misprint(Record):
    """A printed number that contradicts the table's other numbers."""

    segment: str
    column: Column
    printed: float
    consistent: float
    reason: str


class PartEntry(Record):
    """How one line of a table rides on a link of the model.

    Attributes
    ----------
    start, end : float or None
        Where the segment's ends lie, as fractions of the link; None: by the table's places for
        trunk and head, from end to end for limbs.
    radius : float or None
        Radius of gyration as a fraction of the segment, where the table prints none.
    """

    segment: str
    link: LinkName
    count: Literal[1, 2]
    start: float | None = Field(default=None, alias="from")
    end: float | None = Field(default=None, alias="to")
    radius: float | None = None
    reason: str = ""


class TableEntry(Record):
    """One published table.

    Attributes
    ----------
    whole : mapping of segment to count
        Segments that make one body.
    places : mapping of str to float
        Heights along the trunk above the hip, in one unit.
    link_ends : mapping of our point to place
    same : tuple of tuples of str
        Lines that print one segment with different ends.
    """

    title: str
    source: str
    radius: Column
    whole: dict[str, int]
    parts: tuple[PartEntry, ...]
    places: dict[str, float]
    places_note: Sourced
    link_ends: dict[str, str]
    misprints: tuple[Misprint, ...] = ()
    same: tuple[tuple[str, ...], ...] = ()
    printed: dict[str, Printed]

    def segment_ends(self, segment: str) -> tuple[float, float]:
        """Return the heights of a segment's proximal and distal end; KeyError without a place."""
        start, _, end = self.printed[segment].ends.partition("-")
        return self.places[start], self.places[end]

    def ends_on_link(self, part: PartEntry) -> tuple[float, float]:
        """Return where a part begins and ends, as fractions of its link."""
        if part.start is not None and part.end is not None:
            return part.start, part.end
        proximal, distal = LINKS[part.link]
        if proximal not in self.link_ends or distal not in self.link_ends:
            return 0.0, 1.0
        a, b = self.places[self.link_ends[proximal]], self.places[self.link_ends[distal]]
        start, end = self.segment_ends(part.segment)
        return (start - a) / (b - a), (end - a) / (b - a)

    def build_parts(self, table: str) -> Parts:
        """Return the parts that the mechanics use, their masses brought to a sum of exactly 1."""
        lines = [self.printed[part.segment] for part in self.parts]
        ends = np.array([self.ends_on_link(part) for part in self.parts])
        radii = np.array(
            [
                part.radius if part.radius is not None else getattr(line, self.radius)
                for part, line in zip(self.parts, lines, strict=True)
            ]
        )
        mass = np.array([part.count * self.printed[part.segment].mass for part in self.parts])
        span = ends[:, 1] - ends[:, 0]
        return Parts(
            table=table,
            names=tuple(part.segment for part in self.parts),
            links=tuple(part.link for part in self.parts),
            mass=mass / mass.sum(),
            along=ends[:, 0] + np.array([line.cm_prox for line in lines]) * span,
            radius=radii * np.abs(span),
        )


class Fraction(Sourced):
    """A length as a fraction of stature."""

    value: Annotated[float, Field(gt=0, lt=1)]


class Assumed(Sourced):
    """A number that the handstand model rests on."""

    value: float
    unit: str


class SegmentCatalogue(Record):
    """Segment tables, lengths, and what the handstand model assumes.

    Attributes
    ----------
    version : str
        Changes with every changed byte of the files; stored with results.
    """

    version: str
    sources: dict[str, Source]
    tables: dict[str, TableEntry]
    lengths: dict[str, Fraction]
    handstand: dict[str, Assumed]

    def parts(self, table: str) -> Parts:
        """Return the parts of one table."""
        return self.tables[table].build_parts(table)

    def all_parts(self) -> tuple[Parts, ...]:
        """Return the parts of every table, in the catalogue's order."""
        return tuple(self.parts(table) for table in self.tables)

    @property
    def trunk_fraction(self) -> float:
        """Where the lower back bends, from hip (0) to shoulder (1)."""
        return self.assumed("trunk_fraction")

    def assumed(self, name: str) -> float:
        """Return the value of one assumption, in the unit its entry names."""
        return self.handstand[name].value

    def link_fractions(self) -> Mapping[str, float]:
        """Return the length of every link as a fraction of stature."""
        fractions = {name: entry.value for name, entry in self.lengths.items()}
        trunk = fractions.pop("trunk")
        lower = self.trunk_fraction * trunk
        return {**fractions, "upper_trunk": trunk - lower, "lower_trunk": lower}
