"""The shape of a body line, free of the picture: along the chord, and away from it."""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from chordline.conventions import facing_of
from chordline.core.body.measurement import Measurement

#: Half-width of a 95 % interval in standard deviations (normal distribution).
Z_95: Final = 1.96


@dataclass(frozen=True)
class LineShape:
    """Landmarks from the feet on, relative to their chord.

    Attributes
    ----------
    names : tuple of str
        Landmarks in order, the chord's first to its last; at least two.
    along_pct : (n,) float array [% of chord]
        Place along the chord: 0 at the first landmark, 100 at the last.
    bow_pct : (n,) float array [% of chord]
        Distance from the chord, positive towards the front; 0 at both ends.
    sd_pct : (n,) float array [% of chord]
        Random error of each landmark perpendicular to the chord.
    start_px : (2,) float array [px]
        The first landmark in the photo.
    chord_px : float
        Length of the chord in the photo, > 0.
    headwards, frontwards : (2,) float arrays
        Unit vectors in the photo (y down): along the chord, and towards the front.
    """

    names: tuple[str, ...]
    along_pct: NDArray[np.float64]
    bow_pct: NDArray[np.float64]
    sd_pct: NDArray[np.float64]
    start_px: NDArray[np.float64]
    chord_px: float
    headwards: NDArray[np.float64]
    frontwards: NDArray[np.float64]

    @property
    def upright(self) -> bool:
        """Whether the chord stands rather than lies in the picture."""
        return bool(abs(self.headwards[1]) > abs(self.headwards[0]))

    @property
    def bow_half_width_pct(self) -> NDArray[np.float64]:
        """Half of each bow's 95 % interval: the landmark's own error and that of the chord."""
        along = self.along_pct / 100.0
        ends = ((1.0 - along) * self.sd_pct[0]) ** 2 + (along * self.sd_pct[-1]) ** 2
        width = Z_95 * np.sqrt(self.sd_pct**2 + ends)
        width[[0, -1]] = 0.0
        return np.asarray(width)

    def widest(self) -> str | None:
        """Return the landmark that bows most, or None where no bow exceeds its error."""
        bows = np.abs(self.bow_pct)
        sure = np.where(bows > self.bow_half_width_pct, bows, 0.0)
        sure[[0, -1]] = 0.0
        most = int(np.argmax(sure))
        return self.names[most] if sure[most] > 0.0 else None


def read_shape(measurement: Measurement, chord: tuple[str, ...]) -> LineShape | None:
    """Return the shape of `measurement` over `chord`.

    Parameters
    ----------
    measurement : Measurement
    chord : tuple of str
        Landmarks along the body. One that lies between the ends and was not found is left out.

    Returns
    -------
    LineShape or None
        None where an end of the chord was not found, or both ends coincide.

    Notes
    -----
    ``bow = facing · cross(headwards, landmark − start) / chord``; the sense of ``facing`` is that
    of `conventions`: with the left side near, the front is the head's direction turned a quarter
    counter-clockwise as seen in the picture.
    """
    marks = measurement.landmarks
    if len(chord) < 2 or chord[0] not in marks or chord[-1] not in marks:
        return None
    names = tuple(name for name in chord if name in marks)
    xy_px = np.array([[marks[name].x_px, marks[name].y_px] for name in names])
    sd_px = np.array([marks[name].sd_px for name in names])
    along_px = xy_px[-1] - xy_px[0]
    chord_px = float(np.hypot(*along_px))
    if not chord_px > 0.0:
        return None
    headwards = along_px / chord_px
    frontwards = facing_of(measurement.near_side) * np.array([headwards[1], -headwards[0]])
    from_start = (xy_px - xy_px[0]) * 100.0 / chord_px
    return LineShape(
        names=names,
        along_pct=from_start @ headwards,
        bow_pct=from_start @ frontwards,
        sd_pct=sd_px * 100.0 / chord_px,
        start_px=xy_px[0],
        chord_px=chord_px,
        headwards=headwards,
        frontwards=frontwards,
    )


def over_common_chord(shape: LineShape, last: str) -> LineShape:
    """Return `shape` measured from the chord that ends at its landmark `last`.

    Two tests can be laid over each other only on a chord that both have; beyond `last` the body
    goes on, past 100 % of that shorter chord.
    """
    end = shape.names.index(last)
    along, bow = shape.along_pct, shape.bow_pct
    length = float(np.hypot(along[end] - along[0], bow[end] - bow[0]))
    cos, sin = (along[end] - along[0]) / length, (bow[end] - bow[0]) / length
    longer = 100.0 / length
    right_hand = float(
        shape.headwards[0] * shape.frontwards[1] - shape.headwards[1] * shape.frontwards[0]
    )
    headwards = cos * shape.headwards + sin * shape.frontwards
    return LineShape(
        names=shape.names,
        along_pct=(cos * along + sin * bow) * longer,
        bow_pct=(cos * bow - sin * along) * longer,
        sd_pct=shape.sd_pct * longer,
        start_px=shape.start_px,
        chord_px=shape.chord_px / longer,
        headwards=headwards,
        frontwards=right_hand * np.array([-headwards[1], headwards[0]]),
    )
