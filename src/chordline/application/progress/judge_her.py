"""One timeline judged: curve, changes, and when to test again."""

from collections.abc import Mapping, Sequence
from datetime import date, timedelta

from chordline.application.progress.ask import repeat_worth_most
from chordline.application.progress.curves import curves_of
from chordline.application.progress.dose import minutes_by_capacity
from chordline.application.progress.numbers import ProgressNumbers
from chordline.application.progress.plans import work_of
from chordline.application.progress.timelines import Counted, HerTimeline, work_between
from chordline.application.progress.told import (
    CapacityProgress,
    HerRetest,
    Progress,
    Since,
    Standing,
    standing_of,
)
from chordline.core.estimate import Estimate
from chordline.core.geometry.angles import Floats
from chordline.core.planning.problem import Exercise
from chordline.core.progress.change import Change, find_changes_of_all
from chordline.core.progress.change_measured import MeasuredChange, compare_measures
from chordline.core.progress.filter import know_now
from chordline.core.progress.power import planned_rows
from chordline.core.progress.retest import Why, earliest_retest
from chordline.core.progress.smoother import Curve, smooth_timelines
from chordline.core.progress.timeline import Timeline
from chordline.core.progress.timeline_layout import Plan


def judge_her(
    hers: HerTimeline,
    numbers: ProgressNumbers,
    exercises: Mapping[str, Exercise],
    *,
    blocked: Sequence[str],
    gains: dict[str, Estimate],
    day: date,
) -> Progress:
    """Return a gymnast's progress.

    Parameters
    ----------
    hers : HerTimeline
    numbers : ProgressNumbers
    exercises : mapping of id to Exercise
    blocked : sequence of str
        Tests that a reported sign stops: none of them is asked for.
    gains : dict of capacity to Estimate
        What her plan takes off each shortfall a week.
    day : date

    Notes
    -----
    The curve expects nothing of training and growth in either direction, as the answers do, so
    that the drawing and the words say the same.
    """
    done = {}
    capacities: tuple[CapacityProgress, ...] = ()
    measured: list[tuple[MeasuredChange, ...]] = [(), ()]
    if hers.timeline is not None:
        plain = hers.timeline.without_expectations()
        curve = smooth_timelines(numbers.model, [plain])[0]
        changes = find_changes_of_all(numbers.model, [hers.timeline], numbers.changes)[0]
        found = (changes.since_last, changes.since_first)
        capacities = _capacities(
            hers,
            plain=plain,
            curve=curve,
            changes=found,
            numbers=numbers,
            exercises=exercises,
            blocked=blocked,
            day=day,
        )
        latest = hers.screens[-1]
        if len(hers.screens) > 1:
            measured = [
                compare_measures(numbers.model, one.at, latest.at, confidence=numbers.changes.sure)
                for one in (hers.screens[-2], hers.screens[0])
            ]
        since = work_between(hers.work, earlier=latest.day, later=None)
        done = minutes_by_capacity(since, exercises, numbers.catalogue)
    return Progress(
        gymnast=hers.gymnast,
        day=day,
        screens=hers.screens,
        empty=hers.empty,
        capacities=capacities,
        measured_last=measured[0],
        measured_first=measured[1],
        done_min=done,
        retest=plan_retest(hers, numbers, gains=gains),
    )


def plan_retest(
    hers: HerTimeline, numbers: ProgressNumbers, *, gains: dict[str, Estimate]
) -> HerRetest | None:
    """Return when to repeat the tests of her latest screen; None without one."""
    if hers.timeline is None:
        return None
    latest = hers.screens[-1]
    plan = Plan(latest.pairs, latest.at.marker)
    known = know_now(numbers.model, hers.timeline, plan)
    retest = earliest_retest(
        numbers.model,
        known,
        planned_rows(known.layout, plan),
        work=work_of(gains, numbers.model.names),
        changes=numbers.changes,
        rules=numbers.retests,
        growth_factor=hers.growth_now,
    )
    weekly = gains.get(retest.capacity or "")
    weeks = retest.days / 7.0
    expected = None if weekly is None else Estimate(weekly.value * weeks, weekly.sd * weeks)
    return HerRetest(
        gymnast=hers.gymnast,
        last=latest.day,
        due=latest.day + timedelta(days=retest.days),
        why=retest.why,
        capacity=retest.capacity,
        power=retest.power,
        gain=expected if retest.why is Why.CHANGE else None,
        growing=hers.growth_now > 1.5 and retest.why is Why.DOUBT,
    )


def since_of(
    change: Change,
    earlier: Counted,
    *,
    done_min: Mapping[str, float],
    numbers: ProgressNumbers,
    ask: str | None,
) -> Since:
    """Return what is told of a change against an earlier screen.

    Parameters
    ----------
    change : Change
    earlier : Counted
    done_min : mapping of capacity to float [min]
        Work done between both screens.
    numbers : ProgressNumbers
    ask : str or None
        The test to repeat; told where the change is not yet known.
    """
    standing = standing_of(change)
    return Since(
        day=earlier.day,
        change=change,
        standing=standing,
        worth=float(numbers.changes.worth[numbers.place(change.capacity)]),
        done_min=done_min.get(change.capacity, 0.0),
        ask=ask if standing is Standing.NOT_YET_KNOWN else None,
    )


def minutes_since(
    hers: HerTimeline,
    earlier: Counted,
    numbers: ProgressNumbers,
    exercises: Mapping[str, Exercise],
) -> dict[str, float]:
    """Return the work done between an earlier screen and the latest one [min]."""
    work = work_between(hers.work, earlier=earlier.day, later=hers.screens[-1].day)
    return minutes_by_capacity(work, exercises, numbers.catalogue)


def _narrowed(sds: Floats, numbers: ProgressNumbers, *, share: str) -> list[bool]:
    """Return which capacities are known to better than a setting's share of their prior's sd."""
    priors = [one.prior_sd for one in numbers.model.capacities.capacities]
    most = numbers.catalogue.setting(share)
    return [bool(sd < most * prior) for sd, prior in zip(sds, priors, strict=True)]


def _capacities(
    hers: HerTimeline,
    *,
    plain: Timeline,
    curve: Curve,
    changes: tuple[tuple[Change, ...], tuple[Change, ...]],
    numbers: ProgressNumbers,
    exercises: Mapping[str, Exercise],
    blocked: Sequence[str],
    day: date,
) -> tuple[CapacityProgress, ...]:
    model = numbers.model
    measured = [_measured(one, numbers) for one in hers.screens]
    points = curves_of(
        model, plain, curve, measured=measured, until=day, growth_now=hers.growth_now
    )
    tested = _narrowed(curve.sd.min(axis=0), numbers, share="told")
    known = _narrowed(curve.sd[-1], numbers, share="worded")
    earlier = (hers.screens[-2:][0], hers.screens[0])
    done = [minutes_since(hers, one, numbers, exercises) for one in earlier]
    told = []
    for k, name in enumerate(model.names):
        if not tested[k]:
            continue
        since: list[Since | None] = []
        for found, one, minutes in zip(changes, earlier, done, strict=True):
            if not found:
                since.append(None)
                continue
            ask = repeat_worth_most(name, model.capacities, done=one.tests, blocked=blocked)
            since.append(since_of(found[k], one, done_min=minutes, numbers=numbers, ask=ask))
        label = numbers.catalogue.capacities[name].label
        told.append(CapacityProgress(name, label, points[k], known[k], since[0], since[1]))
    return tuple(told)


def _measured(screen: Counted, numbers: ProgressNumbers) -> list[bool]:
    """Return which capacities a screen's measures load on."""
    known = numbers.model.capacities.by_measure
    loads = [known[pair][1].loads for pair in screen.pairs if pair in known]
    return [any(one.get(name, 0.0) != 0.0 for one in loads) for name in numbers.model.names]
