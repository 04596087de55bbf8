"""Many looks at one body into one answer with an honest spread."""

from collections.abc import Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

import cv2
import numpy as np
from numpy.typing import NDArray

from chordline.adapters.pose.facing import guess_near_side, name_sides, weigh_sides
from chordline.adapters.pose.passes import Pass, length_of
from chordline.adapters.pose.roi import Floats, Roi
from chordline.conventions import LANDMARKS, SIDES, Side
from chordline.core.body.found import BodyMask

#: A look further than this from the middle of all looks is wrong, not noisy [% of the length].
_OUTLIER_PCT: Final = 5.0

#: Random error that all looks share, in % of the body's length: they come from one network and one
#: picture. Set so that landmarks and angles of different bodies in one test scatter as their sd
#: says, a little on the safe side (rendered bodies; standardised residuals of angles 0.8 to 0.9).
_SHARED_SD_PCT: Final = MappingProxyType(
    {
        "malleolus": 0.3,
        "knee": 0.15,
        "hip": 0.15,
        "shoulder": 0.15,
        "elbow": 0.25,
        "wrist": 0.25,
        "hand": 0.5,
        "ear": 0.6,
        "heel": 0.15,
        "toe": 0.15,
    }
)

_MASK_SIZE: Final = 288
_MASK_MARGIN: Final = 1.12


@dataclass(frozen=True)
class Fused:
    """One body, all looks together; attributes as in `FoundBody`."""

    xy_px: Floats
    sd_px: Floats
    sides_xy_px: Floats
    near_side: Side
    near_confidence: float
    mirror_disagreement_pct: float
    length_px: float


def keep_consistent(lines: Floats) -> NDArray[np.bool_]:
    """Tell which looks lie near the middle of all looks.

    Parameters
    ----------
    lines : (m, 10, 2) float array [px]

    Returns
    -------
    (m,) bool array
        At least the nearer half is kept.
    """
    middle = np.median(lines, axis=0)
    apart = np.linalg.norm(lines - middle, axis=-1).mean(axis=1)
    limit = max(_OUTLIER_PCT / 100.0 * length_of(middle), float(np.median(apart)))
    return np.asarray(apart <= limit)


def mirror_disagreement_pct(straight: Pass, mirrored: Pass) -> float:
    """Return how far two looks lie apart at the near side, in % of the body's length.

    Which side is near is judged from both together. The far side does not count: what is hidden
    there is a guess (a hidden arm may be guessed at the trunk or overhead). Hands and feet do not
    count either, they are less sure than the rest.
    """
    looks = (straight, mirrored)
    evidence = [weigh_sides(look) for look in looks]
    near_side, _ = guess_near_side(evidence)
    near = SIDES.index(near_side)
    a, b = (
        name_sides(look, one.labels, near_side)[near]
        for look, one in zip(looks, evidence, strict=True)
    )
    length = min(length_of(a), length_of(b))
    apart = np.linalg.norm(a - b, axis=-1)[: LANDMARKS.index("hand")].mean()
    return 100.0 * float(apart) / length if length > 0.0 else float("inf")


def fuse(pairs: Sequence[tuple[Pass, Pass]]) -> Fused:
    """Average looks.

    Parameters
    ----------
    pairs : sequence of (straight, mirrored)
        At least one pair.

    Notes
    -----
    The line is the near side's. (The plain mean of both sides was the worse line on rendered
    bodies: hidden landmarks of the far side are guesses.) The variance has the looks' own part
    and a part that all looks share. The own part comes from the differences between straight and
    mirrored looks, not from the spread over all looks: a turned cut draws the body towards
    upright, which the opposite turn cancels in the mean but not in the spread.
    """
    looks = [look for pair in pairs for look in pair]
    evidence = [weigh_sides(look) for look in looks]
    near_side, confidence = guess_near_side(evidence)
    near = SIDES.index(near_side)
    named = np.stack(
        [name_sides(k, e.labels, near_side) for k, e in zip(looks, evidence, strict=True)]
    )
    kept = keep_consistent(named[:, near])
    sides = np.median(named[kept], axis=0)
    line = named[kept, near].mean(axis=0)
    sides[near] = line
    length = length_of(line)
    shared = (np.array([_SHARED_SD_PCT[n] for n in LANDMARKS]) / 100.0 * length) ** 2
    return Fused(
        xy_px=line,
        sd_px=np.sqrt(_own_variance(named[:, near], kept) + shared),
        sides_xy_px=sides,
        near_side=near_side,
        near_confidence=confidence,
        mirror_disagreement_pct=float(np.median([mirror_disagreement_pct(*p) for p in pairs])),
        length_px=length,
    )


def _own_variance(lines: Floats, kept: NDArray[np.bool_]) -> Floats:
    """Return (10,) variance per axis of the mean over kept looks, which come in mirror pairs."""
    whole = kept[0::2] & kept[1::2]
    if whole.any():
        differences = (lines[0::2] - lines[1::2])[whole]
        return np.asarray((differences**2).mean(axis=(0, 2)) / (4.0 * len(differences)))
    spread = lines[kept].var(axis=0, ddof=1) if kept.sum() > 1 else np.zeros_like(lines[0])
    return np.asarray(spread.mean(axis=1) / kept.sum())


def fuse_masks(looks: Sequence[Pass], roi: Roi) -> BodyMask:
    """Return the mean of the looks' masks, on a cut somewhat larger than `roi`."""
    frame = roi.grown(_MASK_MARGIN).affine(_MASK_SIZE)
    total = np.zeros((_MASK_SIZE, _MASK_SIZE), np.float32)
    for look in looks:
        from_frame = _compose(_inverse(look.roi.affine(look.mask.shape[0])), frame)
        total += cv2.warpAffine(
            look.mask,
            from_frame,
            (_MASK_SIZE, _MASK_SIZE),
            flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP,
        )
    return BodyMask(alpha=total / np.float32(len(looks)), crop_to_photo=frame)


def _inverse(affine: Floats) -> Floats:
    turned = np.linalg.inv(affine[:, :2])
    return np.column_stack([turned, -turned @ affine[:, 2]])


def _compose(second: Floats, first: Floats) -> Floats:
    return np.column_stack(
        [second[:, :2] @ first[:, :2], second[:, :2] @ first[:, 2] + second[:, 2]]
    )
