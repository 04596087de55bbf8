"""A club whose group of three has a plan of two sessions."""

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from club_pages import ClubSite

from training_stories import planned_session, turn


def work(capacity: str, weekly_min: float) -> dict[str, Any]:
    return {
        "capacity": capacity,
        "weekly_min": weekly_min,
        "shortfall": {"mean": 14.0, "sd": 4.0},
        "payoff": {"value": 0.2, "sd": 0.05},
        "gain": {"mean": 6.0, "sd": 3.0},
    }


@dataclass
class Training:
    """A group of three with a plan of two sessions, today's and one in two days."""

    site: ClubSite
    group: int
    ids: dict[str, int]
    today: date

    def page(self, name: str, status: int = 200) -> str:
        return self.site.page(f"/groups/{self.group}/{name}", status)

    def post(self, name: str, **fields: Any) -> Any:
        return self.site.post(f"/groups/{self.group}/{name}", **fields)

    def session(self) -> Any:
        with self.site.app.records.reading() as tx:
            return tx.training.session_held(self.group, self.today)


def plan_for(site: ClubSite) -> Training:
    """A group with a plan of today's session and one in two days."""
    today = date.today()
    names = ("Ada Berg", "Bea Holm", "Cleo Lund")
    ids = {name.split()[0]: site.add(name, card).id for card, name in enumerate(names, 1)}
    with site.app.records.transaction() as tx:
        group = tx.clubs.add_group(site.app.club().id, "Tuesday squad").id
        tx.clubs.put_in_group(group, list(ids.values()))
        exercises = list(site.app.training.exercises)
        first, second = exercises[0], exercises[1]
        sessions = [
            planned_session(
                day,
                [turn(0, first, ids["Ada"], ids["Bea"]), turn(1, second, ids["Cleo"])],
                [turn(1, second, ids["Ada"])],
                resting=[[], [ids["Bea"], ids["Cleo"]]],
            )
            for day in (today, today + timedelta(days=2))
        ]
        record = {
            "schema": "chordline.plan/1",
            "group": {"id": group, "name": "Tuesday squad"},
            "first_day": today.isoformat(),
            "weeks": 1,
            "objective": {"straightening_pct": 9.7, "bound_pct": 10.0, "gap": 0.03},
            "stations": [
                {"name": "Mats", "places": 4, "equipment": ["mat"]},
                {"name": "Wall", "places": 4, "equipment": ["wall"]},
            ],
            "sessions": sessions,
            "gymnasts": [
                {
                    "gymnast": ids["Ada"],
                    "level": 1,
                    "signs": ["wrist_pain"],
                    "barred": ["weight_on_hands"],
                    "never_screened": True,
                    "work": [work("hip_extension_deg", 12.0)],
                    "home": [first],
                    "too_little": ["neck"],
                }
            ],
            "asked": {
                "weeks": 1,
                "pins": [{"exercise": first, "gymnast": ids["Ada"], "date": None}],
                "exclusions": [],
                "absences": [],
            },
            "catalogue": "x",
            "training": "y",
        }
        tx.training.add_plan(group, first_day=today, record=record, author="Kim")
    return Training(site, group, ids, today)
