"""Reads the growth reference and the maturity equations, and reports every fault at once."""

import csv
import hashlib
from collections.abc import Iterator
from functools import cache
from importlib import resources
from itertools import pairwise
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from chordline.catalogue.club_file import read_club_text
from chordline.catalogue.entries import find_unsourced, read_entries, sentences_of
from chordline.catalogue.growth_schema import (
    SEX_CODES,
    GrowthCatalogue,
    GrowthRow,
    GrowthSource,
    GrowthTableEntry,
    MaturityEntry,
)
from chordline.catalogue.loader import read_tables
from chordline.catalogue.schema import Setting
from chordline.errors import CatalogueError

#: The folder of a club's catalogue that has its own growth files.
FOLDER = "growth"
_TOML = ("sources.toml", "tables.toml", "maturity.toml", "settings.toml")
_SETTINGS = (
    "stature_sd",
    "least_span",
    "most_span",
    "shrunk_sds",
    "fast_growth",
    "equations_apart",
    "caution_from",
    "fresh_for",
    "least_seated",
    "most_seated",
    "most_growth",
)
_COLUMNS = ["sex", "age", "l", "m", "s"]


def load_growth(club: Path | None = None) -> GrowthCatalogue:
    """Return the growth catalogue, with a club's own files laid over it.

    Parameters
    ----------
    club : Path, optional
        The folder of the club's catalogue; its growth files stand in `FOLDER` there. A table file
        there takes the place of ours as a whole.

    Raises
    ------
    CatalogueError
        With every fault and its path.
    """
    ours = resources.files("chordline.catalogue") / "data" / FOLDER
    own = None if club is None else club / FOLDER
    raw, version = read_tables(ours, own, _TOML)
    digest = hashlib.sha256(version.encode())
    faults: list[str] = []

    def text_of(name: str) -> str | None:
        if own is not None and (own / name).is_file():
            text = read_club_text(own / name, name, faults)
        elif (ours / name).is_file():
            text = (ours / name).read_text(encoding="utf-8")
        else:
            return None
        digest.update(text.encode())
        return text

    sources = read_entries(GrowthSource, "sources.toml", raw["sources.toml"], faults)
    maturity = read_entries(MaturityEntry, "maturity.toml", raw["maturity.toml"], faults)
    settings = read_entries(Setting, "settings.toml", raw["settings.toml"], faults)
    filled: dict[str, dict[str, Any]] = {}
    for key, entry in raw["tables.toml"].items():
        file = str(entry.get("file", "")) if isinstance(entry, dict) else ""
        # A bare name: the club's files may not reach out of their folder.
        text = text_of(file) if file and Path(file).name == file else None
        if text is None:
            faults.append(f"tables.toml: {key}.file: there is no '{file}'")
            continue
        rows = _read_rows(file, text, faults)
        filled[key] = {**entry, "rows": rows}
    tables = read_entries(GrowthTableEntry, "tables.toml", filled, faults)
    for table in tables.values():
        faults += _check_rows(table)
    for name, entries in (
        ("tables.toml", tables),
        ("maturity.toml", maturity),
        ("settings.toml", settings),
    ):
        faults += find_unsourced(name, entries, sources)
    faults += [f"settings.toml: {name} is missing" for name in _SETTINGS if name not in settings]
    faults += [
        f"settings.toml: {name}.value: must be above 0"
        for name, setting in settings.items()
        if setting.value <= 0.0
    ]
    if faults:
        raise CatalogueError(tuple(faults))
    return GrowthCatalogue(
        version=digest.hexdigest()[:12],
        sources=sources,
        tables=tables,
        maturity=maturity,
        settings=settings,
    )


@cache
def our_growth() -> GrowthCatalogue:
    """Return our growth catalogue, read once."""
    return load_growth()


def _read_rows(file: str, text: str, faults: list[str]) -> list[GrowthRow]:
    lines = csv.DictReader(text.splitlines())
    if lines.fieldnames is None or list(lines.fieldnames) != _COLUMNS:
        faults.append(f"{file}: the first line must be {','.join(_COLUMNS)}")
        return []
    rows = []
    for number, line in enumerate(lines, start=2):
        try:
            rows.append(GrowthRow.model_validate(line))
        except ValidationError as error:
            faults += sentences_of(f"{file}: line {number}", error)
    return rows


def _check_rows(table: GrowthTableEntry) -> Iterator[str]:
    """Every month stands once, in order, and medians run smoothly enough to hold no typing slip."""
    for sex, code in SEX_CODES.items():
        rows = [row for row in table.rows if row.sex == code]
        if len(rows) < 2:
            yield f"{table.file}: there are no rows for the sex {code} ({sex})"
            continue
        for before, row in pairwise(rows):
            path = f"{table.file}: sex {code}, month {row.age}"
            if row.age != before.age + 1:
                yield f"{path}: comes after month {before.age}"
            # Size changes by less than 3 % a month at these ages, its spread by less than 5 %.
            if abs(row.m / before.m - 1.0) > 0.03:
                yield f"{path}.m: {row.m} after {before.m}"
            if abs(row.s / before.s - 1.0) > 0.05:
                yield f"{path}.s: {row.s} after {before.s}"
