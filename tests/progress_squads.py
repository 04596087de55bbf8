"""Gymnasts through time, drawn from the progress model itself or from a known course.

`follow` draws one gymnast: her capacities on each day, her lasting offsets and misfits, and what
the tests of each day show. Values have the errors that the model reckons with, times `noise`.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from chordline.catalogue.progress import (
    build_change_rules,
    build_marker,
    build_progress_model,
    build_retest_rules,
    load_progress,
)
from chordline.core.capacity.observed import HOLD_MEASURE, Held, Observed, gather
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
    model_sds = np.array([row.model_sd for row in MODEL.capacities.rows])
    misfits = np.sqrt(MODEL.misfit_share) * model_sds * rng.normal(size=len(model_sds))
    screens = []
    for day, course, marker in zip(days, truth, each, strict=True):
        offsets = lasting[marker.name] + np.sqrt(marker.fresh_variances) * rng.normal(size=K)
        state = np.concatenate([course, offsets])
        shown = MODEL.capacities.matrix @ state + MODEL.capacities.intercepts + misfits
        today = [test for test in tests if rng.random() >= left_out]
        observed, held = _take(shown, today, rng, noise, cap_s)
        screens.append(ScreenAt(day, gather(MODEL.capacities, observed, held), marker))
    return Followed(tuple(screens), truth)


def _take(
    shown: Floats, tests: Sequence[str], rng: np.random.Generator, noise: float, cap_s: float
) -> tuple[list[Observed], list[Held]]:
    observed, held = [], []
    rows = MODEL.capacities.rows
    for test in tests:
        photo = [i for i in MODEL.capacities.by_test[test] if rows[i].measure != HOLD_MEASURE]
        typical = np.array([rows[i].typical_sd for i in photo])
        fresh = [
            rows[i].repeat_sd ** 2 + (1.0 - MODEL.misfit_share) * rows[i].model_sd ** 2
            for i in MODEL.capacities.by_test[test]
        ]
        own = dict(zip(MODEL.capacities.by_test[test], fresh, strict=True))
        if photo:
            sds = np.sqrt(typical**2 + [own[i] for i in photo])
            observed.append(
                Observed(
                    source=f"{test}.jpg",
                    test=test,
                    names=tuple(rows[i].measure for i in photo),
                    values=shown[photo] + noise * sds * rng.normal(size=len(photo)),
                    covariance=np.diag(typical**2),
                )
            )
        for i in set(own) - set(photo):
            sd = noise * np.sqrt(own[i] + HOLD_REL_SD**2)
            seconds = float(np.exp(shown[i] + sd * rng.normal()))
            held.append(Held("clock", test, min(seconds, cap_s), HOLD_REL_SD, seconds >= cap_s))
    return observed, held
