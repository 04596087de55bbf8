"""The shape of the growth reference and the maturity equations."""

from typing import Annotated

import numpy as np
from pydantic import Field, model_validator

from chordline.catalogue.schema import Record, Setting, Source, Sourced
from chordline.core.progress.growth_age import Sex
from chordline.core.progress.growth_lms import GrowthTable
from chordline.core.progress.growth_maturity import MaturityEquation, SizeName, Term
from chordline.core.progress.growth_velocity import GrowthRules

Years = Annotated[float, Field(gt=0, lt=25)]


class GrowthSource(Source):
    """A source, and what its owner asks of whoever passes the figures on."""

    terms: str = ""


class GrowthRow(Record):
    """One line of a table, as printed: sex 1 = boys, 2 = girls; age in months."""

    sex: Annotated[int, Field(ge=1, le=2)]
    age: Annotated[int, Field(ge=0, le=240)]
    l: Annotated[float, Field(ge=-5, le=5)]  # noqa: E741 - the column's name
    m: Annotated[float, Field(gt=0)]
    s: Annotated[float, Field(gt=0, lt=1)]


class GrowthTableEntry(Sourced):
    """One measure of the growth reference.

    Attributes
    ----------
    file : str
        A CSV file beside this one.
    unit : str
    skewed : bool
        Scores beyond ±3 go on linearly.
    lowest_z, highest_z : float
        Beyond these the figures are looked at again.
    rows : tuple of GrowthRow
    """

    file: str
    unit: str
    skewed: bool
    lowest_z: Annotated[float, Field(lt=0)]
    highest_z: Annotated[float, Field(gt=0)]
    rows: tuple[GrowthRow, ...]

    def build_table(self, measure: str, sex: Sex) -> GrowthTable:
        """Return the table of one sex."""
        rows = [row for row in self.rows if row.sex == SEX_CODES[sex]]
        return GrowthTable(
            measure=measure,
            unit=self.unit,
            sex=sex,
            first_month=rows[0].age,
            power=np.array([row.l for row in rows]),
            median=np.array([row.m for row in rows]),
            spread=np.array([row.s for row in rows]),
            skewed=self.skewed,
            lowest_z=self.lowest_z,
            highest_z=self.highest_z,
        )


#: How the tables write the sexes.
SEX_CODES: dict[Sex, int] = {"boy": 1, "girl": 2}


class TermEntry(Record):
    """A coefficient and the figures whose product it multiplies."""

    coefficient: float
    of: Annotated[tuple[SizeName, ...], Field(min_length=1)]


class MaturityEntry(Sourced):
    """One maturity equation for one sex; units and meanings as in `MaturityEquation`."""

    sex: Sex
    intercept: float
    terms: Annotated[tuple[TermEntry, ...], Field(min_length=1)]
    error_years: Years
    error_elsewhere_years: Years | None = None
    from_years: Years
    to_years: Years
    best_from_years: Years
    best_to_years: Years

    @model_validator(mode="after")
    def _ages_in_order(self) -> "MaturityEntry":
        ages = (self.from_years, self.best_from_years, self.best_to_years, self.to_years)
        if list(ages) != sorted(ages):
            raise ValueError("the best ages do not lie within the ages from … to")
        return self

    def build_equation(self, name: str) -> MaturityEquation:
        """Return the equation that core computes with."""
        return MaturityEquation(
            name=name,
            sex=self.sex,
            intercept=self.intercept,
            terms=tuple(Term(term.coefficient, term.of) for term in self.terms),
            error_years=self.error_years,
            error_elsewhere_years=self.error_elsewhere_years,
            from_years=self.from_years,
            to_years=self.to_years,
            best_from_years=self.best_from_years,
            best_to_years=self.best_to_years,
        )


class GrowthCatalogue(Record):
    """Growth reference, maturity equations, and what growth figures rest on.

    Attributes
    ----------
    version : str
        Changes with every changed byte of the files; stored with results.
    """

    version: str
    sources: dict[str, GrowthSource]
    tables: dict[str, GrowthTableEntry]
    maturity: dict[str, MaturityEntry]
    settings: dict[str, Setting]

    def table(self, measure: str, sex: Sex | None) -> GrowthTable | None:
        """Return the table of one measure and sex; None where the sex was not said."""
        return None if sex is None else self.tables[measure].build_table(measure, sex)

    def equations(self) -> tuple[MaturityEquation, ...]:
        """Return the maturity equations of both sexes, in the catalogue's order."""
        return tuple(entry.build_equation(name) for name, entry in self.maturity.items())

    def setting(self, name: str) -> float:
        """Return the value of one setting, in the unit its entry names."""
        return self.settings[name].value

    def rules(self) -> GrowthRules:
        """Return what a growth velocity rests on."""
        return GrowthRules(
            stature_sd_cm=self.setting("stature_sd"),
            least_years=self.setting("least_span"),
            most_years=self.setting("most_span"),
            shrunk_sds=self.setting("shrunk_sds"),
        )
