"""Has a capacity really changed between two screens?

Training and growth tell what to expect; only measures tell what happened. So the question is
answered from a fit in which no change is expected in either direction, and not at all where the
measures told nothing of the change.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
import scipy  # its parts are loaded when they are used

from chordline.core.geometry.angles import Floats
from chordline.core.progress.smoother import Curve, smooth_timelines
from chordline.core.progress.timeline import ProgressModel, Timeline


class Answer(StrEnum):
    """The three answers to 'really changed?'."""

    YES = "yes"
    NOT_YET_KNOWN = "not yet known"
    NO = "no"


@dataclass(frozen=True)
class ChangeRules:
    """Where a change begins.

    Attributes
    ----------
    sure : float
        Probability from which a change is called real; 1 − sure rules out one worth knowing.
    told : float
        Share of the sd believed beforehand below which the measures must bring that of a change
        before anything is said of it.
    worth : (n,) float array
        Smallest change worth knowing of each capacity [its unit].
    """

    sure: float
    told: float
    worth: Floats


@dataclass(frozen=True)
class Change:
    """What is known of the change of one capacity between two screens.

    Attributes
    ----------
    capacity : str
    from_day, to_day : int
    gain, sd : float
        By how much the shortfall fell [its unit]: positive = better.
    p_better, p_better_by_worth : float
        Probability of any gain, and of one larger than the smallest worth knowing.
    p_worse_by_worth : float
        Probability of a loss larger than that; of any loss it is 1 − p_better.
    told : bool
        Whether the measures told anything of this change.
    better, worse : Answer
    """

    capacity: str
    from_day: int
    to_day: int
    gain: float
    sd: float
    p_better: float
    p_better_by_worth: float
    p_worse_by_worth: float
    told: bool
    better: Answer
    worse: Answer


@dataclass(frozen=True)
class Changes:
    """Changes of all capacities up to the latest screen.

    Attributes
    ----------
    since_last, since_first : tuple of Change
        Against the screen before, and against the first one; the same with two screens, both
        empty with one.
    note : str
        Why there are none; empty where there are.
    """

    since_last: tuple[Change, ...]
    since_first: tuple[Change, ...]
    note: str = ""


def find_changes(model: ProgressModel, timeline: Timeline, rules: ChangeRules) -> Changes:
    """Return what changed up to the latest screen.

    Parameters
    ----------
    model : ProgressModel
    timeline : Timeline
        May expect what it likes of training and growth; expectations are left out here.
    rules : ChangeRules
    """
    return find_changes_of_all(model, [timeline], rules)[0]


def find_changes_of_all(
    model: ProgressModel, timelines: Sequence[Timeline], rules: ChangeRules
) -> tuple[Changes, ...]:
    """Return what changed up to the latest screen of each gymnast."""
    plain = [one.without_expectations() for one in timelines]
    found = []
    for timeline, curve in zip(plain, smooth_timelines(model, plain), strict=True):
        last = len(timeline.screens) - 1
        if not last:
            found.append(Changes((), (), "one screen only: a change needs two"))
            continue
        found.append(
            Changes(
                since_last=_judge(model, timeline, curve, rules, (last - 1, last)),
                since_first=_judge(model, timeline, curve, rules, (0, last)),
            )
        )
    return tuple(found)


def judge_change(
    model: ProgressModel, timeline: Timeline, rules: ChangeRules, *, earlier: int, later: int
) -> tuple[Change, ...]:
    """Return the change of every capacity between any two screens, by their places.

    Raises
    ------
    ValueError
        Where the places are not two screens, the earlier first.
    """
    if not 0 <= earlier < later < len(timeline.screens):
        raise ValueError(f"{earlier} and {later} are not an earlier and a later screen")
    plain = timeline.without_expectations()
    curve = smooth_timelines(model, [plain])[0]
    return _judge(model, plain, curve, rules, (earlier, later))


def answer(p_any: float, p_by_worth: float, *, sure: float) -> Answer:
    """Return the answer that two probabilities deserve."""
    if p_any >= sure:
        return Answer.YES
    return Answer.NO if p_by_worth <= 1.0 - sure else Answer.NOT_YET_KNOWN


def _judge(
    model: ProgressModel,
    timeline: Timeline,
    curve: Curve,
    rules: ChangeRules,
    places: tuple[int, int],
) -> tuple[Change, ...]:
    earlier, later = places
    gains = curve.mean[earlier] - curve.mean[later]
    shared = np.diag(curve.shared(earlier, later))
    variances = curve.sd[earlier] ** 2 + curve.sd[later] ** 2 - 2.0 * shared
    sds = np.sqrt(np.clip(variances, 0.0, None))
    believed = np.sqrt(sum(timeline.wander(model, i) for i in range(earlier, later)))
    told = sds < rules.told * believed
    # A capacity that cannot wander has not changed: its gain and sd are 0.
    scale = np.maximum(sds, 1e-12)
    better = scipy.special.ndtr(gains / scale)
    better_by_worth = scipy.special.ndtr((gains - rules.worth) / scale)
    worse_by_worth = scipy.special.ndtr((-gains - rules.worth) / scale)
    return tuple(
        Change(
            capacity=name,
            from_day=curve.days[earlier],
            to_day=curve.days[later],
            gain=float(gains[i]),
            sd=float(sds[i]),
            p_better=float(better[i]),
            p_better_by_worth=float(better_by_worth[i]),
            p_worse_by_worth=float(worse_by_worth[i]),
            told=bool(told[i]),
            better=_answer_if(told[i], better[i], better_by_worth[i], rules.sure),
            worse=_answer_if(told[i], 1.0 - better[i], worse_by_worth[i], rules.sure),
        )
        for i, name in enumerate(curve.names)
    )


def _answer_if(told: bool, p_any: float, p_by_worth: float, sure: float) -> Answer:
    return answer(float(p_any), float(p_by_worth), sure=sure) if told else Answer.NOT_YET_KNOWN
