"""Marks files: landmarks that a person set, as JSON."""

import json
from pathlib import Path
from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from chordline.application.marks import HandMarks
from chordline.conventions import LANDMARKS, Front, Side, curve_of
from chordline.core.body.measurement import Mark
from chordline.errors import MarksError

_MAX_BYTES = 5_000_000
_MOST_PHOTOS = 10_000
#: So many faults are told; a person mends a few and tries again.
_MOST_FAULTS = 100
_Finite = Annotated[float, Field(allow_inf_nan=False)]


class _Landmark(BaseModel):
    model_config = ConfigDict(extra="ignore")

    x_px: _Finite
    y_px: _Finite
    sd_px: Annotated[float, Field(gt=0, allow_inf_nan=False)] | None = None


class _Marks(BaseModel):
    model_config = ConfigDict(extra="ignore")

    near_side: Side | None = None
    front: Front | None = None
    landmarks: Annotated[dict[str, _Landmark], Field(min_length=1)]


def read_marks(path: Path, *, default_sd_px: float) -> tuple[HandMarks, ...]:
    """Return the marks in a file: one object, or a list of them, one a photo.

    Parameters
    ----------
    path : Path
    default_sd_px : float
        Error of a mark that names none [px].

    Raises
    ------
    MarksError
        With every fault and its path in the file.
    """
    record = _parse(path)
    entries = record if isinstance(record, list) else [record]
    if not entries:
        raise MarksError(path.name, ("the list is empty; give one object a photo",))
    if len(entries) > _MOST_PHOTOS:
        raise MarksError(path.name, (f"marks more than {_MOST_PHOTOS} photos; split it",))
    marks, faults = [], []
    for number, entry in enumerate(entries):
        at = f"[{number}]" if isinstance(record, list) else "$"
        try:
            parsed = _Marks.model_validate(entry)
        except ValidationError as error:
            faults += [
                f"{'.'.join([at, *map(str, fault['loc'])])}: {fault['msg']}"
                for fault in error.errors()
            ]
            continue
        faults += [
            f"{at}.landmarks.{name}: no such landmark; known are {', '.join(LANDMARKS)}, "
            "and back_1 …, seam_1 … and belly_1 …"
            for name in parsed.landmarks
            if name not in LANDMARKS and curve_of(name) is None
        ]
        marks.append(_to_marks(parsed, default_sd_px))
    if len(faults) > _MOST_FAULTS:
        faults[_MOST_FAULTS:] = [f"and {len(faults) - _MOST_FAULTS} more"]
    if faults:
        raise MarksError(path.name, tuple(faults))
    return tuple(marks)


def _parse(path: Path) -> Any:
    try:
        with path.open("rb") as file:
            content = file.read(_MAX_BYTES + 1)
        if len(content) > _MAX_BYTES:
            raise MarksError(path.name, ("the file is far too large for marks",))
        return json.loads(content.decode("utf-8-sig"))
    except OSError as error:
        raise MarksError(path.name, (f"cannot be read ({error.strerror})",)) from None
    except (json.JSONDecodeError, UnicodeDecodeError, RecursionError) as error:
        raise MarksError(path.name, (f"is no JSON ({error})",)) from None
    except ValueError:  # Python bounds how many digits a whole number may have
        raise MarksError(path.name, ("holds a number that is too long",)) from None


def _to_marks(parsed: _Marks, default_sd_px: float) -> HandMarks:
    landmarks = {
        name: Mark(
            x_px=mark.x_px,
            y_px=mark.y_px,
            sd_px=default_sd_px if mark.sd_px is None else mark.sd_px,
            origin="hand",
        )
        for name, mark in parsed.landmarks.items()
    }
    return HandMarks(parsed.near_side, parsed.front, landmarks)
