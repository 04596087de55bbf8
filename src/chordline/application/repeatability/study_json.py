"""What the club's studies say as JSON-ready dictionaries, `chordline.repeatability/1`."""

from dataclasses import asdict
from typing import Any

from chordline.application.repeatability.noise_json import noise_to_json
from chordline.application.repeatability.study_results import MeasureResult, Pair, StudyResults
from chordline.application.repeatability.takes import TakesOfTest
from chordline.application.repeatability.use_noise import Known
from chordline.core.progress.abstained import Abstained
from chordline.core.progress.agreement_limits import Bounded, Limits
from chordline.core.progress.repeatability import Repeatability
from chordline.core.progress.repeatability_pooled import PooledSd
from chordline.core.progress.repeatability_sources import Component, Sources

SCHEMA = "chordline.repeatability/1"


def known_to_json(known: Known) -> dict[str, Any]:
    """Return everything that the club's studies say."""
    return {
        "schema": SCHEMA,
        "study": None if known.results is None else results_to_json(known.results),
        "takes": [_takes_to_json(one) for one in known.takes],
        "noise": noise_to_json(known.proposed),
        "in_use": None if known.in_use is None else dict(known.in_use.record),
    }


def results_to_json(results: StudyResults) -> dict[str, Any]:
    """Return what a study of marks says."""
    study = results.study
    return {
        "id": study.id,
        "begun_at": study.begun_at.isoformat(),
        "seed": study.seed,
        "twice": study.twice,
        "photos": len(study.photos),
        "coaches": [asdict(one) for one in results.coaches],
        "measures": {one.name: _measure_to_json(one) for one in results.measures},
    }


def _measure_to_json(one: MeasureResult) -> dict[str, Any]:
    return {
        "unit": one.unit,
        "photos": one.photos,
        "between_coaches": _repeatability_to_json(one.between),
        "within_coach": {coach: _repeatability_to_json(said) for coach, said in one.within.items()},
        "sources": _sources_to_json(one.sources),
        "pairs": [_pair_to_json(pair) for pair in one.pairs],
        "predicted_sd": _rounded(one.predicted_sd),
        "predicted_definition_sd": _rounded(one.predicted_definition_sd),
    }


def _repeatability_to_json(said: Repeatability | Abstained) -> dict[str, Any]:
    if isinstance(said, Abstained):
        return _none(said)
    return {
        "subjects": said.agreement.mean_squares.subjects,
        "left_out": said.agreement.left_out,
        "icc": {
            form: {
                "value": _rounded(icc.value),
                "low": _rounded(icc.low),
                "high": _rounded(icc.high),
            }
            for form, icc in said.agreement.icc.items()
        },
        "sem": _bounded(said.sem),
        "sem_any_rater": _rounded(said.sem_any_rater),
        "mdc95": _bounded(said.mdc95),
        "mdc95_any_rater": _rounded(said.mdc95_any_rater),
    }


def _sources_to_json(said: Sources | Abstained) -> dict[str, Any]:
    if isinstance(said, Abstained):
        return _none(said)
    return {
        name: _component_to_json(getattr(said, name))
        for name in ("within_coach", "coach_by_photo", "coach_offset")
    } | {"subjects": said.subjects, "left_out": said.left_out}


def _component_to_json(one: Component | Abstained) -> dict[str, Any]:
    if isinstance(one, Abstained):
        return _none(one)
    return {
        "sd": _rounded(one.sd),
        "low": _rounded(one.low**0.5),
        "high": _rounded(one.high**0.5),
        "too_small": one.cut,
    }


def _pair_to_json(pair: Pair) -> dict[str, Any]:
    who = {"first": pair.first, "second": pair.second}
    return who | (
        _none(pair.limits) if isinstance(pair.limits, Abstained) else _limits(pair.limits)
    )


def _limits(said: Limits) -> dict[str, Any]:
    return {
        "pairs": said.pairs,
        "left_out": said.left_out,
        "bias": _bounded(said.bias),
        "sd": _rounded(said.sd),
        "lower": _bounded(said.lower),
        "upper": _bounded(said.upper),
    }


def _takes_to_json(one: TakesOfTest) -> dict[str, Any]:
    return {
        "test": one.test,
        "pairs": one.pairs,
        "missing": one.missing,
        "measures": {
            figures.measure: _pooled_to_json(figures.pooled)
            | {"unit": figures.unit, "pairs": len(figures.firsts)}
            for figures in one.measures
        },
    }


def _pooled_to_json(said: PooledSd | Abstained) -> dict[str, Any]:
    if isinstance(said, Abstained):
        return _none(said)
    return {"sd": _bounded(said.sd), "shift": _bounded(said.shift), "left_out": said.left_out}


def _none(why: Abstained) -> dict[str, Any]:
    return {"none": why.reason, "have": why.have, "need": why.need}


def _bounded(one: Bounded) -> dict[str, float | None]:
    return {"value": _rounded(one.value), "low": _rounded(one.low), "high": _rounded(one.high)}


def _rounded(value: float) -> float | None:
    """Return four digits; JSON has no word for an interval without an end."""
    return float(f"{value:.4g}") if abs(value) < float("inf") else None
