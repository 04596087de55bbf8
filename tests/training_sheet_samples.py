"""Invented gymnasts, groups and plans for the sheets of training: long names, full squads."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import date, timedelta
from functools import cache
from typing import Any

from chordline.application.club.records import NoteRecord
from chordline.application.findings import Findings
from chordline.application.forecast.told import Gain, LineForecast
from chordline.application.make_squad_sheet import draw_line
from chordline.application.training.planned import ReadPlan, read_plan
from chordline.application.training.sheets.her import Her
from chordline.catalogue.loader import load_catalogue
from chordline.catalogue.training import load_training
from chordline.core.body.measurement import Mark, Measure, Measurement
from chordline.core.estimate import Estimate
from screen_stories import judge, story

CATALOGUE = load_catalogue()
TRAINING = load_training(CATALOGUE)
#: A Tuesday.
DAY = date(2026, 9, 1)
#: 45 letters.
LONG = "Maximiliane-Theodora Freifrau von Oldenhausen"
CLUB = "Turnverein Musterstadt-Altenhausen 1862 e. V."

FIRST = (
    "Ada", "Bea", "Cleo", "Dora", "Elif", "Fina", "Greta", "Hanne", "Ida", "Juna", "Kira",
    "Lotte", "Maja", "Nele", "Oda", "Pia", "Ronja", "Sina", "Tilda", "Ulla", "Vera", "Wanda",
    "Xenia", "Yuna",
)  # fmt: skip
#: Twenty-four, among them two of one first name and two double names of 45 letters.
NAMES: Mapping[int, str] = {
    **{101 + i: f"{first} Musterberg" for i, first in enumerate(FIRST)},
    102: LONG,
    103: "Annegret-Wilhelmine Schulze-Wiesenthal-Brandt",
    104: "Ada Lindholm",
}
SHE = 101

WALL_LINE = (
    (0.0, 0.0),
    (-3.0, 30.0),
    (1.9, 46.0),
    (0.0, 55.3),
    (0.0, 77.6),
    (0.0, 100.0),
    (0.0, 110.4),
)
STRAIGHTER = (
    (0.0, 0.0),
    (-1.9, 29.2),
    (1.2, 45.7),
    (0.0, 55.1),
    (0.0, 77.5),
    (0.0, 100.0),
    (0.0, 110.4),
)
FORECAST = LineForecast(
    bow_max_pct=Estimate(3.04, 0.45),
    lean_deg=Estimate(0.0, 0.1),
    openings_deg={"shoulder": Estimate(-23.0, 3.5)},
    p_within_10deg=0.999,
    p_straight=0.02,
    p_arrived=0.02,
    straight_within_pct=2.0,
    stopped_by="shoulder_flexion_deg",
    stopped_share=1.0,
    payoffs={"shoulder_flexion_deg": Estimate(0.066, 0.02)},
    line=WALL_LINE,
    best=Gain("shoulder_flexion_deg", 10.0, Estimate(0.66, 0.01), Estimate(1.9, 0.45), STRAIGHTER),
    draws=240,
    version="0",
    table="invented",
)
_UPSIDE_DOWN = {
    "wrist": (800.0, 1100.0),
    "hand": (800.0, 1130.0),
    "elbow": (770.0, 950.0),
    "shoulder": (745.0, 800.0),
    "hip": (800.0, 520.0),
    "knee": (815.0, 300.0),
    "malleolus": (800.0, 100.0),
    "toe": (800.0, 10.0),
}


@cache
def found() -> Findings:
    """Closed shoulders, and hips that reach the floor."""
    return replace(
        judge(
            story(
                prone_sides={"hip": 0.0},
                prone_overhead={"shoulder": -28.0},
                prone_raised={"shoulder": -27.0},
                prone_active={"hip": 12.0, "shoulder": -30.0},
                holds={"hold_front": 11.0},
            )
        ),
        forecast=FORECAST,
    )


def handstand() -> Measurement:
    told = story(handstand={"shoulder": -27.0}).measurements[0]
    marks = {name: Mark(x, y, 3.0, "hand") for name, (x, y) in _UPSIDE_DOWN.items()}
    bow = Measure(value=-5.5, sd=0.5, unit="pct", systematic={})
    return replace(told, landmarks=marks, measures={**told.measures, "bow_max_pct": bow})


def measurements() -> tuple[Measurement, ...]:
    return (
        *story(
            prone_sides={"hip": 0.0},
            prone_overhead={"shoulder": -28.0},
            prone_raised={"shoulder": -27.0},
            prone_active={"hip": 12.0, "shoulder": -30.0},
        ).measurements,
        handstand(),
    )


def sign(flag: str = "wrist_pain", text: str = "", *, id_: int = 5) -> NoteRecord:
    return NoteRecord(
        id=id_,
        gymnast_id=SHE,
        noted_on=date(2026, 8, 29),
        kind="flag",
        flag=flag,
        text=text,
        author="Kim",
        closed_on=None,
    )


def exercises_for(capacity: str, count: int) -> list[str]:
    """The longest titles first, so that sheets are tried at their fullest."""
    feeding = [name for name, one in TRAINING.exercises.items() if capacity in one.feeds]
    return sorted(feeding, key=lambda name: -len(TRAINING.exercises[name].title))[:count]


WORK = {
    "shoulder_flexion_deg": (12.0, 17.8, 3.1, 0.066, 6.4),
    "front_chain_s": (9.0, 0.62, 0.2, 1.1, 0.31),
    "shoulder_active_lag_deg": (6.5, 9.2, 4.0, 0.047, 4.1),
}


def home_of_all() -> list[str]:
    return [
        name
        for name, one in TRAINING.exercises.items()
        if one.home and one.level == 1 and one.from_age_y <= 8
    ]


def plan_record(
    ids: tuple[int, ...] = tuple(NAMES),
    *,
    rounds: int = 5,
    stations: int = 5,
    weeks: int = 12,
) -> dict[str, Any]:
    """`chordline.plan/1` of a group that trains on Tuesdays, Thursdays and Saturdays."""
    words = [name for capacity in WORK for name in exercises_for(capacity, 12)]
    first = DAY
    sessions = []
    for week in range(weeks):
        for offset in (0, 2, 4):
            turns = []
            for round_ in range(rounds):
                turns.append(
                    [
                        {
                            "station": station,
                            "exercise": words[(station + round_ * stations + week) % len(words)],
                            "gymnasts": list(ids[(station + round_) % stations :: stations]),
                        }
                        for station in range(stations)
                    ]
                )
            sessions.append(
                {
                    "date": (first + timedelta(days=7 * week + offset)).isoformat(),
                    "week": week,
                    "starts_at": "17:15",
                    "warm_up_min": 10,
                    "round_min": 8,
                    "coaches": 2,
                    "rounds": turns,
                    "resting": [[] for _ in range(rounds)],
                    "absent": [],
                }
            )
    names = (
        "Airtrack",
        "Wall bars at the long side",
        "Mats by the window",
        "Low beam and blocks",
        "Free wall",
        "Soft pit",
    )
    return {
        "schema": "chordline.plan/1",
        "group": {"id": 1, "name": "Thursday group"},
        "first_day": first.isoformat(),
        "weeks": weeks,
        "objective": {
            "straightening_pct": 31.4,
            "bound_pct": 33.0,
            "gap": 0.05,
            "expected_pct": {"mean": 36.0, "sd": 18.0},
        },
        "stations": [
            {"name": name, "places": 6, "equipment": ["mat", "wall", "blocks"]}
            for name in names[:stations]
        ],
        "sessions": sessions,
        "gymnasts": [_hers(id_, place) for place, id_ in enumerate(ids)],
        "asked": {},
        "catalogue": CATALOGUE.version,
        "training": TRAINING.version,
    }


def _hers(id_: int, place: int) -> dict[str, Any]:
    names = list(CATALOGUE.capacities)
    chosen = [*WORK, names[place % len(names)]] if place else [*WORK]
    return {
        "gymnast": id_,
        "level": 1,
        "signs": ["wrist_pain"] if place == 3 else [],
        "barred": ["weight_on_hands", "wrist_bent_back"] if place == 3 else [],
        "never_screened": place == 5,
        "work": [
            {
                "capacity": name,
                "weekly_min": WORK.get(name, (4.5,))[0],
                "shortfall": {"mean": worth[1], "sd": worth[2]},
                "payoff": {"value": worth[3], "sd": 0.3 * worth[3]},
                "gain": {"mean": worth[4], "sd": 0.3 * worth[4]},
            }
            for name in dict.fromkeys(chosen)
            for worth in (WORK.get(name, (4.5, 6.0, 3.0, 0.03, 2.0)),)
        ],
        "home": home_of_all()[3 * place % 30 : 3 * place % 30 + 3],
        "too_little": ["hip_flexors", "shoulder_push"] if place % 7 == 2 else [],
    }


def the_plan(**said: Any) -> ReadPlan:
    return read_plan(plan_record(**said))


def her(**changed: Any) -> Her:
    """Ada, with everything there is."""
    plan = the_plan()
    hers = Her(
        id=SHE,
        name="Ada Musterberg",
        club=CLUB,
        birth_date=date(2016, 3, 14),
        level=1,
        day=DAY,
        screened_on=date(2026, 8, 25),
        found=found(),
        measurements=measurements(),
        line=draw_line(handstand(), CATALOGUE),
        plan=plan,
        hers=plan.hers[SHE],
        evenings=tuple(one for one in plan.evenings if SHE in one.gymnasts),
    )
    return replace(hers, **changed)
