"""From a club's studies to its own errors: our defaults give way step by step."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from chordline.application.repeatability.study_results import JOINTS, MeasureResult, StudyResults
from chordline.application.repeatability.takes import TakeFigures, TakesOfTest
from chordline.catalogue.schema import Catalogue
from chordline.core.progress.repeatability_pooled import PooledSd, shrink_sd
from chordline.core.progress.repeatability_sources import Component, Sources

#: A default is trusted like a study of ten degrees of freedom, plus the two that `shrink_sd` takes
#: (assumption: ten pairs are what a study needs to be heard at all; with as many it weighs alike).
DEFAULT_FREEDOM = 12.0

#: What an error is of: another marking; where a joint is, for all photos of a coach; the same in
#: the capacity model; another take of one test.
Kind = Literal["marking", "definition", "offset", "take"]
#: The offset of the capacity model that a joint's definition moves.
_OFFSETS = {
    "shoulder_offset_deg": "shoulder_opening_deg",
    "hip_offset_deg": "hip_opening_deg",
}


@dataclass(frozen=True)
class OwnError:
    """One error as a club's own study has it.

    Attributes
    ----------
    kind : Kind
    name : str
        Of the setting or of the model's offset; of a take, the measure.
    test : str
        Of a take; else empty.
    label, unit : str
    default_sd : float
        Ours.
    own_sd : float
        The study's alone.
    freedom : float
        Degrees of freedom of the study.
    sd, low, high : float
        What is used: between both by what each is worth, with its interval.
    own_share : float
        Weight of the study, 0 to 1.
    """

    kind: Kind
    name: str
    test: str
    label: str
    unit: str
    default_sd: float
    own_sd: float
    freedom: float
    sd: float
    low: float
    high: float
    own_share: float


@dataclass(frozen=True)
class OwnNoise:
    """All errors that a club found for itself.

    Attributes
    ----------
    errors : tuple of OwnError
    study_id : int or None
        The study of marks behind them.
    without : tuple of str
        Coaches who were left out.
    """

    errors: tuple[OwnError, ...]
    study_id: int | None = None
    without: tuple[str, ...] = ()


def propose_noise(
    results: StudyResults | None, takes: Sequence[TakesOfTest], catalogue: Catalogue
) -> OwnNoise:
    """Return the club's own errors, as far as its studies carry them.

    Parameters
    ----------
    results : StudyResults or None
    takes : sequence of TakesOfTest
    catalogue : Catalogue
        With our defaults.

    Notes
    -----
    Marking: what another marking of a photo changes, offsets between coaches apart, over what our
    pixels predict for the same photos; the mean over the joints scales `hand_mark_sd_px`. The
    joints share their marks, so their degrees of freedom are not added up.

    Definition: offsets between coaches. They may widen our default and never narrow it, because
    coaches of one club who learned from one another can all be wrong alike.

    Takes: the scatter of the pairs less that of the landmarks is what she herself changes. Where
    they were set by hand, the club's own error of a marking is taken off, not our default.

    Each is shrunk to our default (`shrink_sd`), so an error never falls further than the study's
    weight allows, and never to nothing.
    """
    errors = [] if results is None else _of_marks(results.measures, catalogue)
    wider = next((one.sd / one.default_sd for one in errors if one.kind == "marking"), 1.0)
    errors += [
        _take(figures, figures.pooled, default_sd, wider=wider)
        for one in takes
        for figures in one.measures
        if isinstance(figures.pooled, PooledSd)
        if (default_sd := catalogue.model[one.test][figures.measure].repeat_sd) > 0.0
    ]
    return OwnNoise(
        tuple(errors),
        None if results is None or not results.says_something else results.study.id,
        () if results is None else tuple(one.coach for one in results.coaches if one.left_out),
    )


def _of_marks(measures: Sequence[MeasureResult], catalogue: Catalogue) -> list[OwnError]:
    read = {
        one.name: (one, one.sources)
        for one in measures
        if one.name in JOINTS and isinstance(one.sources, Sources)
    }
    errors = []
    scaled = [
        (variance / one.predicted_sd**2, freedom)
        for one, sources in read.values()
        if (variance_of := _marking(sources)) is not None and one.predicted_sd > 0.0
        for variance, freedom in (variance_of,)
    ]
    if scaled:
        errors.append(_setting("marking", "hand_mark_sd_px", scaled, catalogue))
    offsets = {
        name: (one, sources.coach_offset)
        for name, (one, sources) in read.items()
        if isinstance(sources.coach_offset, Component)
    }
    ratios = [
        (offset.variance / one.predicted_definition_sd**2, float(offset.freedom))
        for one, offset in offsets.values()
        if one.predicted_definition_sd > 0.0
    ]
    if ratios:
        errors.append(_setting("definition", "hand_definition_pct", ratios, catalogue))
    errors += [
        _shrunk(
            kind="offset",
            name=name,
            label=f"{offsets[measure][0].label}, by whoever marks",
            unit=offsets[measure][0].unit,
            default_sd=entry.hand_sd,
            own_sd=offsets[measure][1].sd,
            freedom=float(offsets[measure][1].freedom),
            widens_only=True,
        )
        for name, entry in catalogue.nuisances.items()
        if (measure := _OFFSETS.get(name, "")) in offsets
    ]
    return errors


def _marking(sources: Sources) -> tuple[float, float] | None:
    """Return variance and degrees of freedom of one marking, offsets between coaches apart."""
    within, crossed = sources.within_coach, sources.coach_by_photo
    if not isinstance(within, Component):
        return (
            (crossed.variance, float(crossed.freedom)) if isinstance(crossed, Component) else None
        )
    if not isinstance(crossed, Component) or crossed.cut:
        return within.variance, float(within.freedom)
    # Satterthwaite: crossed = (M − within) / 2 of two mean squares, two markings a photo.
    parts = crossed.variance + within.variance / 2.0, within.variance / 2.0
    total = sum(parts)
    if total == 0.0:
        return 0.0, float(within.freedom)
    weights = parts[0] ** 2 / crossed.freedom + parts[1] ** 2 / within.freedom
    return total, total**2 / weights


def _setting(
    kind: Kind, name: str, ratios: Sequence[tuple[float, float]], catalogue: Catalogue
) -> OwnError:
    """Return a setting scaled by a mean ratio of variances."""
    default = catalogue.settings[name]
    ratio = float(np.mean([ratio for ratio, _ in ratios]))
    return _shrunk(
        kind=kind,
        name=name,
        label={"marking": "Setting a mark", "definition": "Where exactly a joint is"}[kind],
        unit=default.unit,
        default_sd=default.value,
        own_sd=default.value * float(np.sqrt(ratio)),
        freedom=float(np.mean([freedom for _, freedom in ratios])),
        widens_only=kind == "definition",
    )


def _take(one: TakeFigures, pooled: PooledSd, default_sd: float, *, wider: float) -> OwnError:
    """Return what she changes from take to take; `wider`: a hand's error over our default."""
    marks = (wider * one.hand_mark_sd) ** 2 + one.auto_mark_sd**2
    scatter = max(0.0, pooled.sd.value**2 - marks)
    return _shrunk(
        kind="take",
        name=one.measure,
        test=one.test,
        label=one.label,
        unit=one.unit,
        default_sd=default_sd,
        own_sd=float(np.sqrt(scatter)),
        freedom=float(pooled.freedom),
    )


def _shrunk(
    *,
    kind: Kind,
    name: str,
    label: str,
    unit: str,
    default_sd: float,
    own_sd: float,
    freedom: float,
    test: str = "",
    widens_only: bool = False,
) -> OwnError:
    shrunk = shrink_sd(
        default_sd=default_sd,
        default_freedom=DEFAULT_FREEDOM,
        own_sd=own_sd,
        own_freedom=freedom,
    )
    narrower = widens_only and shrunk.sd.value < default_sd
    return OwnError(
        kind=kind,
        name=name,
        test=test,
        label=label,
        unit=unit,
        default_sd=default_sd,
        own_sd=own_sd,
        freedom=freedom,
        sd=default_sd if narrower else shrunk.sd.value,
        low=shrunk.sd.low,
        high=max(shrunk.sd.high, default_sd) if narrower else shrunk.sd.high,
        own_share=shrunk.own_share,
    )
