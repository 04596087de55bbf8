"""Reads the catalogue and reports every fault with its path, all at once."""

import hashlib
from collections.abc import Collection, Mapping, Sequence
from functools import cache
from importlib import resources
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from chordline.catalogue.club_file import parse_toml, read_club_text
from chordline.catalogue.entries import find_unsourced, read_entries, sentences_of
from chordline.catalogue.schema import (
    CapacityEntry,
    Catalogue,
    LimitEntry,
    MeasureEntry,
    NuisanceEntry,
    Referral,
    RowEntry,
    Setting,
    Source,
    Sourced,
    TestEntry,
)
from chordline.core.capacity.observed import DERIVED_MEASURES
from chordline.errors import CatalogueError

_FILES = (
    "sources.toml",
    "measures.toml",
    "tests.toml",
    "settings.toml",
    "capacities.toml",
    "nuisances.toml",
    "model.toml",
    "referrals.toml",
    "limits.toml",
)
#: What the handstand's forecast takes from the capacities.
LIMITS = ("shoulder_opening_deg", "hip_opening_deg", "trunk_rounding_deg", "shoulder_push_pct")
_Table = dict[str, Any]


def load_catalogue(club: Path | None = None) -> Catalogue:
    """Return the catalogue, with a club's own entries laid over ours.

    Parameters
    ----------
    club : Path, optional
        A folder with files of the same names; their entries add to ours or replace them field by
        field.

    Raises
    ------
    CatalogueError
        With every fault and its path.
    """
    ours = resources.files("chordline.catalogue") / "data"
    tables, version = read_tables(ours, club, _FILES)
    return _build(tables, version=version)


def read_tables(
    ours: Traversable, club: Path | None, files: Sequence[str]
) -> tuple[dict[str, _Table], str]:
    """Return TOML files by name with a club's laid over ours, and the version of both together.

    Raises
    ------
    CatalogueError
        For files that are no TOML, or cannot be read.
    """
    tables: dict[str, _Table] = {}
    digest = hashlib.sha256()
    faults: list[str] = []
    for name in files:
        text = ours.joinpath(name).read_text(encoding="utf-8")
        digest.update(text.encode())
        merged = dict(_parse_ours(text, name))
        if club is not None and (club / name).is_file():
            theirs = read_club_text(club / name, name, faults)
            digest.update(theirs.encode())
            merged = _laid_over(merged, parse_toml(theirs, name, faults))
        tables[name] = merged
    if faults:
        raise CatalogueError(tuple(faults))
    return tables, digest.hexdigest()[:12]


@cache
def _parse_ours(text: str, name: str) -> _Table:
    """Parse a file of ours once a process: nobody changes what it gives, at any depth."""
    faults: list[str] = []
    found = parse_toml(text, name, faults)
    if faults:
        raise CatalogueError(tuple(faults))
    return found


def _laid_over(base: _Table, top: _Table) -> _Table:
    merged = dict(base)
    for key, value in top.items():
        both_tables = isinstance(value, dict) and isinstance(merged.get(key), dict)
        merged[key] = _laid_over(merged[key], value) if both_tables else value
    return merged


def _build(tables: dict[str, _Table], *, version: str) -> Catalogue:
    faults: list[str] = []
    settings = dict(tables["settings.toml"])
    breadths = settings.pop("half_breadth", {})
    sources = read_entries(Source, "sources.toml", tables["sources.toml"], faults)
    measures = read_entries(MeasureEntry, "measures.toml", tables["measures.toml"], faults)
    tests = read_entries(TestEntry, "tests.toml", tables["tests.toml"], faults)
    numbers = read_entries(Setting, "settings.toml", settings, faults)
    half_breadth = read_entries(Setting, "settings.toml: half_breadth", breadths, faults)
    capacities = read_entries(CapacityEntry, "capacities.toml", tables["capacities.toml"], faults)
    nuisances = read_entries(NuisanceEntry, "nuisances.toml", tables["nuisances.toml"], faults)
    model = {
        test: read_entries(RowEntry, f"model.toml: {test}", rows, faults)
        for test, rows in tables["model.toml"].items()
    }
    referrals = read_entries(Referral, "referrals.toml", tables["referrals.toml"], faults)
    limits = read_entries(LimitEntry, "limits.toml", tables["limits.toml"], faults)
    sourced: list[tuple[str, Mapping[str, Sourced]]] = [
        ("limits.toml", limits),
        ("referrals.toml", referrals),
        ("capacities.toml", capacities),
        ("nuisances.toml", nuisances),
        *((f"model.toml: {test}", rows) for test, rows in model.items()),
        ("measures.toml", measures),
        ("tests.toml", tests),
        ("settings.toml", numbers),
        ("settings.toml: half_breadth", half_breadth),
    ]
    for file, entries in sourced:
        faults += find_unsourced(file, entries, sources)
    faults += _crossed(tests, measures, worded=tables["measures.toml"].keys())
    faults += [
        f"referrals.toml: {flag}.stops: no test is called '{test}'"
        for flag, referral in referrals.items()
        for test in referral.stops
        if test not in tests
    ]
    faults += [f"limits.toml: {name} is missing" for name in LIMITS if name not in limits]
    faults += [
        f"limits.toml: {name}.loads: no capacity is called '{capacity}'"
        for name, limit in limits.items()
        for capacity in limit.loads
        if capacity not in capacities
    ]
    faults += _crossed_model(model, tests, {*capacities, *nuisances})
    if faults:
        raise CatalogueError(tuple(faults))
    try:
        return Catalogue(
            version=version,
            sources=sources,
            measures=measures,
            tests=tests,
            settings=numbers,
            half_breadth=half_breadth,
            capacities=capacities,
            nuisances=nuisances,
            model=model,
            referrals=referrals,
            limits=limits,
        )
    except ValidationError as error:
        raise CatalogueError(tuple(sentences_of("measures.toml", error))) from None


def _crossed(
    tests: dict[str, TestEntry],
    measures: dict[str, MeasureEntry],
    *,
    worded: Collection[str],
) -> list[str]:
    faults = []
    for key, test in tests.items():
        path = f"tests.toml: {key}"
        if test.base is not None and test.base not in tests:
            faults.append(f"{path}.base: no test is called '{test.base}'")
        if test.base == key:
            faults.append(f"{path}.base: a test cannot be its own base")
        faults += [
            f"{path}.{field}: '{name}' is not among its measures"
            for field, names in (("judged", test.judged), ("watch", test.watch))
            for name in names
            if name not in test.measures
        ]
        faults += [
            f"{path}.measures: measures.toml has no words for '{name}'"
            for name in test.measures
            if name not in worded
        ]
    faults += [
        f"measures.toml: {name}: 'close' must be larger than 'on_line'"
        for name, entry in measures.items()
        if entry.close <= entry.on_line
    ]
    return faults


def _crossed_model(
    model: dict[str, dict[str, RowEntry]], tests: dict[str, TestEntry], states: set[str]
) -> list[str]:
    faults = []
    for test, rows in model.items():
        if test not in tests:
            faults.append(f"model.toml: {test}: no test is called so")
            continue
        for measure, row in rows.items():
            path = f"model.toml: {test}.{measure}"
            if measure not in DERIVED_MEASURES and measure not in tests[test].measures:
                faults.append(f"{path}: the test has no such measure")
            if row.instead_of and row.instead_of not in rows:
                faults.append(f"{path}.instead_of: the test has no row '{row.instead_of}'")
            faults += [
                f"{path}.loads: no capacity or nuisance is called '{state}'"
                for state in row.loads
                if state not in states
            ]
    return faults
