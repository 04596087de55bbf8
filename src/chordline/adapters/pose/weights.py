"""The pose weights: where they live, what they must be, which of them are used."""

import hashlib
import os
from dataclasses import dataclass
from pathlib import Path
from typing import Final, Literal

from platformdirs import user_data_path

from chordline.errors import WeightsError

#: Folder of the weights, instead of the user's data folder.
FOLDER_VARIABLE: Final = "CHORDLINE_WEIGHTS"
LICENCE: Final = "Apache-2.0"

State = Literal["installed", "missing", "damaged"]


@dataclass(frozen=True)
class WeightsFile:
    """One file of weights.

    Attributes
    ----------
    name : str
        File name in the weights folder.
    sha256 : str
    needed : bool
        Whether nothing works without it.
    """

    name: str
    sha256: str
    needed: bool


DETECTOR: Final = WeightsFile(
    "pose_detection.tflite",
    "9ba9dd3d42efaaba86b4ff0122b06f29c4122e756b329d89dca1e297fd8f866c",
    needed=True,
)
FULL: Final = WeightsFile(
    "pose_landmark_full.tflite",
    "e9a5c5cb17f736fafd4c2ec1da3b3d331d6edbe8a0d32395855aeb2cdfd64b9f",
    needed=True,
)
HEAVY: Final = WeightsFile(
    "pose_landmark_heavy.tflite",
    "59e42d71bcd44cbdbabc419f0ff76686595fd265419566bd4009ef703ea8e1fe",
    needed=False,
)
ALL_WEIGHTS: Final = (DETECTOR, FULL, HEAVY)


@dataclass(frozen=True)
class WeightsStatus:
    """One line of `chordline doctor`."""

    file: WeightsFile
    path: Path
    state: State


@dataclass(frozen=True)
class ChosenWeights:
    """The files to open.

    Attributes
    ----------
    detector, scout, landmarks : Path
        Person detector; fast landmark network for the search; the one that measures.
    model : str
        Stored with every measurement.
    """

    detector: Path
    scout: Path
    landmarks: Path
    model: str


def weights_folder() -> Path:
    """Return the folder of the weights; it need not exist."""
    if chosen := os.environ.get(FOLDER_VARIABLE):
        return Path(chosen).expanduser()
    return user_data_path("chordline", appauthor=False) / "weights"


def sha256_of(path: Path) -> str:
    """Return the SHA-256 of a file, as hexadecimal digits."""
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()


def read_status(folder: Path | None = None) -> tuple[WeightsStatus, ...]:
    """Return the state of every file; each installed one is hashed."""
    folder = weights_folder() if folder is None else folder
    return tuple(_status_of(file, folder / file.name) for file in ALL_WEIGHTS)


def _status_of(file: WeightsFile, path: Path) -> WeightsStatus:
    if not path.is_file():
        return WeightsStatus(file, path, "missing")
    whole = sha256_of(path) == file.sha256
    return WeightsStatus(file, path, "installed" if whole else "damaged")


def choose_weights(folder: Path | None = None) -> ChosenWeights:
    """Return the files to open: heavy where it is there, else full.

    Raises
    ------
    WeightsError
        Where a needed file is missing, or any file is damaged.
    """
    states = {status.file: status for status in read_status(folder)}
    for status in states.values():
        if status.state == "damaged":
            raise WeightsError(
                f"{status.path} is damaged (its SHA-256 is not the published one); "
                "install the pose weights anew"
            )
        if status.file.needed and status.state == "missing":
            raise WeightsError(
                f"the pose weights are not installed ({status.path} is missing); install them, "
                "or set the landmarks by hand"
            )
    best = HEAVY if states[HEAVY].state == "installed" else FULL
    size = best.name.removesuffix(".tflite").rpartition("_")[2]
    return ChosenWeights(
        detector=states[DETECTOR].path,
        scout=states[FULL].path,
        landmarks=states[best].path,
        model=f"blazepose-{size} ({best.sha256[:12]})",
    )
