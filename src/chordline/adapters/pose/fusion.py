"""Many looks at one body into one answer with an honest spread."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import cv2
import numpy as np

from chordline.adapters.pose.facing import guess_near_side, name_sides, weigh_sides
from chordline.adapters.pose.passes import Pass, disagreement_pct, length_of
from chordline.adapters.pose.roi import Floats, Roi
from chordline.conventions import LANDMARKS, SIDES, Side
from chordline.core.body.found import BodyMask

#: A look further than this from the middle of all looks is wrong, not noisy [% of the length].
_OUTLIER_PCT: Final = 5.0

#: Error that all looks share, in % of the body's length: they come from one network and one
#: picture. Checked on rendered bodies photographed twice.
_SHARED_SD_PCT: Final = {name: 0.35 for name in LANDMARKS}

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


def keep_consistent(sides: Floats) -> Floats:
    """Return the looks near the middle of all looks.

    Parameters
    ----------
    sides : (m, 2, 10, 2) float array [px]

    Returns
    -------
    (k, 2, 10, 2) float array, m/2 ≤ k ≤ m
        At least the nearer half is kept.
    """
    apart = np.linalg.norm(sides - np.median(sides, axis=0), axis=-1).mean(axis=(1, 2))
    length = length_of(np.median(sides, axis=0).mean(axis=0))
    limit = max(_OUTLIER_PCT / 100.0 * length, float(np.median(apart)))
    return np.asarray(sides[apart <= limit])


def fuse(pairs: Sequence[tuple[Pass, Pass]]) -> Fused:
    """Average looks.

    Parameters
    ----------
    pairs : sequence of (straight, mirrored)
        At least one pair.

    Notes
    -----
    The line is the expectation over the near side: the near side's landmarks weighted with the
    confidence that it is near, the far side's with the rest. (Hidden landmarks of the far side are
    guesses: the plain mean of both sides was the worse line on rendered bodies.) Its variance has
    the looks' own part, a part that all looks share, and the doubt about the side.
    """
    looks = [look for pair in pairs for look in pair]
    evidence = [weigh_sides(look) for look in looks]
    near_side, confidence = guess_near_side(evidence)
    named = np.stack(
        [name_sides(k, e.labels, near_side) for k, e in zip(looks, evidence, strict=True)]
    )
    kept = keep_consistent(named)
    sides = kept.mean(axis=0)
    near, far = sides if near_side == SIDES[0] else sides[::-1]
    line = confidence * near + (1.0 - confidence) * far
    length = length_of(line)
    spread = kept[:, SIDES.index(near_side)].std(axis=0, ddof=1 if len(kept) > 1 else 0)
    own = (spread**2).mean(axis=1) / len(kept)
    shared = np.array([(_SHARED_SD_PCT[n] / 100.0 * length) ** 2 for n in LANDMARKS])
    doubt = confidence * (1.0 - confidence) * ((near - far) ** 2).mean(axis=1)
    return Fused(
        xy_px=line,
        sd_px=np.sqrt(own + shared + doubt),
        sides_xy_px=sides,
        near_side=near_side,
        near_confidence=confidence,
        mirror_disagreement_pct=float(np.median([disagreement_pct(*pair) for pair in pairs])),
        length_px=length,
    )


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
