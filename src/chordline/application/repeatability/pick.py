"""Which photos a study has, and in which order a coach sees them."""

import zlib
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from chordline.application.repeatability.records import NewTask


@dataclass(frozen=True)
class Choice:
    """A photo that a study may have."""

    photo_id: int
    gymnast_id: int
    test: str


def pick_photos(choices: Sequence[Choice], *, count: int, seed: int) -> tuple[int, ...]:
    """Return photos that stand for all: every test alike, and of each as many gymnasts as can be.

    Parameters
    ----------
    choices : sequence of Choice
    count : int
        How many at most.
    seed : int
        Decides among equals.
    """
    drawn = np.random.default_rng(seed).permutation(len(choices))
    left = [choices[i] for i in drawn]
    tests: Counter[str] = Counter()
    gymnasts: Counter[int] = Counter()
    picked: list[int] = []
    while left and len(picked) < count:
        one = min(left, key=lambda one: (tests[one.test], gymnasts[one.gymnast_id]))
        left.remove(one)
        tests[one.test] += 1
        gymnasts[one.gymnast_id] += 1
        picked.append(one.photo_id)
    return tuple(picked)


def order_for(photos: Sequence[int], *, coach: str, seed: int, twice: bool) -> tuple[NewTask, ...]:
    """Return the photos in an order of a coach's own; half of them lie between two of one.

    Notes
    -----
    The second round is drawn in two halves, those seen first coming first: nobody remembers where
    she set a mark ten photos ago, and nobody can count on the same order.
    """
    rng = np.random.default_rng([seed, zlib.crc32(coach.encode())])
    first = [photos[i] for i in rng.permutation(len(photos))]
    tasks = [NewTask(photo, 1) for photo in first]
    if twice:
        half = (len(first) + 1) // 2
        for part in (first[:half], first[half:]):
            tasks += [NewTask(part[i], 2) for i in rng.permutation(len(part))]
    return tuple(tasks)
