"""Gymnasts through time, drawn from the progress model itself or from a known course.

`follow` draws one gymnast: her capacities on each day, her lasting offsets and misfits, and what
the tests of each day show. Values have the errors that the model reckons with, times `noise`.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache

import numpy as np
from numpy.typing import NDArray

from chordline.catalogue.progress import (
    build_change_rules,
    build_marker,
    build_progress_model,
    build_retest_rules,
    load_progress,
)
from chordline.core.capacity.observed import HOLD_MEASURE, Gathered, Held, Observed, gather
from chordline.core.capacity.update import Evidence
from chordline.core.geometry.angles import Floats
from chordline.core.progress.timeline import Marker, ProgressModel, ScreenAt
from screen_stories import CATALOGUE

PROGRESS = load_progress(CATALOGUE)
MODEL: ProgressModel = build_progress_model(CATALOGUE, PROGRESS)
CHANGE_RULES = build_change_rules(CATALOGUE, PROGRESS)
RETEST_RULES = build_retest_rules(CATALOGUE, PROGRESS)
HAND = build_marker(CATALOGUE, PROGRESS, by_hand=True)
AUTO = build_marker(CATALOGUE, PROGRESS, by_hand=False)
N, K = len(MODEL.names), len(HAND.offset_sds)
HOLD_REL_SD = CATALOGUE.setting("hold_rel_sd")
MODEL_SDS = np.array([row.model_sd for row in MODEL.capacities.rows])
#: What a coach can do with each gymnast in three minutes, and all tests.
SHORT_SCREEN = ("prone-overhead", "handstand", "prone-active", "supine-braced", "prone-rounded")
BATTERY = tuple(MODEL.capacities.by_test)


def place(capacity: str) -> int:
    """Return the place of a capacity."""
    return MODEL.names.index(capacity)


@dataclass(frozen=True)
class Followed:
    """A gymnast's screens and what is true of her: (screens, n) shortfalls."""

    screens: tuple[ScreenAt, ...]
    truth: Floats


def wander(days: Sequence[int], rng: np.random.Generator, *, start: Floats | None = None) -> Floats:
    """Draw a course of shortfalls from the model, (days, n)."""
    prior = MODEL.capacities.prior(by_hand=True)
    first = prior.mean[:N] + prior.sd[:N] * rng.normal(size=N) if start is None else start
    steps = np.sqrt(np.diff(days)[:, None] * MODEL.wander_variance_per_day)
    moves = steps * rng.normal(size=steps.shape)
    return np.vstack([first, first + np.cumsum(moves, axis=0)])


def follow(
    days: Sequence[int],
    truth: Floats,
    rng: np.random.Generator,
    *,
    tests: Sequence[str] = BATTERY,
    markers: Sequence[Marker] | Marker = HAND,
    noise: float = 1.0,
    left_out: float = 0.0,
    cap_s: float = np.inf,
) -> Followed:
    """Draw the screens of one gymnast whose shortfalls on each day are known."""
    each = [markers] * len(days) if isinstance(markers, Marker) else list(markers)
    used = {one.name: one for one in each}
    lasting = {
        name: np.sqrt(one.lasting_variances) * rng.normal(size=K) for name, one in used.items()
    }
    misfits = np.sqrt(MODEL.misfit_share) * MODEL_SDS * rng.normal(size=len(MODEL_SDS))
    screens = []
    for day, course, marker in zip(days, truth, each, strict=True):
        offsets = lasting[marker.name] + np.sqrt(marker.fresh_variances) * rng.normal(size=K)
        state = np.concatenate([course, offsets])
        shown = MODEL.capacities.matrix @ state + MODEL.capacities.intercepts + misfits
        today = [test for test in tests if rng.random() >= left_out]
        screens.append(ScreenAt(day, _take(shown, today, rng, noise, cap_s), marker))
    return Followed(tuple(screens), truth)


@dataclass(frozen=True)
class Taken:
    """What is the same whenever a test is taken.

    `photo` and `held` are its rows in the model; `sds` and `held_sds` what a take adds to what they
    show, `typical` the covariance that is told.
    """

    test: str
    photo: NDArray[np.intp]
    names: tuple[str, ...]
    sds: Floats
    typical: Floats
    held: tuple[int, ...]
    held_sds: tuple[float, ...]


@cache
def _taken(test: str) -> Taken:
    rows = MODEL.capacities.rows
    of_test = MODEL.capacities.by_test[test]
    fresh = {
        i: rows[i].repeat_sd ** 2 + (1.0 - MODEL.misfit_share) * rows[i].model_sd ** 2
        for i in of_test
    }
    photo = [i for i in of_test if rows[i].measure != HOLD_MEASURE]
    held = tuple(set(of_test) - set(photo))
    typical = np.array([rows[i].typical_sd for i in photo])
    return Taken(
        test=test,
        photo=np.array(photo, dtype=np.intp),
        names=tuple(rows[i].measure for i in photo),
        sds=np.sqrt(typical**2 + [fresh[i] for i in photo]),
        typical=np.diag(typical**2),
        held=held,
        held_sds=tuple(float(np.sqrt(fresh[i] + HOLD_REL_SD**2)) for i in held),
    )


def _take(
    shown: Floats, tests: Sequence[str], rng: np.random.Generator, noise: float, cap_s: float
) -> Gathered:
    parts, held = [], []
    for one in map(_taken, tests):
        if one.names:
            drawn = rng.normal(size=len(one.names))
            parts.append(_gathered(one.test, shown[one.photo] + noise * one.sds * drawn))
        for i, sd in zip(one.held, one.held_sds, strict=True):
            seconds = float(np.exp(shown[i] + noise * sd * rng.normal()))
            held.append(Held("clock", one.test, min(seconds, cap_s), HOLD_REL_SD, seconds >= cap_s))
    return put_together([*parts, gather(MODEL.capacities, [], held)])


def observed(test: str, values: Floats) -> Observed:
    """A photo of a test."""
    one = _taken(test)
    return Observed(f"{test}.jpg", test, one.names, values, one.typical)


@cache
def _gathered_once(test: str) -> Gathered:
    return gather(MODEL.capacities, [observed(test, np.zeros(len(_taken(test).names)))])


def _gathered(test: str, values: Floats) -> Gathered:
    """What `gather` gives for one photo: of two takes of a test only the values differ."""
    once = _gathered_once(test)
    return replace(once, evidence=replace(once.evidence, values=values))


def put_together(parts: Sequence[Gathered]) -> Gathered:
    """What `gather` gives for a screen, from what it gives for each of its tests, holds last."""
    each = [one.evidence for one in parts]
    values = np.concatenate([one.values for one in each])
    noise = np.zeros((len(values), len(values)))
    first = 0
    for one in each:
        own = slice(first, first + len(one.values))
        noise[own, own] = one.noise
        first = own.stop
    return Gathered(
        evidence=Evidence(
            values=values,
            matrix=np.concatenate([one.matrix for one in each]),
            intercepts=np.concatenate([one.intercepts for one in each]),
            noise=noise,
        ),
        bounds=tuple(bound for one in parts for bound in one.bounds),
        labels=tuple(label for one in parts for label in one.labels),
        faults=tuple(fault for one in parts for fault in one.faults),
    )
