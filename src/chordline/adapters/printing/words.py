"""Numbers and shapes in words: signs, units and the sentences that drawings speak."""

import math
from typing import Final

from chordline.adapters.printing.line_shape import LineShape

#: What the sheet calls a landmark.
SPOKEN: Final = {
    "malleolus": "Ankle",
    "knee": "Knee",
    "hip": "Hip",
    "shoulder": "Shoulder",
    "elbow": "Elbow",
    "wrist": "Wrist",
    "hand": "Hand",
    "ear": "Ear",
    "heel": "Heel",
    "toe": "Toe",
}

#: What a drawing says where there is nothing to draw.
NOTHING_FOUND: Final = "No body line was found in this picture."

_UNITS: Final = {"deg": "°", "pct": " %", "cm": " cm", "s": " s"}
_DECIMALS: Final = {"deg": 0, "pct": 1, "cm": 1, "s": 1}
_MINUS: Final = "−"


def spoken(landmark: str) -> str:
    """Return what the sheet calls a landmark."""
    return SPOKEN.get(landmark, landmark.replace("_", " ").capitalize())


def signed(value: float, *, decimals: int, plus: bool) -> str:
    """Return a number with a true minus sign, and a plus sign where asked; never ``−0``."""
    text = f"{abs(value):.{decimals}f}"
    if float(text) == 0.0:
        return text
    if value < 0.0:
        return _MINUS + text
    return "+" + text if plus else text


def with_error(value: float, plus_minus: float, unit: str) -> str:
    """Return ``−18° ± 4°``; a finer error gets a finer number, and NaN a dash.

    Angles and bows are signed, so they carry a plus sign as well.
    """
    if not (math.isfinite(value) and math.isfinite(plus_minus)):
        return "–"
    decimals = _DECIMALS.get(unit, 1)
    if 0.0 < plus_minus < 0.95 * 10.0**-decimals:
        decimals += 1
    sign = _UNITS.get(unit, f" {unit}")
    shown = signed(value, decimals=decimals, plus=unit in {"deg"})
    return f"{shown}{sign} ± {plus_minus:.{decimals}f}{sign}"


def bow_in_pct(value: float) -> str:
    """Return a signed bow, ``−7.8 %``."""
    return f"{signed(value, decimals=1, plus=True)} %"


def describe_shape(shape: LineShape, *, doubtful: bool = False) -> str:
    """Return a body line in words, for those who cannot see the drawing."""
    ends = f"{spoken(shape.names[0]).lower()} to {spoken(shape.names[-1]).lower()}"
    if doubtful:
        return f"Body line from {ends}, not yet known: the marks need a look."
    parts = []
    for i in range(1, len(shape.names) - 1):
        bow = float(shape.bow_pct[i])
        side = "front" if bow > 0.0 else "back"
        parts.append(
            f"{spoken(shape.names[i]).lower()} {abs(bow):.1f} % of the chord towards the {side}"
            f" (± {float(shape.bow_half_width_pct[i]):.1f})"
        )
    return f"Body line from {ends}. Away from the chord: {', '.join(parts) or 'nothing'}."
