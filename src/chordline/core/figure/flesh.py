"""The body around the joints: rows of discs, each pair of neighbours drawn as one tapered piece."""

import cmath
from collections.abc import Mapping
from dataclasses import dataclass

from chordline.core.figure.chain import Chain
from chordline.core.figure.pose import LIMBS


@dataclass(frozen=True)
class Disc:
    """A disc of the drawn body.

    Attributes
    ----------
    at : complex [statures]
    r : float [statures]
    """

    at: complex
    r: float

    @property
    def lowest(self) -> float:
        """Height of its lowest point."""
        return self.at.imag - self.r


Row = tuple[Disc, ...]

#: The trunk's depth from the hips to the neck: (place along the spine 0…1, middle's distance from
#: the spine towards the back, radius), in statures. A slim child's side view, set by eye.
_TRUNK = (
    (0.00, 0.012, 0.058),
    (0.16, 0.010, 0.054),
    (0.38, 0.002, 0.046),
    (0.55, 0.000, 0.046),
    (0.74, 0.002, 0.051),
    (0.90, 0.006, 0.047),
    (1.00, 0.004, 0.036),
)


def clothe(chain: Chain) -> Mapping[str, Row]:
    """Return the discs of every part.

    Parts are `trunk`, `neck`, `head`, and for each side `thigh`, `shank`, `foot`, `arm`, `hand`
    (far ones as ``far_thigh`` …).
    """
    parts: dict[str, Row] = {"trunk": _trunk(chain)}
    up = cmath.rect(1.0, chain.directions["head"])
    front = up * -1j
    ear = chain.joints["ear"]
    along = cmath.rect(1.0, chain.directions["neck"])
    root = chain.spine[-1] + 0.006 * along
    parts["neck"] = (Disc(root, 0.028), Disc(ear - 0.02 * along, 0.026))
    parts["head"] = (
        Disc(ear + 0.028 * up - 0.004 * front, 0.060),
        Disc(ear + 0.016 * up + 0.020 * front, 0.050),
        Disc(ear - 0.030 * up + 0.038 * front, 0.021),
    )
    parts["nose"] = (
        Disc(ear + 0.008 * up + 0.060 * front, 0.012),
        Disc(ear - 0.004 * up + 0.075 * front, 0.006),
    )
    for limb in LIMBS:
        parts |= _limb(chain, "far_" if limb == "far" else "")
    return parts


def _trunk(chain: Chain) -> Row:
    last = len(chain.spine) - 1
    row = []
    for place, back, radius in _TRUNK:
        k = round(place * last)
        row.append(Disc(chain.spine[k] + back * chain.tangents[k] * 1j, radius))
    return tuple(row)


def _limb(chain: Chain, mark: str) -> dict[str, Row]:
    at = {name: chain.joints[mark + name] for name in _POINTS}
    shank = cmath.rect(1.0, chain.directions[f"{mark}shank"])
    foot = cmath.rect(1.0, chain.directions[f"{mark}foot"])
    sole = foot * -1j
    calf = at["knee"] + 0.30 * (at["malleolus"] - at["knee"]) - 0.006 * shank * 1j
    return {
        f"{mark}thigh": (
            Disc(at["hip"], 0.050),
            Disc(at["hip"] + 0.35 * (at["knee"] - at["hip"]), 0.045),
            Disc(at["knee"], 0.033),
        ),
        f"{mark}shank": (
            Disc(at["knee"], 0.033),
            Disc(calf, 0.033),
            Disc(at["malleolus"], 0.019),
        ),
        f"{mark}foot": (
            Disc(at["malleolus"] - 0.018 * foot + 0.014 * sole, 0.019),
            Disc(at["malleolus"] + 0.004 * foot, 0.021),
            Disc(at["ball"] + 0.018 * sole, 0.0135),
            Disc(at["toe"] + 0.018 * sole * _turn(chain, mark, "toes", "foot"), 0.009),
        ),
        f"{mark}arm": (
            Disc(at["shoulder"], 0.034),
            Disc(at["shoulder"] + 0.5 * (at["elbow"] - at["shoulder"]), 0.027),
            Disc(at["elbow"], 0.0215),
            Disc(at["elbow"] + 0.3 * (at["wrist"] - at["elbow"]), 0.022),
            Disc(at["wrist"], 0.0155),
        ),
        f"{mark}hand": (
            Disc(at["wrist"], 0.0155),
            Disc(at["hand"], 0.0135),
            Disc(at["fingertip"], 0.008),
        ),
    }


def _turn(chain: Chain, mark: str, one: str, other: str) -> complex:
    return cmath.rect(1.0, chain.directions[mark + one] - chain.directions[mark + other])


_POINTS = (
    "hip",
    "knee",
    "malleolus",
    "ball",
    "toe",
    "shoulder",
    "elbow",
    "wrist",
    "hand",
    "fingertip",
)
