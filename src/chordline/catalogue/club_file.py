"""A catalogue file of a club's own: bounded before it is parsed, so that no file harms."""

import tomllib
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any, Final

#: Far beyond any catalogue; ours together have a quarter of this.
MOST_BYTES: Final = 2_000_000
#: Deeper than any entry; a parser that follows more of it comes to its end.
_MOST_DEEP: Final = 20
_Table = dict[str, Any]


class _UnfitError(Exception):
    """A reason why a file is no use, as the end of a sentence."""


def read_club_text(path: Path, name: str, faults: list[str]) -> str:
    """Return a file's text; "" and a fault where it is none, or far too long."""
    try:
        with path.open("rb") as file:
            content = file.read(MOST_BYTES + 1)
        if len(content) > MOST_BYTES:
            faults.append(
                f"{name}: is larger than {MOST_BYTES / 1e6:.0f} MB; keep the entries only"
            )
            return ""
        return content.decode("utf-8-sig")
    except UnicodeDecodeError:
        faults.append(f"{name}: is not in UTF-8; save it as UTF-8")
    except OSError as error:
        faults.append(f"{name}: cannot be read ({error.strerror})")
    return ""


def parse_toml(text: str, name: str, faults: list[str]) -> _Table:
    """Return the tables of a text; {} and a fault where it is no TOML, or nests too deeply."""
    try:
        found = tomllib.loads(text)
        _check_depth(found, _MOST_DEEP)
    except tomllib.TOMLDecodeError as error:
        faults.append(f"{name}: {error}")
    except RecursionError:
        faults.append(f"{name}: nests lists or tables too deeply")
    except ValueError:  # Python bounds how many digits a whole number may have
        faults.append(f"{name}: has a number that is too long")
    except _UnfitError as error:
        faults.append(f"{name}: {error}")
    else:
        return found
    return {}


def _check_depth(value: object, left: int) -> None:
    if isinstance(value, int) and not isinstance(value, bool) and abs(value) >= 2**63:
        raise _UnfitError("has a number that is too long")
    inner: Sequence[object] = ()
    if isinstance(value, Mapping):
        inner = list(value.values())
    elif isinstance(value, list):
        inner = value
    if inner and not left:
        raise _UnfitError("nests lists or tables too deeply")
    for one in inner:
        _check_depth(one, left - 1)
