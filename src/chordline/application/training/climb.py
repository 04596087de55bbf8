"""A gymnast's ladder: which rung is ready, what is missing, what would tell, what meanwhile."""

import math
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from chordline.application.training.climb_known import Known
from chordline.application.training.plan_problem import as_planned
from chordline.application.training.records import SkillRecord
from chordline.application.training.signs import barred_loads, tests_stopped_by
from chordline.catalogue.schema import Catalogue
from chordline.catalogue.training_schema import RungEntry, TrainingCatalogue
from chordline.core.capacity.observed import HOLD_MEASURE
from chordline.core.estimate import Estimate
from chordline.core.planning.ladder import (
    Certainty,
    Gate,
    JudgedGate,
    JudgedRung,
    Rung,
    Standing,
    judge_ladder,
)
from chordline.core.planning.may import may_do
from chordline.core.planning.problem import Need, Trainee

GateKind = Literal["capacity", "measure", "hold"]
#: Standings from the one that is there to the one that cannot be.
STANDINGS: Final[tuple[Standing, ...]] = (
    "had",
    "ready",
    "close",
    "not_yet",
    "cannot_tell",
    "barred",
)
#: So many exercises are named instead of a rung.
_MOST_MEANWHILE: Final = 5


@dataclass(frozen=True)
class Asked:
    """One gate of a rung with where its value comes from.

    Attributes
    ----------
    kind : {'capacity', 'measure', 'hold'}
    test : str or None
        Of a measure or a hold.
    subject : str
        The capacity or the measure; `HOLD_MEASURE` of a hold.
    judged : JudgedGate
        Of a hold in log-seconds.
    ask_test : str or None
        The test that would tell; None where the gate is told, or no test may tell it today.
    hold_on_s : float or None [s]
        Of a hold that was stopped too early: how long would be enough.
    put_aside : bool
        Whether takes contradict each other, so that nothing was read.
    blocked : bool
        Whether the tests that would tell are not to be done while a reported sign is open.
    """

    kind: GateKind
    test: str | None
    subject: str
    judged: JudgedGate
    ask_test: str | None = None
    hold_on_s: float | None = None
    put_aside: bool = False
    blocked: bool = False


@dataclass(frozen=True)
class ClimbedRung:
    """How she stands to a rung of the catalogue.

    Attributes
    ----------
    id : str
    entry : RungEntry
    judged : JudgedRung
    asked : tuple of Asked
        In the order of the rung: capacities, measures, holds.
    said : SkillRecord or None
        A coach's word that she has it.
    meanwhile : tuple of str
        Exercises instead, among those that fit her today; empty where nothing holds the rung back.
    """

    id: str
    entry: RungEntry
    judged: JudgedRung
    asked: tuple[Asked, ...]
    said: SkillRecord | None
    meanwhile: tuple[str, ...]

    @property
    def standing(self) -> Standing:
        """How she stands to it."""
        return self.judged.standing

    @property
    def missing(self) -> tuple[Asked, ...]:
        """The gates that are missing or within their error of the limit."""
        return tuple(one for one in self.asked if one.judged.state in ("missing", "close"))

    @property
    def unknown(self) -> tuple[Asked, ...]:
        """The gates that nobody can tell yet."""
        return tuple(one for one in self.asked if one.judged.state == "unknown")


@dataclass(frozen=True)
class Climbed:
    """A gymnast's ladder.

    Attributes
    ----------
    known : Known
    rungs : tuple of ClimbedRung
        From the floor up.
    elsewhere : tuple of SkillRecord
        Rungs that she has and the catalogue has no more.
    """

    known: Known
    rungs: tuple[ClimbedRung, ...]
    elsewhere: tuple[SkillRecord, ...]

    @property
    def next(self) -> ClimbedRung | None:
        """The rung to take next.

        The lowest that is ready above all that she has, else the lowest that is ready at all; where
        none is, the same of those that are close.
        """
        top = max((one.entry.place for one in self.rungs if one.standing == "had"), default=0)
        for wanted in ("ready", "close"):
            found = [one for one in self.rungs if one.standing == wanted]
            above = [one for one in found if one.entry.place > top]
            if found:
                return (above or found)[0]
        return None


def climb(known: Known, *, catalogue: Catalogue, training: TrainingCatalogue) -> Climbed:
    """Return how a gymnast stands to every rung, from the floor up."""
    certainty = certainty_of(training)
    asked = {id: _gates(entry, known) for id, entry in training.rungs.items()}
    judged = judge_ladder(
        [
            Rung(
                id=id,
                gates=tuple(gate for _, _, gate in asked[id]),
                needs=entry.rungs,
                old_enough=_old_enough(entry, known),
                barred_by=_barred_by(entry, known, catalogue, training),
            )
            for id, entry in training.rungs.items()
        ],
        [rung for rung in known.skills if rung in training.rungs],
        certainty,
        known.correlations,
    )
    blocked = frozenset(tests_stopped_by(known.signs, catalogue))
    rungs = tuple(
        ClimbedRung(
            id=one.rung.id,
            entry=training.rungs[one.rung.id],
            judged=one,
            asked=tuple(
                _told(
                    kind,
                    test,
                    gate,
                    known=known,
                    catalogue=catalogue,
                    blocked=blocked,
                    certainty=certainty,
                )
                for (kind, test, _), gate in zip(asked[one.rung.id], one.gates, strict=True)
            ),
            said=known.skills.get(one.rung.id),
            meanwhile=_meanwhile(one, known, catalogue=catalogue, training=training),
        )
        for one in judged
    )
    elsewhere = tuple(one for rung, one in known.skills.items() if rung not in training.rungs)
    return Climbed(known, rungs, elsewhere)


def certainty_of(training: TrainingCatalogue) -> Certainty:
    """Return where clear, close and missing part, as the club has it."""
    return Certainty(
        sure=training.setting("ladder_sure"), missing=training.setting("ladder_missing")
    )


def _barred_by(
    entry: RungEntry, known: Known, catalogue: Catalogue, training: TrainingCatalogue
) -> tuple[str, ...]:
    """Return the open signs that bar a rung: by what it loads, or by a test that is its shape."""
    tests = {hold.test for hold in entry.holds} | {asked.test for asked in entry.measures}
    return tuple(
        sign
        for sign in known.signs
        if barred_loads([sign], training) & set(entry.loads)
        or tests.intersection(tests_stopped_by([sign], catalogue))
    )


def _old_enough(entry: RungEntry, known: Known) -> bool | None:
    """Return whether she is old enough; at the lowest age that can be said any age is."""
    if entry.from_age_y <= 4:
        return True
    return None if known.age_y is None else known.age_y >= entry.from_age_y


def _gates(entry: RungEntry, known: Known) -> list[tuple[GateKind, str | None, Gate]]:
    gates: list[tuple[GateKind, str | None, Gate]] = []
    for name, most in entry.capacities.items():
        told = known.capacities.get(name)
        gate = Gate(
            name,
            None if told is None else told.shortfall,
            most=most,
            open=told is not None and not told.decided,
        )
        gates.append(("capacity", None, gate))
    for asked in entry.measures:
        value = known.measures.get((asked.test, asked.measure))
        gate = Gate(f"{asked.test} {asked.measure}", value, asked.least, asked.most)
        gates.append(("measure", asked.test, gate))
    for hold in entry.holds:
        held = known.holds.get(hold.test)
        gate = Gate(
            f"{hold.test} {HOLD_MEASURE}",
            None if held is None else Estimate(math.log(held.seconds), held.rel_sd),
            least=math.log(hold.seconds),
            at_least=held is not None and held.reached_cap,
        )
        gates.append(("hold", hold.test, gate))
    return gates


def _told(
    kind: GateKind,
    test: str | None,
    judged: JudgedGate,
    *,
    known: Known,
    catalogue: Catalogue,
    blocked: frozenset[str],
    certainty: Certainty,
) -> Asked:
    """Return a gate with what would tell it, where it is not told."""
    gate = judged.gate
    subject = gate.name if test is None else gate.name.removeprefix(f"{test} ")
    if judged.state != "unknown":
        return Asked(kind, test, subject, judged)
    wanted = [test] if test is not None else _telling(subject, known, catalogue)
    ask = next((one for one in wanted if one not in blocked), None)
    hold_on = None
    if gate.at_least and gate.value is not None and gate.least is not None:
        hold_on = float(np.ceil(np.exp(gate.least + certainty.sds * gate.value.sd)))
    return Asked(
        kind,
        test,
        subject,
        judged,
        ask_test=ask,
        hold_on_s=hold_on,
        put_aside=test is not None and (test, subject) in known.put_aside,
        blocked=ask is None and bool(wanted),
    )


def _telling(capacity: str, known: Known, catalogue: Catalogue) -> list[str]:
    """Return the tests that tell most of a capacity per minute, the findings' own wish first.

    Notes
    -----
    What a measure tells, of one capacity alone, is the square of its load over its error's.
    """
    told = known.capacities.get(capacity)
    worth: dict[str, float] = {}
    for test, rows in catalogue.model.items():
        for row in rows.values():
            if capacity in row.loads:
                noise = row.model_sd**2 + row.repeat_sd**2 + row.typical_sd**2
                per_minute = row.loads[capacity] ** 2 / noise / catalogue.tests[test].minutes
                worth[test] = worth.get(test, 0.0) + per_minute
    best = sorted(worth, key=lambda test: (-worth[test], test))
    wish = None if told is None else told.ask_test
    return best if wish is None else [wish, *(test for test in best if test != wish)]


def _meanwhile(
    one: JudgedRung, known: Known, *, catalogue: Catalogue, training: TrainingCatalogue
) -> tuple[str, ...]:
    """Return the exercises instead that fit her today, those for what is missing first."""
    short = {
        capacity
        for gate in one.gates
        if gate.state in ("missing", "close")
        for capacity in _behind(gate.gate.name, catalogue)
    }
    if one.standing == "ready" or (one.standing == "had" and not short):
        return ()
    her = Trainee(
        id=known.gymnast_id,
        age_y=training.setting("unknown_age_y") if known.age_y is None else known.age_y,
        # Her coach knows what her level is.
        level=3,
        needs={
            name: Need(told.shortfall, Estimate(0.0, 0.0))
            for name, told in known.capacities.items()
        },
        barred=barred_loads(known.signs, training),
    )
    fitting = [
        id
        for id in training.rungs[one.rung.id].meanwhile
        if may_do(her, as_planned(id, training.exercises[id]))
    ]
    fitting.sort(key=lambda id: not short & training.exercises[id].feeds.keys())
    return tuple(fitting[:_MOST_MEANWHILE])


def _behind(gate: str, catalogue: Catalogue) -> set[str]:
    """Return the capacities of which a gate's value tells."""
    if gate in catalogue.capacities:
        return {gate}
    test, _, measure = gate.partition(" ")
    row = catalogue.model.get(test, {}).get(measure)
    return set() if row is None else row.loads.keys() & catalogue.capacities.keys()
