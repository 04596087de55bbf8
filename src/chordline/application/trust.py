"""Whether a measurement may be used as it is, and what the coach should look at."""

from collections.abc import Mapping

import numpy as np

from chordline.application.choose import fits_posture
from chordline.application.ports import Photo
from chordline.application.viewpoint import Scene
from chordline.catalogue.schema import Catalogue, TestEntry
from chordline.core.body.found import FoundBody
from chordline.core.body.measurement import Measure, Trust
from chordline.core.body.orientation import Orientation, front_word
from chordline.core.body.points import BodyPoints

#: A chord end nearer to the picture's border than this share of the body may be cut off.
_BORDER = 0.01
#: Farther from straight than this is no shape of the battery: a wrong test or a wrong find [deg].
_IMPOSSIBLE_DEG = 90.0
#: Bent more than this, the chord does not tell of hips and shoulders [deg].
_BENT_KNEE_DEG = 20.0


def judge_trust(
    *,
    photo: Photo,
    shape: BodyPoints,
    body: FoundBody | None,
    scene: Scene,
    orientation: Orientation,
    measures: Mapping[str, Measure],
    test: TestEntry,
    catalogue: Catalogue,
) -> tuple[Trust, tuple[str, ...]]:
    """Return trust with its reasons, and cautions that do not forbid use.

    Parameters
    ----------
    photo : Photo
    shape : BodyPoints
        One body with its facing.
    body : FoundBody or None
        None for hand marks.
    scene, orientation, measures, test, catalogue
    """
    reasons: list[str] = []
    cautions: list[str] = []
    ends = shape.stack((shape.chord[0], shape.chord[-1]))[0]
    chord_px = float(np.linalg.norm(ends[1] - ends[0]))
    if chord_px < catalogue.setting("min_body_px"):
        reasons.append(
            f"her line is only {chord_px:.0f} pixels long; go nearer or use a larger picture"
        )
    cranial = (shape.get("shoulder") - shape.get("hip"))[0]
    if not fits_posture(cranial, scene.frame.up, test):
        reasons.append(f"she does not lie or stand as in '{test.title}'; check the test")
    if orientation.confidence < catalogue.setting("sure_front"):
        reasons.append(
            f"which way she faces was guessed ({orientation.confidence:.0%} sure); "
            "say which side is near the phone"
        )
    if (
        body is not None
        and orientation.origin == "test"
        and body.near_side != orientation.near_side
        and body.near_confidence >= catalogue.setting("sure_front")
    ):
        looks = front_word(cranial, body.near_side)
        reasons.append(
            f"'{test.title}' means that her belly faces {orientation.front}, but she looks as if "
            f"it faced {looks}; check the test"
        )
    wild = [
        name
        for name in ("shoulder_opening_deg", "hip_opening_deg", "knee_opening_deg")
        if name in measures and abs(measures[name].value) > _IMPOSSIBLE_DEG
    ]
    if wild:
        reasons.append("the joints found make no shape of this test; check the marks")
    if scene.card is not None:
        yaw = scene.card.yaw_deg
        if abs(yaw.value) - 2.0 * yaw.sd > catalogue.setting("max_yaw_deg"):
            reasons.append(
                f"the card is turned {abs(yaw.value):.0f}° out of the picture; "
                "stand square to her and take it again"
            )
    margin = _BORDER * chord_px
    size = np.array([photo.width_px, photo.height_px])
    if (ends < margin).any() or (ends > size - 1 - margin).any():
        reasons.append("a hand or foot touches the edge of the picture and may be cut off")
    if body is not None and body.mirror_disagreement_pct > _HALF_GATE_PCT:
        cautions.append(
            "the mirrored picture gave a somewhat different body "
            f"({body.mirror_disagreement_pct:.1f} % of her length); look at the marks"
        )
    knee = measures.get("knee_opening_deg")
    if knee is not None and knee.value < -_BENT_KNEE_DEG:
        cautions.append("the knees are bent: the chord tells less of hips and shoulders")
    if shape.chord != test.chord:
        cautions.append(
            f"the {test.chord_end} is not marked: the bow is measured to the {shape.chord[-1]}"
        )
    if scene.card is None:
        cautions.append("no card in the picture: scale and the phone's place are assumed")
    return Trust(not reasons, tuple(reasons)), tuple(cautions)


#: Half of the disagreement with the mirrored picture at which a find is thrown away [%].
_HALF_GATE_PCT = 2.5
