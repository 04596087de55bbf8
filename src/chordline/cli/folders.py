"""Which folder a command means when none is named: the last one that was screened."""

from pathlib import Path

from platformdirs import user_state_path

from chordline.errors import WrongUseError


def _note() -> Path:
    return user_state_path("chordline", appauthor=False) / "last-screened"


def remember_screened(folder: Path) -> None:
    """Note a folder as the last one screened; without a writable home nothing is noted."""
    note = _note()
    try:
        note.parent.mkdir(parents=True, exist_ok=True)
        note.write_text(str(folder.resolve()), encoding="utf-8")
    except OSError:
        return


def screened_folder(named: Path | None) -> Path:
    """Return the folder that was named, else the last one screened.

    Raises
    ------
    WrongUseError
        Where none was named and none is known.
    """
    if named is not None:
        return named
    try:
        folder = Path(_note().read_text(encoding="utf-8"))
    except OSError:
        folder = None
    if folder is None or not folder.is_dir():
        raise WrongUseError("no folder was screened yet; name one with --folder")
    return folder
