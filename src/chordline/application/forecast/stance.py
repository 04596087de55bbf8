"""What a photo of her handstand shows of balance and load."""

import numpy as np

from chordline.application.findings_words import upper_first
from chordline.application.wording import SD_95
from chordline.catalogue.segments_schema import SegmentCatalogue
from chordline.conventions import facing_of
from chordline.core.body.measurement import Measurement
from chordline.core.estimate import Estimate
from chordline.core.mechanics.lengths import lengths_of_stature
from chordline.core.mechanics.parts import INDEX, POINTS
from chordline.core.mechanics.statics import StanceReading, read_handstand

HANDSTAND = "handstand"
_NEEDED = ("wrist", "shoulder", "hip", "knee", "malleolus")
_JOINTS = {
    "shoulder": "the shoulders",
    "trunk": "the lower back",
    "hip": "the hips",
    "knee": "the knees",
}
#: A share of the bow below this is not spoken of.
_SPOKEN_SHARE = 0.15
#: A bow below this has no shares that mean anything [% of chord].
_LEAST_BOW_PCT = 1.5


def read_stance(
    measurement: Measurement, segments: SegmentCatalogue, *, stature_m: float
) -> StanceReading | None:
    """Return where she stands over the hand and which joint carries most.

    None where the photo cannot say: no accepted handstand, no scale, or a mark is missing.

    Parameters
    ----------
    measurement : Measurement
    segments : SegmentCatalogue
    stature_m : float [m]
        Of what the photo does not show: hand, head and foot where they are not marked.
    """
    m = measurement
    if m.test != HANDSTAND or not m.trust.accepted or m.scale is None:
        return None
    if any(name not in m.landmarks for name in _NEEDED):
        return None
    roll = 0.0 if m.card is None else float(np.deg2rad(m.card.roll_deg.value))
    right = np.array([np.cos(roll), np.sin(roll)])
    up = np.array([np.sin(roll), -np.cos(roll)])
    points = np.full((len(POINTS), 2), np.nan)
    sds = np.full(len(POINTS), np.nan)
    for name, at in INDEX.items():
        mark = m.landmarks.get(name)
        if mark is not None:
            place = np.array([mark.x_px, mark.y_px])
            points[at] = m.scale.m_per_px * np.array([place @ right, place @ up])
            sds[at] = m.scale.m_per_px * mark.sd_px
    return read_handstand(
        segments.all_parts(),
        points,
        sds,
        facing=facing_of(m.near_side),
        otherwise=lengths_of_stature(segments.link_fractions(), np.asarray(stature_m)),
        trunk_fraction=segments.trunk_fraction,
        heel_m=segments.assumed("heel") * stature_m,
        stature_m=stature_m,
    )


def read_lean(
    measurement: Measurement, segments: SegmentCatalogue, *, stature_m: float
) -> Estimate | None:
    """Return how far her centre of mass leans off the middle of the hand [deg], front positive.

    None where the photo cannot say. The error of the table's choice and that of the card's roll,
    which turns the whole picture, are in its sd.
    """
    reading = read_stance(measurement, segments, stature_m=stature_m)
    if reading is None or np.isnan(reading.lean_deg.value):
        return None
    lean = reading.lean_deg.as_estimate()
    roll_sd = 0.0 if measurement.card is None else measurement.card.roll_deg.sd
    return Estimate(lean.value, float(np.hypot(lean.sd, roll_sd)))


def lean_in_words(lean: Estimate) -> str:
    """Return where her centre of mass is, within a sentence."""
    side = "to her front" if lean.value > 0.0 else "over the fingers"
    return (
        f"centre of mass {abs(lean.value):.0f}° ± {SD_95 * lean.sd:.0f}° {side} "
        "of the middle of the hand"
    )


def stance_in_words(reading: StanceReading, *, bow_max_pct: float) -> tuple[str, ...]:
    """Return sentences: balance first, then what carries, then what bows.

    Parameters
    ----------
    reading : StanceReading
    bow_max_pct : float
        Magnitude of the photo's largest bow: of a straight line nobody asks which joint bows it.
    """
    sentences = [_balance(reading)]
    joint = reading.largest_moment
    moment = reading.moments[joint].as_estimate()
    carry = "carries" if joint == "trunk" else "carry"
    sentences.append(
        f"{upper_first(_JOINTS[joint])} {carry} most: {100.0 * abs(moment.value):.1f} % "
        f"± {100.0 * SD_95 * moment.sd:.1f} % of weight times stature."
    )
    if bow_max_pct >= _LEAST_BOW_PCT:
        sentences.append(_shares(reading))
    return tuple(sentences)


def _shares(reading: StanceReading) -> str:
    """Return which joints make the bow, and which take some of it back."""
    shares = sorted(reading.bow_shares.items(), key=lambda one: -one[1].value)
    told = {
        name: f"{100.0 * one.value:.0f} % ± {100.0 * SD_95 * one.sd:.0f} %".replace("-", "−")
        for name, one in shares
    }
    makers = [
        f"{_JOINTS[name]} ({told[name]})" for name, one in shares if one.value >= _SPOKEN_SHARE
    ]
    takers = [
        f"{_JOINTS[name]} ({told[name]})" for name, one in shares if one.value <= -_SPOKEN_SHARE
    ]
    words = f"The bow is made by {' and '.join(makers)}"
    return f"{words}; {' and '.join(takers)} take some of it back." if takers else f"{words}."


def _balance(reading: StanceReading) -> str:
    balance = reading.balance_pct.as_estimate()
    if np.isnan(balance.value):
        return (
            "Where she stands over the hand cannot be told: the marked hand points to her front, "
            "where no fingers lie in a handstand. Check the hand's mark and which side is near."
        )
    error = f"± {SD_95 * balance.sd:.0f} %"
    place = (
        f"{balance.value:.0f}".replace("-", "−")
        + f" % {error} of the way from heel of the hand to knuckles"
    )
    if SD_95 * balance.sd > 100.0:
        return f"Where she stands over the hand cannot be told from this photo ({place})."
    if balance.value < -SD_95 * balance.sd:
        return f"She stands in front of the heel of the hand ({place}): she falls to her front."
    if balance.value > 100.0 + SD_95 * balance.sd:
        return f"She stands behind the knuckles, over the fingers ({place}): she falls over."
    return f"She stands over the hand: {place}."
