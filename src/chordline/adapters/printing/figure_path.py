"""Outlines of a drawn body as path data: discs in a row, neighbours joined by their tangents."""

import cmath
import math
from collections.abc import Iterable, Sequence
from itertools import pairwise

from chordline.adapters.printing.svg import number

#: A disc of the frame: its middle (y down) and radius.
PlacedDisc = tuple[complex, float]


def path_of_rows(rows: Iterable[Sequence[PlacedDisc]]) -> str:
    """Return path data that fills every piece of every row; all pieces turn the same way."""
    return "".join(
        piece
        for row in rows
        for piece in (
            [disc_path(*row[0])]
            if len(row) == 1
            else [piece_path(one, other) for one, other in pairwise(row)]
        )
    )


def disc_path(at: complex, r: float) -> str:
    """Return path data of a disc."""
    x, y, size = number(at.real - r), number(at.imag), number(r)
    half = f"A{size} {size} 0 1 1 "
    return f"M{x} {y}{half}{number(at.real + r)} {y}{half}{x} {y}Z"


def piece_path(one: PlacedDisc, other: PlacedDisc) -> str:
    """Return path data of the smallest shape around two discs."""
    (a, r), (b, s) = one, other
    apart = abs(b - a)
    if apart <= abs(r - s):
        return disc_path(a, r) if r >= s else disc_path(b, s)
    # The tangent's normal leaves the line between the middles by this angle.
    lean = math.acos((r - s) / apart)
    heading = cmath.phase(b - a)
    up, down = cmath.rect(1.0, heading - lean), cmath.rect(1.0, heading + lean)
    far_turn = 1 if s > r else 0
    return (
        f"M{_at(a + r * up)}L{_at(b + s * up)}"
        f"A{number(s)} {number(s)} 0 {far_turn} 1 {_at(b + s * down)}"
        f"L{_at(a + r * down)}A{number(r)} {number(r)} 0 {1 - far_turn} 1 {_at(a + r * up)}Z"
    )


def _at(point: complex) -> str:
    return f"{number(point.real)} {number(point.imag)}"
