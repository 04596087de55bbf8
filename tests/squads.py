"""Generated squads with invented exercises: nobody of them exists.

Shortfalls, payoffs and gains have the sizes of the catalogue's; which exercise is called what does
not matter here.
"""

import numpy as np

from chordline.core.estimate import Estimate
from chordline.core.planning.problem import (
    Exercise,
    Kind,
    Level,
    Need,
    Problem,
    Rules,
    Session,
    Station,
    Trainee,
)

GROUPS = {
    "hip_extension_deg": "hip_flexors",
    "shoulder_flexion_deg": "chest_lats",
    "shoulder_active_lag_deg": "shoulder_lifters",
    "pelvic_tuck_deg": "pelvis",
    "upper_back_rounding_deg": "upper_back",
    "front_chain_s": "front_chain",
    "back_chain_s": "back_chain",
    "shoulder_push_pct": "shoulder_push",
    "neck_flexion_deg": "neck",
    "hand_balance_deg": "hands",
}
#: Gain of a weekly dose in one week, spread of the shortfall over a squad, payoff of a unit.
SIZES = {
    "hip_extension_deg": (0.8, 8.0, 0.12),
    "shoulder_flexion_deg": (0.9, 10.0, 0.08),
    "shoulder_active_lag_deg": (0.8, 8.0, 0.07),
    "pelvic_tuck_deg": (1.0, 9.0, 0.06),
    "upper_back_rounding_deg": (0.6, 7.0, 0.10),
    "front_chain_s": (0.04, 0.4, 2.0),
    "back_chain_s": (0.04, 0.4, 1.5),
    "shoulder_push_pct": (0.6, 7.0, 0.05),
    "neck_flexion_deg": (0.5, 6.0, 0.05),
    "hand_balance_deg": (0.4, 5.0, 0.10),
}
KINDS_FOR: dict[str, tuple[Kind, ...]] = {
    "hip_extension_deg": ("range", "range", "active", "control"),
    "shoulder_flexion_deg": ("range", "range", "range", "active"),
    "shoulder_active_lag_deg": ("active", "active", "strength", "active"),
    "pelvic_tuck_deg": ("control", "control", "shape", "control"),
    "upper_back_rounding_deg": ("control", "shape", "range", "shape"),
    "front_chain_s": ("strength", "shape", "strength", "strength"),
    "back_chain_s": ("strength", "shape", "strength", "strength"),
    "shoulder_push_pct": ("strength", "skill", "strength", "balance"),
    "neck_flexion_deg": ("control", "shape", "control", "range"),
    "hand_balance_deg": ("balance", "skill", "balance", "skill"),
}
RULES = Rules(
    least_weekly_min=dict.fromkeys(GROUPS.values(), 4.0),
    most_weekly_min={
        "hip_flexors": 12.0,
        "chest_lats": 12.0,
        "upper_back": 12.0,
        "neck": 8.0,
        "shoulder_lifters": 18.0,
        "shoulder_push": 18.0,
        "pelvis": 18.0,
        "front_chain": 24.0,
        "back_chain": 24.0,
        "hands": 24.0,
    },
    most_weekly_hard=3,
    most_repeats=1,
    block_weeks=4,
    doubt_weight=0.5,
)
GEAR = ("mat", "wall", "blocks", "box", "stall_bars", "stick")


def exercises() -> tuple[Exercise, ...]:
    """Return forty exercises, four for every capacity; always the same."""
    rng = np.random.default_rng(3)
    names = list(GROUPS)
    made = []
    for n, capacity in enumerate(names):
        gain = SIZES[capacity][0]
        for variant, kind in enumerate(KINDS_FOR[capacity]):
            feeds = {capacity: Estimate(gain * (0.8 + 0.15 * variant), 0.4 * gain)}
            if variant % 2:
                also = names[(n + variant) % len(names)]
                feeds[also] = Estimate(0.3 * SIZES[also][0], 0.2 * SIZES[also][0])
            on_hands = capacity in ("hand_balance_deg", "shoulder_push_pct") and variant != 2
            loads = {"weight_on_hands", "upside_down"} if on_hands else set()
            if kind == "range":
                loads.add("hip_at_end_of_range" if n == 0 else "shoulder_at_end_of_range")
            made.append(
                Exercise(
                    id=f"{GROUPS[capacity]}_{variant}",
                    kind=kind,
                    minutes=float(rng.choice([4.0, 5.0, 6.0])),
                    group=GROUPS[capacity],
                    hard=kind == "strength",
                    feeds=feeds,
                    weekly_dose_min=float(rng.choice([8.0, 10.0, 12.0])),
                    equipment=frozenset({GEAR[(n + variant) % len(GEAR)]} if variant else ()),
                    spotters=int(on_hands and variant == 3),
                    from_age_y=8.0 if variant == 3 else 6.0,
                    level=2 if variant == 3 else 1,
                    loads=frozenset(loads),
                    needs={"shoulder_flexion_deg": 20.0} if on_hands else {},
                )
            )
    return tuple(made)


EXERCISES = exercises()


def squad(
    count: int,
    *,
    seed: int = 1,
    weeks: int = 12,
    weekdays: tuple[int, ...] = (0, 2, 4),
    stations: int = 6,
    places: int = 4,
    rounds: int = 6,
    coaches: int = 2,
    signs: float = 0.1,
) -> Problem:
    """Return the problem of a squad that was drawn by chance."""
    rng = np.random.default_rng(seed)
    return Problem(
        trainees=tuple(_trainee(n + 1, rng, signs) for n in range(count)),
        exercises=EXERCISES,
        stations=tuple(
            Station(
                name=f"place {k + 1}",
                places=places,
                equipment=frozenset({GEAR[k % len(GEAR)], GEAR[(k + 1) % len(GEAR)], "mat"}),
            )
            for k in range(stations)
        ),
        sessions=tuple(
            Session(day=7 * week + day, week=week, rounds=rounds, round_min=8.0, coaches=coaches)
            for week in range(weeks)
            for day in weekdays
        ),
        rules=RULES,
    )


def _trainee(gymnast: int, rng: np.random.Generator, signs: float) -> Trainee:
    needs = {}
    for name, (_, spread, payoff) in SIZES.items():
        tested = rng.random() < 0.7
        needs[name] = Need(
            shortfall=Estimate(
                float(rng.normal(0.4 * spread, 0.8 * spread)) if tested else 0.4 * spread,
                (0.3 if tested else 1.0) * spread,
            ),
            payoff=Estimate(
                payoff * float(rng.uniform(0.2, 1.8)), payoff * float(rng.uniform(0.1, 0.8))
            ),
        )
    level: Level = 1 if rng.random() < 0.5 else 2
    barred = {"weight_on_hands", "wrist_bent_back"} if rng.random() < signs else set()
    return Trainee(
        id=gymnast,
        age_y=float(rng.uniform(7.0, 14.0)),
        level=level,
        needs=needs,
        barred=frozenset(barred),
    )
