"""The shape of the training catalogue: exercises, their drawings, rungs, and the plan's numbers."""

from typing import Annotated, Literal

from pydantic import Field

from chordline.catalogue.schema import Record, Setting, Source, Sourced
from chordline.core.planning.problem import Kind, Level

Positive = Annotated[float, Field(gt=0)]

#: What an exercise puts load on; reported signs bar some of them (`BarEntry`).
Load = Literal[
    "weight_on_hands",
    "wrist_bent_back",
    "back_arched",
    "back_loaded",
    "shoulder_at_end_of_range",
    "hip_at_end_of_range",
    "upside_down",
    "neck_loaded",
    "hanging",
    "impact",
]


class FeedEntry(Sourced):
    """What one weekly dose of an exercise takes off a shortfall in one week.

    Attributes
    ----------
    gain, sd : float [capacity's unit / week]
    """

    gain: Positive
    sd: Positive


class Dose(Record):
    """One turn: sets of repetitions or of seconds.

    Exactly one of `reps` and `seconds` is given.
    """

    sets: Annotated[int, Field(ge=1, le=12)]
    reps: Annotated[int, Field(ge=1, le=60)] | None = None
    seconds: Annotated[int, Field(ge=1, le=300)] | None = None
    each_side: bool = False
    rest_s: Annotated[int, Field(ge=0, le=300)]


class ExerciseEntry(Sourced):
    """One exercise, in our own words.

    Attributes
    ----------
    title : str
        Short; names the movement, not a person.
    kind : Kind
    position, how, watch, fault : str
        A sentence or two each: how she begins; what she does; what a coach looks at; the fault to
        avoid, which the second drawing shows.
    dose : Dose
    minutes : float [min]
        Of a turn with everything.
    group : str
        Key of `groups` in plan.toml.
    hard : bool
    feeds : mapping of capacity to FeedEntry
    weekly_dose_min : float [min / week]
    equipment : tuple of str
        Keys of `equipment` in plan.toml; empty = the floor is enough.
    spotter : {'none', 'partner', 'coach'}
    from_age_y : int
    level : 1, 2 or 3
    loads : tuple of Load
    needs : mapping of capacity to float
        Largest shortfall with which it may be done.
    easier, harder : tuple of str
        Neighbours; `harder` must not lead back to itself.
    home : bool
        Whether a child may do it at home without a coach.
    care : str
        The caution that stands on its card.
    """

    title: Annotated[str, Field(min_length=3, max_length=48)]
    kind: Kind
    position: str
    how: str
    watch: str
    fault: str
    dose: Dose
    minutes: Positive
    group: str
    hard: bool = False
    feeds: dict[str, FeedEntry]
    weekly_dose_min: Positive
    equipment: tuple[str, ...] = ()
    spotter: Literal["none", "partner", "coach"] = "none"
    from_age_y: Annotated[int, Field(ge=4, le=18)]
    level: Level
    loads: tuple[Load, ...] = ()
    needs: dict[str, float] = Field(default_factory=dict)
    easier: tuple[str, ...] = ()
    harder: tuple[str, ...] = ()
    home: bool = False
    care: str


class GroupEntry(Sourced):
    """A muscle group whose weekly minutes are counted.

    Attributes
    ----------
    label : str
    least_weekly_min, most_weekly_min : float [min / week]
    """

    label: str
    least_weekly_min: Annotated[float, Field(ge=0)]
    most_weekly_min: Positive


class EquipmentEntry(Record):
    """Something that a station has."""

    label: str


class BarEntry(Sourced):
    """Loads that a reported sign (key of referrals.toml) bars from the plan."""

    loads: tuple[Load, ...]


class HeldAtLeast(Record):
    """A hold that a rung asks for."""

    test: str
    seconds: Positive


class MeasuredWithin(Record):
    """A measure of a test that a rung asks for, between two values."""

    test: str
    measure: str
    least: float | None = None
    most: float | None = None


class RungEntry(Sourced):
    """A skill of the ladder with what it leans on. All thresholds are the club's own.

    Attributes
    ----------
    title, what : str
    place : int
        Order on the ladder, from the floor up.
    capacities : mapping of capacity to float
        Largest shortfall.
    holds : tuple of HeldAtLeast
    measures : tuple of MeasuredWithin
    rungs : tuple of str
        Rungs that must be had before.
    meanwhile : tuple of str
        Exercises to do instead while it is not yet time.
    loads : tuple of Load
        Reported signs bar it as they bar exercises.
    from_age_y : int
    care : str
    """

    title: Annotated[str, Field(min_length=3, max_length=60)]
    what: str
    place: int
    capacities: dict[str, float] = Field(default_factory=dict)
    holds: tuple[HeldAtLeast, ...] = ()
    measures: tuple[MeasuredWithin, ...] = ()
    rungs: tuple[str, ...] = ()
    meanwhile: tuple[str, ...] = ()
    loads: tuple[Load, ...] = ()
    from_age_y: Annotated[int, Field(ge=4, le=18)] = 4
    care: str


class TrainingCatalogue(Record):
    """Everything that planning and the ladder rest on, as data.

    Attributes
    ----------
    version : str
        Changes with every changed byte.
    settings : mapping of name to Setting
        The plan's numbers.
    bars : mapping of flag to BarEntry
    """

    version: str
    sources: dict[str, Source]
    exercises: dict[str, ExerciseEntry]
    groups: dict[str, GroupEntry]
    equipment: dict[str, EquipmentEntry]
    bars: dict[str, BarEntry]
    rungs: dict[str, RungEntry]
    settings: dict[str, Setting]

    def setting(self, name: str) -> float:
        """Return the value of one setting."""
        return self.settings[name].value
