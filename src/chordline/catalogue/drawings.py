"""Reads the exercises' drawings and reports every fault with its path, all at once."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from importlib import resources
from pathlib import Path
from typing import Final

from chordline.catalogue.drawings_schema import DrawingEntry, PostureEntry, draw_of
from chordline.catalogue.entries import read_entries
from chordline.catalogue.loader import read_tables
from chordline.catalogue.training import FOLDER
from chordline.core.figure.pose import Build
from chordline.core.figure.scene import Drawing, Scene, set_scenes
from chordline.core.planning.problem import KINDS
from chordline.errors import CatalogueError

_BASES: Final = "drawings_bases.toml"
_DRAWINGS: Final = tuple(f"drawings_{kind}.toml" for kind in KINDS)


@dataclass(frozen=True)
class DrawnExercise:
    """The right picture of an exercise and the fault's, with what they were made from."""

    drawing: Drawing
    right: Scene
    fault: Scene


def load_drawings(
    exercises: Collection[str], build: Build, club: Path | None = None
) -> Mapping[str, DrawnExercise]:
    """Return the drawings of the exercises, with a club's own laid over ours.

    Parameters
    ----------
    exercises : collection of str
        Ids of the training catalogue: no other may have a drawing. A club's own exercise may do
        without.
    build : Build
    club : Path, optional
        The folder of the club's catalogue.

    Raises
    ------
    CatalogueError
        With every fault and its path.
    """
    ours = resources.files("chordline.catalogue") / "data" / FOLDER
    tables, _ = read_tables(ours, None if club is None else club / FOLDER, (_BASES, *_DRAWINGS))
    faults: list[str] = []
    bases = read_entries(PostureEntry, _BASES, tables[_BASES], faults)
    found: dict[str, DrawnExercise] = {}
    named: set[str] = set()
    for file in _DRAWINGS:
        for name, entry in read_entries(DrawingEntry, file, tables[file], faults).items():
            path = f"{file}: {name}"
            if name in named:
                faults.append(f"{path}: another file has it too")
            if name not in exercises:
                faults.append(f"{path}: no exercise is called '{name}'")
            try:
                drawing = draw_of(entry, bases)
                right, fault = set_scenes(drawing, build)
            except ValueError as error:
                faults.append(f"{path}: {error}")
                continue
            found[name] = DrawnExercise(drawing, right, fault)
        named |= tables[file].keys()
    if faults:
        raise CatalogueError(tuple(faults))
    return {name: found[name] for name in exercises if name in found}
