"""Reads the training catalogue and reports every fault with its path, all at once."""

from collections.abc import Iterator, Mapping
from importlib import resources
from pathlib import Path
from typing import Any

from chordline.catalogue.entries import find_unsourced, read_entries
from chordline.catalogue.loader import read_tables
from chordline.catalogue.schema import Catalogue, Setting, Source
from chordline.catalogue.training_schema import (
    BarEntry,
    EquipmentEntry,
    ExerciseEntry,
    GroupEntry,
    RungEntry,
    TrainingCatalogue,
)
from chordline.core.capacity.observed import HOLD_MEASURE
from chordline.core.planning.problem import KINDS
from chordline.errors import CatalogueError

#: The folder of a club's catalogue that has its own training files.
FOLDER = "training"
_EXERCISES = tuple(f"exercises_{kind}.toml" for kind in KINDS)
_FILES = ("sources.toml", "plan.toml", "rungs.toml", *_EXERCISES)
_SETTINGS = (
    "weeks",
    "block_weeks",
    "warm_up_min",
    "round_min",
    "most_weekly_hard",
    "most_repeats",
    "bow_pct_per_deg",
    "doubt_weight",
    "unknown_age_y",
)
_LADDER_SETTINGS = (
    "ladder_sure",
    "ladder_missing",
    "ladder_repeat_pct",
    "ladder_repeat_cm",
)


def load_training(catalogue: Catalogue, club: Path | None = None) -> TrainingCatalogue:
    """Return the training catalogue, with a club's own entries laid over it.

    Parameters
    ----------
    catalogue : Catalogue
        Names the tests, measures, capacities and signs that this one speaks of.
    club : Path, optional
        The folder of the club's catalogue; its training files stand in `FOLDER` there.

    Raises
    ------
    CatalogueError
        With every fault and its path.
    """
    ours = resources.files("chordline.catalogue") / "data" / FOLDER
    tables, version = read_tables(ours, None if club is None else club / FOLDER, _FILES)
    faults: list[str] = []
    plan = tables["plan.toml"]
    sources = read_entries(Source, "sources.toml", tables["sources.toml"], faults)
    groups = read_entries(GroupEntry, "plan.toml: groups", plan.get("groups", {}), faults)
    equipment = read_entries(
        EquipmentEntry, "plan.toml: equipment", plan.get("equipment", {}), faults
    )
    bars = read_entries(BarEntry, "plan.toml: bars", plan.get("bars", {}), faults)
    settings = read_entries(Setting, "plan.toml: settings", plan.get("settings", {}), faults)
    ladder = dict(tables["rungs.toml"])
    numbers = ladder.pop("settings", {})
    of_ladder = read_entries(Setting, "rungs.toml: settings", numbers, faults)
    rungs = read_entries(RungEntry, "rungs.toml", ladder, faults)
    exercises: dict[str, ExerciseEntry] = {}
    for file in _EXERCISES:
        found = read_entries(ExerciseEntry, file, tables[file], faults)
        faults += [
            f"{file}: {name}: another file has it too" for name in found if name in exercises
        ]
        faults += find_unsourced(file, found, sources)
        for name, entry in found.items():
            faults += find_unsourced(f"{file}: {name}.feeds", entry.feeds, sources)
            if file != f"exercises_{entry.kind}.toml":
                faults.append(f"{file}: {name}.kind: '{entry.kind}' belongs into another file")
        exercises |= found
    for file, entries in (
        ("plan.toml: groups", groups),
        ("plan.toml: bars", bars),
        ("plan.toml: settings", settings),
        ("rungs.toml: settings", of_ladder),
        ("rungs.toml", rungs),
    ):
        faults += find_unsourced(file, entries, sources)
    faults += [
        f"plan.toml: settings.{name} is missing" for name in _SETTINGS if name not in settings
    ]
    faults += [
        f"rungs.toml: settings.{name} is missing"
        for name in _LADDER_SETTINGS
        if name not in of_ladder
    ]
    faults += [
        f"rungs.toml: settings.{name}: plan.toml has it too"
        for name in of_ladder
        if name in settings
    ]
    faults += _levels(of_ladder)
    faults += [
        f"plan.toml: bars.{flag}: no sign is called '{flag}'"
        for flag in bars
        if flag not in catalogue.referrals
    ]
    for name, entry in exercises.items():
        path = f"exercises_{entry.kind}.toml: {name}"
        faults += _crossed_exercise(
            path,
            entry,
            exercises=exercises,
            groups=groups,
            equipment=equipment,
            catalogue=catalogue,
        )
    for name, rung in rungs.items():
        faults += _crossed_rung(f"rungs.toml: {name}", rung, rungs, exercises, catalogue)
    faults += [
        f"{way}: leads back to itself by '{field}'"
        for field, edges in (
            ("harder", {name: one.harder for name, one in exercises.items()}),
            ("easier", {name: one.easier for name, one in exercises.items()}),
            ("rungs", {name: one.rungs for name, one in rungs.items()}),
        )
        for way in _loops(edges)
    ]
    if faults:
        raise CatalogueError(tuple(faults))
    return TrainingCatalogue(
        version=version,
        sources=sources,
        exercises=exercises,
        groups=groups,
        equipment=equipment,
        bars=bars,
        rungs=dict(sorted(rungs.items(), key=lambda one: one[1].place)),
        settings={**settings, **of_ladder},
    )


def _levels(settings: Mapping[str, Setting]) -> list[str]:
    """Return what is wrong with the probabilities that part clear, close and missing."""
    ends = [settings[name].value for name in ("ladder_missing", "ladder_sure") if name in settings]
    if len(ends) == 2 and not 0.0 < ends[0] < 0.5 <= ends[1] < 1.0:
        return ["rungs.toml: settings: 0 < ladder_missing < 0.5 ≤ ladder_sure < 1"]
    return []


def _unknown(path: str, what: str, names: Any, known: Mapping[str, Any]) -> list[str]:
    return [f"{path}: no {what} is called '{name}'" for name in names if name not in known]


def _crossed_exercise(
    path: str,
    entry: ExerciseEntry,
    *,
    exercises: Mapping[str, ExerciseEntry],
    groups: Mapping[str, GroupEntry],
    equipment: Mapping[str, EquipmentEntry],
    catalogue: Catalogue,
) -> list[str]:
    faults = [
        *_unknown(f"{path}.feeds", "capacity", entry.feeds, catalogue.capacities),
        *_unknown(f"{path}.needs", "capacity", entry.needs, catalogue.capacities),
        *_unknown(f"{path}.group", "muscle group", (entry.group,), groups),
        *_unknown(f"{path}.equipment", "equipment", entry.equipment, equipment),
        *_unknown(f"{path}.easier", "exercise", entry.easier, exercises),
        *_unknown(f"{path}.harder", "exercise", entry.harder, exercises),
    ]
    if (entry.dose.reps is None) == (entry.dose.seconds is None):
        faults.append(f"{path}.dose: either 'reps' or 'seconds'")
    if not entry.feeds:
        faults.append(f"{path}.feeds: what does it work on?")
    return faults


def _crossed_rung(
    path: str,
    rung: RungEntry,
    rungs: Mapping[str, RungEntry],
    exercises: Mapping[str, ExerciseEntry],
    catalogue: Catalogue,
) -> list[str]:
    faults = [
        *_unknown(f"{path}.capacities", "capacity", rung.capacities, catalogue.capacities),
        *_unknown(f"{path}.rungs", "rung", rung.rungs, rungs),
        *_unknown(f"{path}.meanwhile", "exercise", rung.meanwhile, exercises),
    ]
    for hold in rung.holds:
        if HOLD_MEASURE not in catalogue.model.get(hold.test, {}):
            faults.append(f"{path}.holds: '{hold.test}' is no hold")
    for asked in rung.measures:
        test = catalogue.tests.get(asked.test)
        if test is None:
            faults.append(f"{path}.measures: no test is called '{asked.test}'")
        elif asked.measure not in test.measures:
            faults.append(f"{path}.measures: {asked.test} has no measure '{asked.measure}'")
        if asked.least is None and asked.most is None:
            faults.append(f"{path}.measures: {asked.measure} needs 'least' or 'most'")
        elif asked.least is not None and asked.most is not None and asked.least >= asked.most:
            faults.append(f"{path}.measures: {asked.measure}: 'least' must be below 'most'")
    asked_of = [(hold.test, HOLD_MEASURE) for hold in rung.holds]
    asked_of += [(asked.test, asked.measure) for asked in rung.measures]
    faults += [
        f"{path}: {measure} of {test} is asked for twice"
        for test, measure in dict.fromkeys(asked_of)
        if asked_of.count((test, measure)) > 1
    ]
    if not (rung.capacities or asked_of or rung.rungs):
        faults.append(f"{path}: what does it lean on?")
    return faults


def _loops(edges: Mapping[str, tuple[str, ...]]) -> Iterator[str]:
    """Yield each way that comes back to where it began, once, e.g. ``a → b → a``."""
    done: set[str] = set()
    for start in edges:
        trail: list[tuple[str, Iterator[str]]] = []
        if start not in done:
            trail.append((start, iter(edges[start])))
        while trail:
            name, after = trail[-1]
            following = next(after, None)
            if following is None:
                done.add(name)
                trail.pop()
                continue
            on_trail = [one for one, _ in trail]
            if following in on_trail:
                yield " → ".join([*on_trail[on_trail.index(following) :], following])
            elif following not in done:
                trail.append((following, iter(edges.get(following, ()))))
