"""Reads the segment tables, checks that each agrees with itself, and reports every fault."""

import csv
import hashlib
import tomllib
from collections.abc import Callable, Iterator
from functools import cache
from importlib import resources
from typing import Any

import numpy as np
from pydantic import ValidationError

from chordline.catalogue.entries import find_unsourced, read_entries, sentences_of
from chordline.catalogue.schema import Source
from chordline.catalogue.segments_schema import (
    Assumed,
    Fraction,
    Printed,
    SegmentCatalogue,
    TableEntry,
)
from chordline.core.mechanics.attainable import Steps
from chordline.core.mechanics.chain import MOMENT_JOINTS, Support
from chordline.core.mechanics.forecast import Body, Goal
from chordline.core.mechanics.lengths import Lengths, lengths_of_stature
from chordline.core.mechanics.limits import Limits, Stance
from chordline.core.mechanics.parts import LINKS
from chordline.errors import CatalogueError

_TOML = ("sources.toml", "tables.toml", "lengths.toml", "handstand.toml")
_ASSUMED = (
    "trunk_fraction",
    "heel",
    "margin",
    "lean_weight",
    "tolerance",
    "upright",
    "closing",
    "lean_away",
    "trunk_rounding",
    "trunk_arching",
    "wrist_extension",
    *(f"{joint}_moment" for joint in MOMENT_JOINTS),
    "step_range",
    "step_balance",
    "step_moment",
    "slack",
)
_TRUNK_LINKS = ("upper_trunk", "lower_trunk")
#: How far the trunk's parts may miss the trunk that the table prints, of its length: what cutting
#: a trunk at places that the table does not print may cost.
_TRUNK_MISS = 0.01
_Raw = dict[str, Any]
Reader = Callable[[str], str]


def _our_file(name: str) -> str:
    folder = resources.files("chordline.catalogue") / "data" / "segments"
    return (folder / name).read_text(encoding="utf-8")


def load_segments(read: Reader = _our_file) -> SegmentCatalogue:
    """Return the segment tables with lengths and assumptions.

    Parameters
    ----------
    read : callable
        File name → text; ours by default.

    Raises
    ------
    CatalogueError
        With every fault and its path.
    """
    digest = hashlib.sha256()

    def text_of(name: str) -> str:
        text = read(name)
        digest.update(text.encode())
        return text

    try:
        raw = {name: tomllib.loads(text_of(name)) for name in _TOML}
    except tomllib.TOMLDecodeError as error:
        raise CatalogueError((f"segments: {error}",)) from None
    faults: list[str] = []
    sources = read_entries(Source, "sources.toml", raw["sources.toml"], faults)
    lengths = read_entries(Fraction, "lengths.toml", raw["lengths.toml"], faults)
    handstand = read_entries(Assumed, "handstand.toml", raw["handstand.toml"], faults)
    tables = {}
    for key, entry in raw["tables.toml"].items():
        table = _read_table(key, entry, text_of, faults)
        if table is not None:
            tables[key] = table
    for file, entries in (("lengths.toml", lengths), ("handstand.toml", handstand)):
        faults += find_unsourced(file, entries, sources)
    for key, table in tables.items():
        faults += find_unsourced(f"tables.toml: {key}", {"places": table.places_note}, sources)
        if table.source not in sources:
            faults.append(f"tables.toml: {key}.source: no source is called '{table.source}'")
        faults += check_table(key, table)
    links = [link for link in LINKS if link not in _TRUNK_LINKS]
    for file, there, wanted in (
        ("lengths.toml", lengths, [*links, "trunk"]),
        ("handstand.toml", handstand, _ASSUMED),
    ):
        faults += [f"{file}: {name} is missing" for name in wanted if name not in there]
    if faults:
        raise CatalogueError(tuple(faults))
    return SegmentCatalogue(
        version=digest.hexdigest()[:12],
        sources=sources,
        tables=tables,
        lengths=lengths,
        handstand=handstand,
    )


@cache
def our_segments() -> SegmentCatalogue:
    """Return our segment tables, read once."""
    return load_segments()


def _read_table(key: str, raw: _Raw, text_of: Reader, faults: list[str]) -> TableEntry | None:
    entry = dict(raw)
    file = str(entry.pop("file", ""))
    printed: dict[str, Printed] = {}
    before = len(faults)
    lines = list(csv.DictReader(text_of(file).splitlines())) if file else []
    decimals: dict[str, int] = {}  # of a column: a copied table drops trailing zeros
    for line in lines:
        for column, cell in line.items():
            decimals[column] = max(decimals.get(column, 0), len(cell.partition(".")[2]))
    for line in lines:
        segment = line.pop("segment")
        ends = line.pop("ends")
        cells = {column: cell for column, cell in line.items() if cell}
        digits = {column: decimals[column] for column in cells}
        try:
            printed[segment] = Printed.model_validate({**cells, "ends": ends, "digits": digits})
        except ValidationError as error:
            faults += sentences_of(f"{file}: {segment}", error)
    places = dict(entry.get("places", {}))
    entry["places_note"] = {name: places.pop(name, "") for name in ("source", "reason")}
    entry |= {"places": places, "printed": printed}
    try:
        table = TableEntry.model_validate(entry)
    except ValidationError as error:
        faults += sentences_of(f"tables.toml: {key}", error)
        return None
    return table if len(faults) == before else None


def check_table(key: str, table: TableEntry) -> list[str]:
    """Return every way in which a table disagrees with itself, each with its path."""
    path = f"tables.toml: {key}"
    named = [
        *((f"{path}.whole", name) for name in table.whole),
        *((f"{path}.parts[{i}]", part.segment) for i, part in enumerate(table.parts)),
        *((f"{path}.misprints[{i}]", one.segment) for i, one in enumerate(table.misprints)),
        *((f"{path}.same[{i}]", name) for i, names in enumerate(table.same) for name in names),
    ]
    faults = [f"{at}: no line is called '{n}'" for at, n in named if n not in table.printed]
    if faults:
        return faults
    faults += _check_whole(path, table)
    for segment, line in table.printed.items():
        faults += _check_line(f"{path}: {segment}", table, segment, line)
    for one in table.misprints:
        value = getattr(table.printed[one.segment], one.column)
        at = f"{path}.misprints: {one.segment}.{one.column}"
        if value != one.printed:
            faults.append(f"{at}: the table has {value}, not {one.printed}")
    try:
        faults += _check_same(path, table)
        faults += _check_parts(path, table)
    except KeyError as error:
        faults.append(f"{path}.places: {error.args[0]} is missing")
    return faults


def _check_whole(path: str, table: TableEntry) -> Iterator[str]:
    total = sum(count * table.printed[name].mass for name, count in table.whole.items())
    slack = sum(
        count * table.printed[name].half_digit("mass") for name, count in table.whole.items()
    )
    if abs(total - 1.0) > slack:
        yield f"{path}.whole: the masses make {total:.4f}, not 1 within {slack:.4f}"


def _check_line(path: str, table: TableEntry, segment: str, line: Printed) -> Iterator[str]:
    """Centre from both ends, and radii by parallel axes; a declared misprint stands corrected."""
    values = {column: getattr(line, column) for column in line.digits}
    values |= {one.column: one.consistent for one in table.misprints if one.segment == segment}
    for column, cm in (("rg_prox", "cm_prox"), ("rg_dist", "cm_dist")):
        radius, distance, own = values.get(column), values.get(cm), values.get("rg_cm")
        if radius is None or distance is None or own is None:
            continue
        expected = float(np.hypot(own, distance))
        slack = (
            line.half_digit(column)
            + distance / expected * line.half_digit(cm)
            + own / expected * line.half_digit("rg_cm")
        )
        if abs(radius - expected) > slack + 1e-9:
            yield f"{path}.{column}: {radius} is not sqrt(rg_cm² + {cm}²) = {expected:.4f}"
    if "cm_dist" in values:
        slack = line.half_digit("cm_prox") + line.half_digit("cm_dist")
        if abs(values["cm_prox"] + values["cm_dist"] - 1.0) > slack + 1e-9:
            yield f"{path}.cm_dist: the centre's distances from both ends do not make 1"


def _check_same(path: str, table: TableEntry) -> Iterator[str]:
    """Return where one segment with other ends has another centre or another radius."""
    for names in table.same:
        places = [_where(table, name) for name in names]
        for name, (centre, radius, slack) in zip(names[1:], places[1:], strict=True):
            first = places[0]
            for what, ours, theirs, digits in (
                ("centre", centre, first[0], slack[0] + first[2][0]),
                ("radius", radius, first[1], slack[1] + first[2][1]),
            ):
                # The places themselves are known to 0.1 of their unit.
                if abs(ours - theirs) > 0.1 + digits:
                    yield (
                        f"{path}.same: {what} of {name} ({ours:.1f}) is not that of "
                        f"{names[0]} ({theirs:.1f})"
                    )


def _where(table: TableEntry, segment: str) -> tuple[float, float, tuple[float, float]]:
    """Return height of centre and radius in the unit of the places, and half a digit of each."""
    line = table.printed[segment]
    start, end = table.segment_ends(segment)
    length = abs(end - start)
    slack = (line.half_digit("cm_prox") * length, line.half_digit(table.radius) * length)
    centre = start + line.cm_prox * (end - start)
    return centre, float(getattr(line, table.radius)) * length, slack


def _check_parts(path: str, table: TableEntry) -> Iterator[str]:
    total = sum(part.count * table.printed[part.segment].mass for part in table.parts)
    slack = sum(part.count * table.printed[part.segment].half_digit("mass") for part in table.parts)
    if abs(total - 1.0) > slack:
        yield f"{path}.parts: the masses make {total:.4f}, not 1 within {slack:.4f}"
    for i, part in enumerate(table.parts):
        if part.radius is None and getattr(table.printed[part.segment], table.radius) is None:
            yield f"{path}.parts[{i}].radius: the table prints none for {part.segment}"
        if (part.radius is not None or part.start is not None) and not part.reason:
            yield f"{path}.parts[{i}].reason: what the table does not print needs a reason"
    missing = set(LINKS) - {part.link for part in table.parts}
    if missing:
        yield f"{path}.parts: nothing rides on {', '.join(sorted(missing))}"
    yield from _check_trunk(path, table)


def _check_trunk(path: str, table: TableEntry) -> Iterator[str]:
    """Return where the trunk's parts do not make the trunk that the table prints."""
    hip, shoulder = (table.places[table.link_ends[name]] for name in ("hip", "shoulder"))
    pieces = []
    for part in table.parts:
        if part.link in _TRUNK_LINKS:
            start, end = table.segment_ends(part.segment)
            line = table.printed[part.segment]
            pieces.append((line.mass, start + line.cm_prox * (end - start)))
    whole = table.printed["Trunk"]
    ends = whole.ends.split("-")
    start, end = (table.places[name] for name in ends)
    mass = sum(piece[0] for piece in pieces)
    if abs(mass - whole.mass) > (len(pieces) + 1) * whole.half_digit("mass"):
        yield f"{path}.parts: the trunk's parts make {mass:.4f}, the table {whole.mass}"
    centre = sum(m * height for m, height in pieces) / mass
    miss = (centre - (start + whole.cm_prox * (end - start))) / (shoulder - hip)
    if abs(miss) > _TRUNK_MISS:
        yield f"{path}.places: the trunk's centre lies {100.0 * miss:.1f} % of its length off"


def default_limits(catalogue: SegmentCatalogue, **known: np.ndarray) -> Limits:
    """Return limits of a body of which only some are known.

    Parameters
    ----------
    catalogue : SegmentCatalogue
    **known : float arrays
        Fields of `Limits`, (n,) or scalar. Shoulder and hip reach straight and the push is 0
        where they are not given; the rest are the catalogue's assumptions.
    """
    zero = np.zeros(1)
    fields: dict[str, np.ndarray] = {
        "shoulder_opening_rad": zero,
        "hip_opening_rad": zero,
        "shoulder_push_m": zero,
    }
    for name in ("trunk_rounding", "trunk_arching", "wrist_extension"):
        fields[f"{name}_rad"] = np.array([np.deg2rad(catalogue.assumed(name))])
    for joint in MOMENT_JOINTS:
        fields[f"{joint}_moment"] = np.array([catalogue.assumed(f"{joint}_moment")])
    return Limits(**{**fields, **known})


def build_stance(catalogue: SegmentCatalogue) -> Stance:
    """Return what is asked of every handstand."""
    return Stance(
        margin_pct=catalogue.assumed("margin"),
        lean_weight_pct=float(catalogue.assumed("lean_weight") / np.deg2rad(1.0)),
        closing_rad=float(np.deg2rad(catalogue.assumed("closing"))),
        lean_away_rad=float(np.deg2rad(catalogue.assumed("lean_away"))),
    )


def build_steps(catalogue: SegmentCatalogue) -> Steps:
    """Return by how much limits of different kinds are relaxed to be compared."""
    return Steps(
        range_rad=float(np.deg2rad(catalogue.assumed("step_range"))),
        balance_pct=catalogue.assumed("step_balance"),
        moment=catalogue.assumed("step_moment"),
        slack_pct=catalogue.assumed("slack"),
    )


def build_goal(catalogue: SegmentCatalogue) -> Goal:
    """Return what counts as arrived."""
    return Goal(
        upright_rad=float(np.deg2rad(catalogue.assumed("upright"))),
        straight_pct=catalogue.assumed("tolerance"),
    )


def build_body(
    catalogue: SegmentCatalogue,
    *,
    table: str,
    stature_m: float,
    lengths: Lengths | None = None,
) -> Body:
    """Return one gymnast's body.

    Parameters
    ----------
    catalogue : SegmentCatalogue
    table : str
        Which published table her masses follow.
    stature_m : float [m]
    lengths : Lengths, optional
        As her photos show them; fractions of her stature where not given.
    """
    if lengths is None:
        lengths = lengths_of_stature(catalogue.link_fractions(), np.asarray(stature_m))
    return Body(
        parts=catalogue.parts(table),
        lengths=lengths,
        support=Support(
            heel_m=np.asarray(catalogue.assumed("heel") * stature_m),
            knuckles_m=-lengths.hand,
        ),
        stature_m=stature_m,
    )
