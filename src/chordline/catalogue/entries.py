"""Tables of a catalogue file as records, every fault with its path."""

from collections.abc import Collection, Mapping
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from chordline.catalogue.schema import UNPUBLISHED, Source, Sourced

_R = TypeVar("_R", bound=BaseModel)


def read_entries(kind: type[_R], file: str, table: Any, faults: list[str]) -> dict[str, _R]:
    """Return the entries of a table that are right; what is wrong goes to `faults`."""
    records: dict[str, _R] = {}
    if not isinstance(table, Mapping):  # a club's file may have put anything in its place
        faults.append(f"{file}: must be a table of entries")
        return records
    for key, value in table.items():
        try:
            records[key] = kind.model_validate(value)
        except ValidationError as error:
            faults += sentences_of(path_of(file, key), error)
    return records


def path_of(file: str, key: str) -> str:
    """Return ``file: key``, or ``file: table.key`` where the file's table is named already."""
    return f"{file}.{key}" if ": " in file else f"{file}: {key}"


def sentences_of(path: str, error: ValidationError) -> list[str]:
    """Return a sentence for each fault of an entry."""
    return [
        f"{path}.{'.'.join(str(step) for step in fault['loc'])}: {fault['msg']}"
        for fault in error.errors()
    ]


def find_misnamed(path: str, given: object, wanted: Collection[str]) -> list[str]:
    """Return a sentence for each entry that is missing, and for each that nothing asks for."""
    if not isinstance(given, Mapping):  # what else a club's file put there, `read_entries` tells
        return []
    return [
        *(f"{path}.{name} is missing" for name in wanted if name not in given),
        *(f"{path}.{name}: unknown" for name in given if name not in wanted),
    ]


def find_unknown_parts(file: str, table: Collection[str], parts: Collection[str]) -> list[str]:
    """Return a sentence for each part of a file that it should not have."""
    return [f"{file}: {part}: no part is called so" for part in table if part not in parts]


def find_unsourced(
    file: str, entries: Mapping[str, Sourced], sources: Mapping[str, Source]
) -> list[str]:
    """Return a sentence for each unknown source and each assumption without its reason."""
    faults = []
    for key, entry in entries.items():
        path = path_of(file, key)
        if entry.source not in sources and entry.source not in UNPUBLISHED:
            faults.append(f"{path}.source: no source is called '{entry.source}'")
        if entry.source == "assumption" and not entry.reason:
            faults.append(f"{path}.reason: an assumption needs its reason")
    return faults
