"""Bodies, limits and points for tests of the mechanics."""

import numpy as np

from chordline.catalogue.segments import (
    build_body,
    build_goal,
    build_stance,
    build_steps,
    default_limits,
    load_segments,
)
from chordline.core.geometry.angles import Floats
from chordline.core.mechanics.attainable import AttainableLine
from chordline.core.mechanics.chain import Chain
from chordline.core.mechanics.forecast import Body, solve_body
from chordline.core.mechanics.lengths import Lengths
from chordline.core.mechanics.limits import Limits
from chordline.core.mechanics.parts import INDEX, POINTS

SEGMENTS = load_segments()
TABLES = tuple(SEGMENTS.tables)
STATURE_M = 1.40
STANCE, STEPS, GOAL = build_stance(SEGMENTS), build_steps(SEGMENTS), build_goal(SEGMENTS)


def body(table: str = "de-leva-1996-female", stature_m: float = STATURE_M) -> Body:
    return build_body(SEGMENTS, table=table, stature_m=stature_m)


def limits_deg(**known: float | Floats) -> Limits:
    """Limits from degrees (names without unit), metres (`push_m`) and moments (`…_moment`)."""
    fields = {}
    for name, value in known.items():
        array = np.atleast_1d(np.asarray(value, float))
        if name == "push_m":
            fields["shoulder_push_m"] = array
        elif name.endswith("_moment"):
            fields[name] = array
        else:
            fields[f"{name}_rad"] = np.deg2rad(array)
    return default_limits(SEGMENTS, **fields)


def solve(limits: Limits, one: Body | None = None) -> AttainableLine:
    return solve_body(one or body(), limits, STANCE, STEPS)


def draw_limits(count: int, rng: np.random.Generator) -> Limits:
    """Limits of all kinds, moments so small that they matter among them."""
    return limits_deg(
        shoulder_opening=rng.uniform(-50.0, 15.0, count),
        hip_opening=rng.uniform(-30.0, 15.0, count),
        trunk_rounding=rng.uniform(-10.0, 25.0, count),
        trunk_arching=rng.uniform(12.0, 50.0, count),
        wrist_extension=rng.uniform(0.0, 40.0, count),
        push_m=rng.uniform(-0.02, 0.02, count),
        wrist_moment=rng.uniform(0.01, 0.05, count),
        shoulder_moment=rng.uniform(0.02, 0.15, count),
        trunk_moment=rng.uniform(0.02, 0.15, count),
        hip_moment=rng.uniform(0.02, 0.15, count),
        knee_moment=rng.uniform(0.02, 0.10, count),
    )


def chain_points(chain: Chain, lengths: Lengths, leans: Floats) -> Floats:
    """All ten points of a chain's posture, (n, 10, 2) [m], hand flat on the floor."""
    placed = dict(
        zip(
            ("wrist", "shoulder", "trunk", "hip", "knee", "malleolus", "toe"),
            chain.place_points(leans).transpose(1, 0, 2),
            strict=True,
        )
    )
    points = np.zeros((len(leans), len(POINTS), 2))
    for name, place in placed.items():
        points[:, INDEX[name]] = place
    arm = np.stack([np.sin(leans[:, 0]), np.cos(leans[:, 0])], axis=1)
    trunk = np.stack([np.sin(leans[:, 1]), np.cos(leans[:, 1])], axis=1)
    points[:, INDEX["elbow"]] = lengths.forearm * arm
    points[:, INDEX["ear"]] = placed["shoulder"] - lengths.head * trunk
    points[:, INDEX["hand"], 0] = -lengths.hand
    return points
