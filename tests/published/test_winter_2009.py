"""Winter DA (2009), Biomechanics and Motor Control of Human Movement, table 4.1 and examples.

Table 4.1 (after Dempster) and the worked limb were read in the tables of Duarte & Watanabe
(BMClab/BMC, commit fa66686: data/BSP_DempsterWinter.txt and notebooks/BodySegmentParameters.ipynb).
That the coordinates are Winter's example 4.2, and the example of the leg's inertia (80 kg, leg
0.435 m), is from memory, with high confidence. Tolerances are half of the last printed digit.
"""

import numpy as np
import pytest

from chordline.catalogue.segments import load_segments
from chordline.core.mechanics.lengths import no_points
from chordline.core.mechanics.parts import (
    INDEX,
    Parts,
    compute_inertia,
    locate_mass_centre,
    place_parts,
)

WINTER = load_segments().tables["winter-2009"]
TABLE = WINTER.printed
#: Lines as facts tell them: mass, centre from the proximal end, radius about the centre.
LINES = {
    "Hand": (0.006, 0.506, 0.297),
    "Forearm": (0.016, 0.430, 0.303),
    "Upper arm": (0.028, 0.436, 0.322),
    "Total arm": (0.050, 0.530, 0.368),
    "Foot": (0.0145, 0.500, 0.475),
    "Leg": (0.0465, 0.433, 0.302),
    "Foot leg": (0.061, 0.606, 0.416),
    "Thigh": (0.100, 0.433, 0.323),
    "Total leg": (0.161, 0.447, 0.326),
    "Trunk": (0.497, 0.500, None),
    "Head neck": (0.081, 1.000, 0.495),
    "Trunk head neck": (0.578, 0.660, 0.503),
    "HAT": (0.678, 0.626, 0.496),
}
#: cm. MT2 stands for the second metatarsal's head.
LIMB_CM = {
    "toe": (101.1, 1.3),
    "malleolus": (84.9, 11.0),
    "knee": (86.4, 54.9),
    "hip": (72.1, 92.8),
}


def limb() -> tuple[Parts, np.ndarray]:
    """One leg as a whole body: the table's masses over the leg's, the foot ending at MT2."""
    names = ("Thigh", "Leg", "Foot")
    lines = [TABLE[name] for name in names]
    mass = np.array([line.mass for line in lines])
    parts = Parts(
        table="winter-2009, one leg",
        names=names,
        links=("thigh", "shank", "foot"),
        mass=mass / mass.sum(),
        along=np.array([line.cm_prox for line in lines]),
        radius=np.array([line.rg_cm for line in lines]),
    )
    points = no_points(())
    for name, place in LIMB_CM.items():
        points[INDEX[name]] = np.array(place) / 100.0
    return parts, points


@pytest.mark.parametrize("segment", LINES)
def test_the_table_holds_the_printed_lines(segment: str) -> None:
    line = TABLE[segment]
    assert (line.mass, line.cm_prox, line.rg_cm) == LINES[segment]


def test_head_trunk_and_limbs_make_one_body_to_the_printed_digit() -> None:
    total = sum(count * TABLE[name].mass for name, count in WINTER.whole.items())
    assert total == pytest.approx(1.000, abs=1e-12)


def test_the_parts_of_a_worked_limb_have_their_printed_centres() -> None:
    thigh, leg, foot = place_parts(*limb())
    assert foot == pytest.approx([0.930, 0.062], abs=0.0005 + 1e-9)
    assert leg == pytest.approx([0.858, 0.359], abs=0.0005)
    assert thigh == pytest.approx([0.783, 0.764], abs=0.0005)


def test_a_worked_limb_has_its_printed_centre() -> None:
    assert locate_mass_centre(*limb()) == pytest.approx([0.818, 0.584], abs=0.0005)


def test_a_worked_limb_has_its_printed_inertia_about_its_centre_and_the_hip() -> None:
    parts, points = limb()
    mass_kg = 0.161 * 100.0
    about_centre = compute_inertia(parts, points, np.array(mass_kg))
    assert about_centre == pytest.approx(1.257, abs=0.0005)
    arm = locate_mass_centre(parts, points) - points[INDEX["hip"]]
    assert about_centre + mass_kg * arm @ arm == pytest.approx(3.317, abs=0.0005)


@pytest.mark.parametrize(
    ("segment", "printed"), [("Foot", 0.012), ("Leg", 0.082), ("Thigh", 0.171)]
)
def test_each_part_of_the_limb_has_its_printed_inertia(segment: str, printed: float) -> None:
    parts, points = limb()
    i = parts.names.index(segment)
    proximal, distal = parts.ends
    length = np.linalg.norm(points[distal[i]] - points[proximal[i]])
    inertia = TABLE[segment].mass * 100.0 * (TABLE[segment].rg_cm * length) ** 2
    assert inertia == pytest.approx(printed, abs=0.0005)


def test_the_leg_of_eighty_kilograms_from_memory() -> None:
    leg, length = TABLE["Leg"], 0.435
    mass_kg = 80.0 * leg.mass
    own = mass_kg * (leg.rg_cm * length) ** 2
    assert mass_kg == pytest.approx(3.72, abs=0.005)
    assert own == pytest.approx(0.064, abs=0.0005)
    assert own + mass_kg * (leg.cm_prox * length) ** 2 == pytest.approx(0.196, abs=0.0005)
    assert own + mass_kg * ((1.0 - leg.cm_prox) * length) ** 2 == pytest.approx(0.291, abs=0.0005)


def test_the_head_is_printed_with_a_radius_that_cannot_be() -> None:
    head = TABLE["Head neck"]
    assert head.rg_prox == 0.116  # as printed; kept
    assert head.rg_prox < head.cm_prox  # a radius about an end is longer than the way to the centre
    assert np.hypot(head.rg_cm, head.cm_prox) == pytest.approx(1.116, abs=0.0005)
    declared = {(one.segment, one.column): one.consistent for one in WINTER.misprints}
    assert declared["Head neck", "rg_prox"] == 1.116


def test_the_head_of_the_model_does_not_fall_for_the_misprint() -> None:
    """About its proximal end the head's radius is 1.116 of its length, not 0.116."""
    parts = WINTER.build_parts("winter-2009")
    i = parts.names.index("Head neck")
    start, end = WINTER.ends_on_link(WINTER.parts[i])
    about_end = np.hypot(parts.radius[i], parts.along[i] - start) / abs(end - start)
    assert about_end == pytest.approx(1.116, abs=0.0005)
