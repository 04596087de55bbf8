"""What the records know of a gymnast, as the ladder asks for it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta

import numpy as np

from chordline.application.club.her_screen import counting_photos, held_in
from chordline.application.club.records import Json
from chordline.application.club.views import GymnastView, ScreenView
from chordline.application.days import age_on
from chordline.application.training.records import SkillRecord
from chordline.application.training.signs import open_signs, seen_signs
from chordline.catalogue.schema import Catalogue
from chordline.catalogue.training_schema import TrainingCatalogue
from chordline.core.body.measurement import Measurement
from chordline.core.body.measures import unit_of
from chordline.core.body.verdict import Verdict
from chordline.core.capacity.model import Belief
from chordline.core.capacity.observed import HOLD_MEASURE, Held
from chordline.core.estimate import Estimate
from chordline.core.planning.ladder import Correlations

#: Screens that are looked at: a short one must not hide what the one before has told.
SCREENS = 3


@dataclass(frozen=True)
class KnownCapacity:
    """A capacity that a test has told something of.

    Attributes
    ----------
    shortfall : Estimate [capacity's unit]
    decided : bool
        Whether the findings say a word of it; else it may be another capacity's shortfall.
    day : date
        Of the screen.
    ask_test : str or None
        The test that the findings ask for to decide it.
    """

    shortfall: Estimate
    decided: bool
    day: date
    ask_test: str | None = None


@dataclass(frozen=True)
class KnownHold:
    """Seconds in shape.

    Attributes
    ----------
    seconds : float [s]
    rel_sd : float
        Relative error, what she changes from day to day included.
    reached_cap : bool
        She was stopped in shape: at least so long.
    day : date
    """

    seconds: float
    rel_sd: float
    reached_cap: bool
    day: date


@dataclass(frozen=True)
class KnownOfScreen:
    """What one screen tells; the fields are those of `Known`."""

    capacities: Mapping[str, KnownCapacity]
    measures: Mapping[tuple[str, str], Estimate]
    put_aside: frozenset[tuple[str, str]]
    holds: Mapping[str, KnownHold]


@dataclass(frozen=True)
class Known:
    """A gymnast as the ladder sees her.

    Attributes
    ----------
    gymnast_id : int
    name : str
    card : int or None
    age_y : int or None
    screened_on : date or None
        Her latest screen.
    capacities : mapping of capacity to KnownCapacity
    measures : mapping of (test, measure) to Estimate
        The error holds what she changes from take to take.
    put_aside : frozenset of (test, measure)
        Takes that contradict each other: nothing is read from them.
    holds : mapping of test to KnownHold
    signs : tuple of str
        Reported signs that are open; keys of the catalogue's referrals.
    skills : mapping of rung to SkillRecord
    correlations : Correlations or None
        Of the capacities; None = not known.
    """

    gymnast_id: int
    name: str
    card: int | None = None
    age_y: int | None = None
    screened_on: date | None = None
    capacities: Mapping[str, KnownCapacity] = field(default_factory=dict)
    measures: Mapping[tuple[str, str], Estimate] = field(default_factory=dict)
    put_aside: frozenset[tuple[str, str]] = frozenset()
    holds: Mapping[str, KnownHold] = field(default_factory=dict)
    signs: tuple[str, ...] = ()
    skills: Mapping[str, SkillRecord] = field(default_factory=dict)
    correlations: Correlations | None = None


def read_known(
    view: GymnastView,
    skills: Sequence[SkillRecord],
    *,
    today: date,
    catalogue: Catalogue,
    training: TrainingCatalogue,
    belief: Belief | None = None,
) -> Known:
    """Return what the records know of a gymnast.

    Parameters
    ----------
    view : GymnastView
        With her latest screens; those that are older than a screen is due again do not count.
    skills : sequence of SkillRecord
        Hers.
    today : date
    catalogue : Catalogue
    training : TrainingCatalogue
    belief : Belief, optional
        Of her latest screen: how her capacities' estimates hang together.
    """
    her = view.gymnast
    capacities: dict[str, KnownCapacity] = {}
    measures: dict[tuple[str, str], Estimate] = {}
    put_aside: set[tuple[str, str]] = set()
    holds: dict[str, KnownHold] = {}
    for screen in _recent(view.screens, timedelta(weeks=catalogue.setting("screen_due_weeks"))):
        told = known_of_screen(
            None if screen.findings is None else screen.findings.record,
            measurements=[one for _, one in counting_photos(screen, catalogue)],
            held=held_in(screen, catalogue),
            day=screen.screen.screened_on,
            catalogue=catalogue,
            training=training,
        )
        # A later screen stands before an earlier one.
        capacities = {**told.capacities, **capacities}
        holds = {**told.holds, **holds}
        put_aside |= told.put_aside - measures.keys()
        measures = {**told.measures, **measures}
        for place in put_aside:
            measures.pop(place, None)
    latest = view.screens[0] if view.screens else None
    return Known(
        gymnast_id=her.id,
        name=her.name,
        card=her.card,
        age_y=None if her.birth_date is None else age_on(today, her.birth_date),
        screened_on=None if latest is None else latest.screen.screened_on,
        capacities=capacities,
        measures=measures,
        put_aside=frozenset(put_aside),
        holds=holds,
        signs=_signs(view, latest, catalogue),
        skills={one.rung: one for one in skills},
        correlations=None if belief is None else _correlations(belief, capacities, latest),
    )


def _recent(screens: Sequence[ScreenView], within: timedelta) -> list[ScreenView]:
    """Return the latest screen, and those not much older."""
    if not screens:
        return []
    latest = screens[0].screen.screened_on
    return [one for one in screens if latest - one.screen.screened_on <= within]


def known_of_screen(
    findings: Json | None,
    *,
    measurements: Sequence[Measurement],
    held: Sequence[Held],
    day: date,
    catalogue: Catalogue,
    training: TrainingCatalogue,
) -> KnownOfScreen:
    """Return what one screen tells.

    Parameters
    ----------
    findings : mapping or None
        `chordline.findings/1`; None where it was not judged.
    measurements : sequence of Measurement
        Those that count.
    held : sequence of Held
        In the order in which they were entered: the last one of a test counts.
    """
    aside = (
        frozenset()
        if findings is None
        else frozenset((one["test"], one["measure"]) for one in findings["put_aside"])
    )
    measures = _measures(measurements, catalogue, training)
    return KnownOfScreen(
        capacities={} if findings is None else _capacities(findings, day, catalogue),
        measures={place: value for place, value in measures.items() if place not in aside},
        put_aside=frozenset(aside & measures.keys()),
        holds=_holds(held, day, catalogue),
    )


def _capacities(record: Json, day: date, catalogue: Catalogue) -> dict[str, KnownCapacity]:
    asks = {
        name: one["ask_test"]
        for one in record["undecided"]
        for name in one["capacities"]
        if one["ask_test"] in catalogue.tests
    }
    return {
        name: KnownCapacity(
            shortfall=Estimate(float(one["mean"]), float(one["sd"])),
            decided=one["verdict"] != Verdict.CANNOT_TELL.value,
            day=day,
            ask_test=asks.get(name),
        )
        for name, one in record["capacities"].items()
        if one["tested"] and name in catalogue.capacities
    }


def _measures(
    measurements: Sequence[Measurement], catalogue: Catalogue, training: TrainingCatalogue
) -> dict[tuple[str, str], Estimate]:
    """Return the measures that some rung asks for: the mean of the takes, with one take's error.

    A second take of the same day repeats the systematic part of the error; so it does not shrink.
    """
    wanted = {(one.test, one.measure) for rung in training.rungs.values() for one in rung.measures}
    takes: dict[tuple[str, str], list[Estimate]] = {}
    for measurement in measurements:
        for test, name in wanted:
            if test == measurement.test and name in measurement.measures:
                value = _with_repeats(measurement, name, catalogue, training)
                takes.setdefault((test, name), []).append(value)
    return {
        place: Estimate(
            float(np.mean([one.value for one in values])), max(one.sd for one in values)
        )
        for place, values in takes.items()
    }


def _with_repeats(
    measurement: Measurement, name: str, catalogue: Catalogue, training: TrainingCatalogue
) -> Estimate:
    measure = measurement.measures[name]
    row = catalogue.model.get(measurement.test, {}).get(name)
    if row is not None:
        repeat = row.repeat_sd
    elif unit_of(name) == "deg":
        repeat = catalogue.setting("repeat_sd_deg")
    else:
        repeat = training.setting(f"ladder_repeat_{unit_of(name)}")
    return Estimate(measure.value, float(np.hypot(measure.total_sd, repeat)))


def _holds(held: Sequence[Held], day: date, catalogue: Catalogue) -> dict[str, KnownHold]:
    holds = {}
    for one in held:
        row = catalogue.model.get(one.test, {}).get(HOLD_MEASURE)
        if row is not None:
            rel_sd = float(np.hypot(one.rel_sd, row.repeat_sd))
            holds[one.test] = KnownHold(one.seconds, rel_sd, one.reached_cap, day)
    return holds


def _signs(view: GymnastView, latest: ScreenView | None, catalogue: Catalogue) -> tuple[str, ...]:
    """Return the signs that are open now, and those that the latest photos show by themselves."""
    noted = open_signs(view.notes, catalogue)
    if latest is None or latest.findings is None:
        return noted
    stops = (one["flag"] for one in latest.findings.record["stops"])
    seen = seen_signs(view.notes, stops, latest.screen.screened_on, catalogue)
    return tuple(dict.fromkeys((*noted, *seen)))


def _correlations(
    belief: Belief, capacities: Mapping[str, KnownCapacity], latest: ScreenView | None
) -> Correlations:
    """Return the correlations of the capacities that the latest screen itself has told."""
    if latest is None:
        return {}
    day = latest.screen.screened_on
    names = [name for name, one in capacities.items() if one.day == day and name in belief.states]
    return {
        frozenset((one, other)): belief.correlation(one, other)
        for i, one in enumerate(names)
        for other in names[:i]
    }
