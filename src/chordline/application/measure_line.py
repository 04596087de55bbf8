"""One measure in words: the smallest thing that a sheet says."""

from dataclasses import dataclass

from chordline.core.body.verdict import Verdict


@dataclass(frozen=True)
class MeasureLine:
    """One measure in words first.

    Attributes
    ----------
    name : str
        Name of the measure, e.g. ``hip_opening_deg``.
    label : str
        What a coach calls it, e.g. ``Hips``.
    verdict : Verdict or None
        None where the measure has no aligned position to be compared with.
    words : str
        The shape in words, e.g. ``closed by 18°``; never a judgement of the person.
    value, plus_minus : float
        Value, and half the width of its 95 % interval with random and systematic errors.
    unit : str
        ``deg``, ``pct``, ``cm`` or ``s``.
    reason : str
        Where the uncertainty comes from, in one sentence.
    brief : str
        The same in a few words, for paper, e.g. ``4° marks, 6° joint``.
    """

    name: str
    label: str
    verdict: Verdict | None
    words: str
    value: float
    plus_minus: float
    unit: str
    reason: str
    brief: str = ""
