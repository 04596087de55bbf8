"""Centre of mass, inertia and joint moments of posed chains, by the dynamics engine MuJoCo.

The same parts are built as bodies with masses and hinges. MuJoCo's inverse dynamics at rest give
the torques that hold the posture, its composite inertia the whole body's inertia. MuJoCo is a test
extra: where it is missing this file fails, it is not skipped.
"""

import mujoco
import numpy as np
import pytest

from chordline.core.geometry.angles import Floats
from chordline.core.mechanics.chain import SENSES, leans_of
from chordline.core.mechanics.parts import (
    INDEX,
    LINKS,
    Parts,
    compute_inertia,
    locate_mass_centre,
)
from chordline.core.mechanics.statics import (
    Posture,
    compute_moments,
    locate_balance,
    stand_posture,
)
from posed_handstands import SEGMENTS, STATURE_M, TABLES, body, chain_points

MASS_KG = 34.0
GRAVITY = 9.81
POSTURES = 200
REL = 1e-6
#: Bodies from the floor up: the joint at which each begins, the joint where the next begins, and
#: the links of the table that ride on it.
BODIES = (
    ("forearm", "wrist", "elbow", ("forearm",)),
    ("upper_arm", "elbow", "shoulder", ("upper_arm",)),
    ("upper_trunk", "shoulder", "trunk", ("upper_trunk", "head")),
    ("lower_trunk", "trunk", "hip", ("lower_trunk",)),
    ("thigh", "hip", "knee", ("thigh",)),
    ("shank", "knee", "malleolus", ("shank", "foot")),
)
JOINTS = [start for _, start, _, _ in BODIES]


class Engine:
    """A chain in MuJoCo, straight up in its rest position: x to the front, z up."""

    def __init__(self, parts: Parts, lengths_m: dict[str, float]) -> None:
        self.straight = straight_points(lengths_m)
        self.model = mujoco.MjModel.from_xml_string(self._xml(parts))
        self.data = mujoco.MjData(self.model)

    def _xml(self, parts: Parts) -> str:
        inner = ""
        for name, start, _end, links in reversed(BODIES):
            at = self._place(start)
            below = BODIES[max(0, [b[0] for b in BODIES].index(name) - 1)][1]
            base = at - self._place(below) if start != "wrist" else np.zeros(2)
            riders = "".join(
                self._rider(parts, i, at) for i in np.flatnonzero(parts.ride_on(*links))
            )
            inner = (
                f'<body name="{name}" pos="{base[0]:.17g} 0 {base[1]:.17g}">'
                # About −y: a positive angle leans the link's upper end to the back.
                f'<joint name="{start}" type="hinge" axis="0 -1 0"/>{riders}{inner}</body>'
            )
        hand = self._rider(parts, int(np.flatnonzero(parts.ride_on("hand"))[0]), np.zeros(2))
        return (
            f'<mujoco><option gravity="0 0 {-GRAVITY}"/>'
            '<compiler inertiafromgeom="false" boundmass="0"/>'
            f'<worldbody><body name="root"><inertial pos="0 0 0" mass="1e-12" '
            f'diaginertia="1e-12 1e-12 1e-12"/>{hand}{inner}</body></worldbody></mujoco>'
        )

    def _rider(self, parts: Parts, i: int, at: Floats) -> str:
        start, end = (self._place(name) for name in LINKS[parts.links[i]])
        centre = start + parts.along[i] * (end - start) - at
        mass = parts.mass[i] * MASS_KG
        inertia = mass * (parts.radius[i] * np.linalg.norm(end - start)) ** 2
        return (
            f'<body pos="{centre[0]:.17g} 0 {centre[1]:.17g}"><inertial pos="0 0 0" '
            f'mass="{mass:.17g}" diaginertia="{inertia:.17g} {inertia:.17g} {inertia:.17g}"/>'
            "</body>"
        )

    def _place(self, name: str) -> Floats:
        return self.straight[INDEX[name]]

    def rest(self, angles: Floats) -> None:
        self.data.qpos[:] = angles
        self.data.qvel[:] = 0.0
        self.data.qacc[:] = 0.0
        mujoco.mj_inverse(self.model, self.data)

    @property
    def torques(self) -> dict[str, float]:
        return dict(zip(JOINTS, self.data.qfrc_inverse, strict=True))

    @property
    def centre(self) -> Floats:
        return self.data.subtree_com[1][[0, 2]]

    @property
    def inertia(self) -> float:
        """About the transverse axis through the centre of mass, summed over MuJoCo's bodies."""
        total = 0.0
        for i in range(1, self.model.nbody):
            turn = self.data.ximat[i].reshape(3, 3)
            own = turn @ np.diag(self.model.body_inertia[i]) @ turn.T
            away = self.data.xipos[i] - self.data.subtree_com[1]
            total += own[1, 1] + self.model.body_mass[i] * (away[0] ** 2 + away[2] ** 2)
        return total


def straight_points(lengths_m: dict[str, float]) -> Floats:
    points = np.zeros((len(INDEX), 2))
    height = 0.0
    for link, name in (
        ("forearm", "elbow"),
        ("upper_arm", "shoulder"),
        ("upper_trunk", "trunk"),
        ("lower_trunk", "hip"),
        ("thigh", "knee"),
        ("shank", "malleolus"),
        ("foot", "toe"),
    ):
        height += lengths_m[link]
        points[INDEX[name], 1] = height
    points[INDEX["ear"], 1] = points[INDEX["shoulder"], 1] - lengths_m["head"]
    points[INDEX["hand"], 0] = -lengths_m["hand"]
    return points


def turned_points(straight: Floats, angles: Floats) -> Floats:
    """Our own forward kinematics: leans fall by each joint's angle, from the floor up."""
    leans = -angles.cumsum()
    points = np.array(straight)
    at = np.zeros(2)
    for (_, start, end, _), lean in zip(BODIES, leans, strict=True):
        up = np.array([np.sin(lean), np.cos(lean)])
        rest = straight[INDEX[start]]
        if start == "shoulder":
            points[INDEX["ear"]] = at + (straight[INDEX["ear"]] - rest)[1] * up
        at = at + (straight[INDEX[end]] - rest)[1] * up
        points[INDEX[end]] = at
    points[INDEX["toe"]] = at + (straight[INDEX["toe"]] - straight[INDEX["malleolus"]])[1] * up
    return points


def random_lengths(rng: np.random.Generator) -> dict[str, float]:
    return {
        link: fraction * STATURE_M * rng.uniform(0.8, 1.2)
        for link, fraction in SEGMENTS.link_fractions().items()
    }


@pytest.mark.parametrize("table", TABLES)
def test_centre_inertia_and_moments_of_random_postures(table: str) -> None:
    rng = np.random.default_rng(TABLES.index(table))
    parts = SEGMENTS.parts(table)
    engine = Engine(parts, random_lengths(rng))
    unit = MASS_KG * GRAVITY * STATURE_M
    for angles in rng.uniform(-0.9, 0.9, (POSTURES, len(BODIES))):
        engine.rest(angles)
        points = turned_points(engine.straight, angles)
        centre = locate_mass_centre(parts, points)
        assert centre == pytest.approx(engine.centre, rel=REL, abs=REL * STATURE_M)
        inertia = compute_inertia(parts, points, np.array(MASS_KG))
        assert inertia == pytest.approx(engine.inertia, rel=REL)
        posture = stand_posture(
            points[None],
            facing=1,
            otherwise=body(table).lengths,
            trunk_fraction=SEGMENTS.trunk_fraction,
            heel_m=0.0,
        )
        ours = compute_moments(parts, posture, stature_m=STATURE_M)[0]
        # The engine's angles open the joints (about −y the upper end goes to the back); the knee
        # is signed the other way. Torques are what holds her.
        theirs = SENSES * [engine.torques[j] for j in ("wrist", "shoulder", "trunk", "hip", "knee")]
        assert ours * unit == pytest.approx(theirs, rel=REL, abs=REL * unit * 0.01)
        share = locate_balance(parts, posture)[0]
        hand_m = -points[INDEX["hand"], 0]
        assert share == pytest.approx(-100.0 * engine.centre[0] / hand_m, rel=REL, abs=1e-4)


def test_the_chain_of_four_links_has_the_engines_moments() -> None:
    """The chain that is optimised, elbows and knees straight, foot and head in line."""
    rng = np.random.default_rng(17)
    one = body()
    lengths = {link: float(getattr(one.lengths, link)) for link in LINKS}
    engine = Engine(one.parts, lengths)
    chain = one.chain(np.zeros(1))
    unit = MASS_KG * GRAVITY * STATURE_M
    for _ in range(POSTURES):
        arm, openings = rng.uniform(-0.5, 0.5, 1), rng.uniform(-0.8, 0.8, (1, 3))
        leans = leans_of(arm, openings)
        engine.rest(np.array([-arm[0], 0.0, *openings[0], 0.0]))
        assert chain.locate_mass_centre(leans)[0] == pytest.approx(
            engine.centre[0], rel=REL, abs=REL * STATURE_M
        )
        torques = SENSES * [
            engine.torques[j] for j in ("wrist", "shoulder", "trunk", "hip", "knee")
        ]
        assert chain.compute_moments(leans)[0] * unit == pytest.approx(
            torques, rel=REL, abs=REL * unit * 0.01
        )
        points = chain_points(chain, one.lengths, leans)
        at = [INDEX[name] for name in ("shoulder", "hip", "malleolus", "toe")]
        ours = turned_points(engine.straight, np.array([-arm[0], 0.0, *openings[0], 0.0]))
        assert points[0, at] == pytest.approx(ours[at], abs=1e-12)


def test_control_another_table_does_not_pass() -> None:
    """The comparison can fail: masses of another table miss by far more than rounding."""
    rng = np.random.default_rng(3)
    female, male = (SEGMENTS.parts(table) for table in TABLES[1:])
    engine = Engine(female, random_lengths(rng))
    angles = rng.uniform(-0.5, 0.5, len(BODIES))
    engine.rest(angles)
    points = turned_points(engine.straight, angles)
    assert np.abs(locate_mass_centre(male, points) - engine.centre).max() > 1e-3


def test_control_a_moment_of_the_wrong_sign_does_not_pass() -> None:
    engine = Engine(SEGMENTS.parts(TABLES[0]), random_lengths(np.random.default_rng(4)))
    angles = np.array([0.1, 0.0, -0.3, 0.2, 0.1, 0.0])
    engine.rest(angles)
    points = turned_points(engine.straight, angles)
    posture: Posture = stand_posture(
        points[None] * [-1.0, 1.0],
        facing=1,
        otherwise=body().lengths,
        trunk_fraction=SEGMENTS.trunk_fraction,
        heel_m=0.0,
    )
    ours = compute_moments(SEGMENTS.parts(TABLES[0]), posture, stature_m=STATURE_M)[0, 1]
    assert ours * engine.torques["shoulder"] < 0.0
