"""Years before or after the fastest growth, by published equations, and what they are worth."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from chordline.core.progress.abstained import Abstained
from chordline.core.progress.growth_age import Sex

SizeName = Literal[
    "age_years", "stature_cm", "sitting_cm", "leg_cm", "mass_kg", "mass_over_stature_pct"
]
#: What to bear in mind; words are made elsewhere.
Caution = Literal["misjudges-early-and-late", "outside-best-ages"]


@dataclass(frozen=True)
class Size:
    """What a child was measured at.

    Attributes
    ----------
    age_years : float [years]
    stature_cm : float [cm]
    sitting_cm : float or None [cm]
        Sitting height; None where it was not taken.
    mass_kg : float or None [kg]
    """

    age_years: float
    stature_cm: float
    sitting_cm: float | None = None
    mass_kg: float | None = None

    def get(self, name: SizeName) -> float | None:
        """Return one figure, or None where it was not measured.

        Leg length is stature − sitting height. `mass_over_stature_pct` is kg per cm × 100.
        """
        if name == "leg_cm":
            return None if self.sitting_cm is None else self.stature_cm - self.sitting_cm
        if name == "mass_over_stature_pct":
            return None if self.mass_kg is None else 100.0 * self.mass_kg / self.stature_cm
        value: float | None = getattr(self, name)
        return value


@dataclass(frozen=True)
class Term:
    """A coefficient times the product of some figures."""

    coefficient: float
    of: tuple[SizeName, ...]


@dataclass(frozen=True)
class MaturityEquation:
    """One published equation for one sex.

    Attributes
    ----------
    name : str
    sex : Sex
    intercept : float [years]
    terms : tuple of Term
    error_years : float [years]
        Standard error of estimate in the children that it was made from.
    error_elsewhere_years : float or None [years]
        Root mean square error in other children, where somebody looked.
    from_years, to_years : float [years]
        Ages of the children that it was made from.
    best_from_years, best_to_years : float [years]
        Ages at which it is said to work best.
    """

    name: str
    sex: Sex
    intercept: float
    terms: tuple[Term, ...]
    error_years: float
    error_elsewhere_years: float | None
    from_years: float
    to_years: float
    best_from_years: float
    best_to_years: float


@dataclass(frozen=True)
class MaturityOffset:
    """Where a child stands by one equation.

    Attributes
    ----------
    equation : str
    offset_years : float [years]
        From the fastest growth: negative before, positive after.
    age_at_peak_years : float [years]
        Predicted age at the fastest growth.
    error_years : float [years]
        The larger of the equation's own error and its error in other children.
    cautions : tuple of Caution
    """

    equation: str
    offset_years: float
    age_at_peak_years: float
    error_years: float
    cautions: tuple[Caution, ...]


@dataclass(frozen=True)
class Maturity:
    """What the equations say together.

    Attributes
    ----------
    offsets : tuple of MaturityOffset
    untold : mapping of equation to Abstained
    apart_years : float or None [years]
        Largest less smallest offset; None with fewer than two.
    disagree : bool
        They lie further apart than the caller allows: tell both or neither.
    """

    offsets: tuple[MaturityOffset, ...]
    untold: dict[str, Abstained]
    apart_years: float | None
    disagree: bool


def predict_offset(equation: MaturityEquation, size: Size) -> MaturityOffset | Abstained:
    """Return the maturity offset by one equation.

    Parameters
    ----------
    equation : MaturityEquation
    size : Size

    Returns
    -------
    MaturityOffset or Abstained
        A figure it takes was not measured or cannot be, or the age is outside the ages of the
        children that the equation was made from.

    Notes
    -----
    All these equations draw everybody towards the average: who matures early is predicted too
    late, who matures late too early, the more the further away the peak is. Gymnasts often mature
    late. Therefore the caution stands on every result.

    References
    ----------
    mirwald-2002; moore-2015; malina-koziel-2014.
    """
    fault = _check_size(size)
    if fault is not None:
        return fault
    if size.age_years < equation.from_years:
        return Abstained("age-below-table", have=size.age_years, need=equation.from_years)
    if size.age_years > equation.to_years:
        return Abstained("age-above-table", have=size.age_years, need=equation.to_years)
    offset = equation.intercept
    for term in equation.terms:
        figures = [size.get(name) for name in term.of]
        if any(figure is None for figure in figures):
            return Abstained("not-measured")
        offset += term.coefficient * float(np.prod(np.array(figures, dtype=np.float64)))
    best = equation.best_from_years <= size.age_years <= equation.best_to_years
    return MaturityOffset(
        equation=equation.name,
        offset_years=offset,
        age_at_peak_years=size.age_years - offset,
        error_years=max(equation.error_years, equation.error_elsewhere_years or 0.0),
        cautions=("misjudges-early-and-late", *(() if best else ("outside-best-ages",))),
    )


def judge_maturity(
    equations: Sequence[MaturityEquation], sex: Sex | None, size: Size, *, allowed_years: float
) -> Maturity | Abstained:
    """Return what all equations for a child's sex say, and whether they agree.

    Parameters
    ----------
    equations : sequence of MaturityEquation
        Of both sexes.
    sex : Sex or None
        None where it was not said.
    size : Size
    allowed_years : float [years]
        How far apart offsets may lie.

    Notes
    -----
    Agreement is no proof: the equations were made from the same children.
    """
    if sex is None:
        return Abstained("sex-not-said")
    offsets, untold = [], {}
    for equation in equations:
        if equation.sex == sex:
            told = predict_offset(equation, size)
            if isinstance(told, Abstained):
                untold[equation.name] = told
            else:
                offsets.append(told)
    values = [one.offset_years for one in offsets]
    apart = max(values) - min(values) if len(values) > 1 else None
    return Maturity(
        offsets=tuple(offsets),
        untold=untold,
        apart_years=apart,
        disagree=apart is not None and apart > allowed_years,
    )


def _check_size(size: Size) -> Abstained | None:
    figures = [size.age_years, size.stature_cm, size.sitting_cm, size.mass_kg]
    known = [figure for figure in figures if figure is not None]
    if any(np.isnan(figure) for figure in known):
        return Abstained("not-measured")
    if min(known) <= 0.0:
        return Abstained("impossible-size", have=min(known), need=0.0)
    if size.sitting_cm is not None and size.sitting_cm >= size.stature_cm:
        return Abstained("impossible-size", have=size.sitting_cm, need=size.stature_cm)
    return None
