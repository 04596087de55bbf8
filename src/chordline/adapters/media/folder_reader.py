"""A folder of photos with its `screen.csv`, `gymnasts.csv` and marks files."""

import csv
import io
from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path
from typing import TypeVar, cast

from chordline.adapters.media.marks_file import read_marks
from chordline.application.folder import FlagRow, FolderContents, Gymnast, HoldRow, ScreenRow
from chordline.application.marks import HandMarks
from chordline.conventions import FRONTS, SIDES, Front, Side
from chordline.errors import MarksError, RefusedInputError

SCREEN_CSV = "screen.csv"
GYMNASTS_CSV = "gymnasts.csv"
HOLDS_CSV = "holds.csv"
FLAGS_CSV = "flags.csv"
MARKS_SUFFIX = ".marks.json"
#: Suffixes that are no pictures; every other visible file is tried as one.
_NOT_PICTURES = (".csv", ".json", ".jsonl", ".html", ".pdf", ".txt", ".md", ".xlsx", ".toml")
#: Far beyond any folder's list.
_MOST_BYTES = 5_000_000
_Faults = list[tuple[str, str]]
_T = TypeVar("_T")
_N = TypeVar("_N", int, float)


class DiskFolderReader:
    """Reads one folder, not what lies below it."""

    def __init__(self, *, default_sd_px: float) -> None:
        self._default_sd_px = default_sd_px

    def read(self, folder: Path) -> FolderContents:
        """Return what the folder holds; raise `RefusedInputError` where it holds no photo."""
        if not folder.is_dir():
            raise RefusedInputError(f"{folder.name or folder} is no folder; name one with photos")
        try:
            files = sorted(path for path in folder.iterdir() if path.is_file())
        except OSError as error:
            raise RefusedInputError(f"{folder.name} cannot be read ({error.strerror})") from None
        photos = tuple(
            path
            for path in files
            if not path.name.startswith(".") and path.suffix.lower() not in _NOT_PICTURES
        )
        if not photos:
            raise RefusedInputError(f"{folder.name} holds no photo")
        faults: _Faults = []
        return FolderContents(
            photos=photos,
            rows={row.photo: row for row in _rows(folder / SCREEN_CSV, _screen_row, faults)},
            roster=tuple(_unique(_rows(folder / GYMNASTS_CSV, _gymnast, faults), faults)),
            marks=self._marks(photos, faults),
            holds=tuple(_rows(folder / HOLDS_CSV, _hold, faults)),
            flags=tuple(_rows(folder / FLAGS_CSV, _flag, faults)),
            faults=tuple(faults),
        )

    def _marks(self, photos: tuple[Path, ...], faults: _Faults) -> dict[str, HandMarks]:
        marks = {}
        for photo in photos:
            path = photo.with_name(photo.stem + MARKS_SUFFIX)
            if not path.is_file():
                continue
            try:
                entries = read_marks(path, default_sd_px=self._default_sd_px)
            except MarksError as error:
                faults.append((path.name, "; ".join(error.faults)))
                continue
            if len(entries) == 1:
                marks[photo.name] = entries[0]
            else:
                faults.append((path.name, "holds marks for several photos; give one object"))
        return marks


def _rows(path: Path, read: Callable[[dict[str, str]], _T], faults: _Faults) -> Iterator[_T]:
    if not path.is_file():
        return
    try:
        with path.open("rb") as file:
            content = file.read(_MOST_BYTES + 1)
        text = content.decode("utf-8-sig")
    except OSError as error:
        faults.append((path.name, f"cannot be read ({error.strerror})"))
        return
    except UnicodeDecodeError:
        faults.append((path.name, "is not in UTF-8; save it as 'CSV UTF-8'"))
        return
    if len(content) > _MOST_BYTES or "\0" in text:
        faults.append((path.name, "is no list of photos or gymnasts; save it as 'CSV UTF-8'"))
        return
    first = text.partition("\n")[0]
    delimiter = max(",;\t", key=first.count)
    reader = csv.DictReader(io.StringIO(text, newline=""), delimiter=delimiter)
    try:
        yield from _read_lines(path, reader, read, faults)
    except csv.Error:
        where = f"{path.name}, from line {reader.line_num} on"
        faults.append((where, "cannot be read; save it anew as 'CSV UTF-8'"))


def _read_lines(
    path: Path,
    reader: "csv.DictReader[str]",
    read: Callable[[dict[str, str]], _T],
    faults: _Faults,
) -> Iterator[_T]:
    reader.fieldnames = [(name or "").strip().lower() for name in reader.fieldnames or []]
    for line, raw in enumerate(reader, start=2):
        cells = {
            key: value.strip()
            for key, value in raw.items()
            if isinstance(key, str) and isinstance(value, str)
        }
        if not any(cells.values()):
            continue
        try:
            yield read(cells)
        except ValueError as error:
            faults.append((f"{path.name}, line {line}", str(error)))


def _screen_row(cells: dict[str, str]) -> ScreenRow:
    if not cells.get("photo"):
        raise ValueError("column 'photo' is empty; it names the file")
    return ScreenRow(
        photo=cells["photo"],
        gymnast=cells.get("gymnast") or None,
        test=cells.get("test") or None,
        near_side=cast("Side | None", _one_of(cells, "near", SIDES)),
        front=cast("Front | None", _one_of(cells, "front", FRONTS)),
        person=_number(cells, "person", int),
    )


def _gymnast(cells: dict[str, str]) -> Gymnast:
    card = _number(cells, "card", int)
    if not cells.get("name") and card is None:
        raise ValueError("needs a name or a card number")
    born = cells.get("birth_date", "")
    if born:
        try:
            date.fromisoformat(born)
        except ValueError:
            raise ValueError(f"birth_date '{born}' is no date like 2016-05-31") from None
    return Gymnast(
        name=cells.get("name") or f"Card {card}",
        card=card,
        birth_date=born,
        stature_cm=_number(cells, "stature_cm", float),
        mass_kg=_number(cells, "mass_kg", float),
        sitting_height_cm=_number(cells, "sitting_height_cm", float),
    )


def _hold(cells: dict[str, str]) -> HoldRow:
    seconds = _number(cells, "seconds", float)
    if not (cells.get("gymnast") and cells.get("test")) or seconds is None:
        raise ValueError("needs gymnast, test and seconds")
    if seconds <= 0:
        raise ValueError(f"seconds is {seconds:g}; a hold lasts longer than that")
    capped = cells.get("capped", "").lower()
    if capped not in ("", "no", "yes"):
        raise ValueError(f"capped is '{capped}'; say yes where she was stopped, else no")
    return HoldRow(cells["gymnast"], cells["test"], seconds, capped == "yes")


def _flag(cells: dict[str, str]) -> FlagRow:
    if not (cells.get("gymnast") and cells.get("flag")):
        raise ValueError("needs gymnast and flag")
    return FlagRow(cells["gymnast"], cells["flag"])


def _one_of(cells: dict[str, str], column: str, allowed: tuple[str, ...]) -> str | None:
    said = cells.get(column, "").lower()
    if said and said not in allowed:
        raise ValueError(f"{column} is '{said}'; say {', '.join(allowed)} or leave it empty")
    return said or None


def _number(cells: dict[str, str], column: str, kind: Callable[[str], _N]) -> _N | None:
    said = cells.get(column, "").replace(",", ".")
    if not said:
        return None
    try:
        value = kind(said)
    except ValueError:
        raise ValueError(f"{column} is '{said}', which is no number") from None
    if not 0 <= value < 1000:
        raise ValueError(f"{column} is {said}; between 0 and 999 is possible")
    return value


def _unique(roster: Iterator[Gymnast], faults: _Faults) -> Iterator[Gymnast]:
    cards: set[int] = set()
    names: set[str] = set()
    for gymnast in roster:
        if gymnast.card in cards:
            faults.append((GYMNASTS_CSV, f"card {gymnast.card} stands twice; the first holds"))
        elif gymnast.name.casefold() in names:
            faults.append((GYMNASTS_CSV, f"'{gymnast.name}' stands twice; the first holds"))
        else:
            if gymnast.card is not None:
                cards.add(gymnast.card)
            names.add(gymnast.name.casefold())
            yield gymnast
