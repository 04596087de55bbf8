"""The one place that chooses adapters and wires the use cases."""

import os
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from chordline.adapters.media.card_reader import ArucoCardReader
from chordline.adapters.media.file_hash import DiskFileHasher
from chordline.adapters.media.folder_reader import DiskFolderReader
from chordline.adapters.media.photo_reader import PillowPhotoReader
from chordline.application.find_limits import FindLimits
from chordline.application.make_sheet import MakeSheet
from chordline.application.make_squad_sheet import MakeSquadSheet
from chordline.application.measure_photo import MeasurePhoto
from chordline.application.ports import PoseEstimator
from chordline.application.screen_folder import ScreenFolder
from chordline.application.sheet import SheetPrinter
from chordline.catalogue.loader import load_catalogue
from chordline.catalogue.schema import Catalogue

#: A folder with a club's own catalogue files.
CLUB_CATALOGUE_VARIABLE = "CHORDLINE_CATALOGUE"


def usable_cores() -> int:
    """Return how many cores this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


@dataclass(frozen=True)
class App:
    """Everything that the command line and the pages call; made on first use."""

    club_catalogue: Path | None = None

    @cached_property
    def catalogue(self) -> Catalogue:
        """The catalogue, with the club's own entries laid over it."""
        return load_catalogue(self.club_catalogue)

    @cached_property
    def photos(self) -> PillowPhotoReader:
        """Reads and cleans pictures."""
        return PillowPhotoReader()

    @cached_property
    def poses(self) -> PoseEstimator | None:
        """The automatic finder, or None where its weights are not installed."""
        from chordline.adapters.pose.estimator import BlazePoseEstimator  # noqa: PLC0415
        from chordline.adapters.pose.weights import choose_weights, read_status  # noqa: PLC0415

        if any(one.file.needed and one.state == "missing" for one in read_status()):
            return None
        return BlazePoseEstimator.from_weights(choose_weights(), threads=usable_cores())

    @cached_property
    def folders(self) -> DiskFolderReader:
        """Lists folders of photos."""
        return DiskFolderReader(default_sd_px=self.catalogue.setting("hand_mark_sd_px"))

    def measure_photo(self) -> MeasurePhoto:
        """Return the use case."""
        return MeasurePhoto(self.photos, ArucoCardReader(), self.poses, self.catalogue)

    def screen_folder(self) -> ScreenFolder:
        """Return the use case."""
        return ScreenFolder(self.measure_photo(), self.catalogue, DiskFileHasher())

    def find_limits(self) -> FindLimits:
        """Return the use case."""
        return FindLimits(self.catalogue)

    def make_sheet(self) -> MakeSheet:
        """Return the use case."""
        return MakeSheet(self.photos, self.catalogue)

    def make_squad_sheet(self) -> MakeSquadSheet:
        """Return the use case."""
        return MakeSquadSheet(self.catalogue)

    @cached_property
    def press(self) -> SheetPrinter:
        """Prints sheets."""
        from chordline.adapters.printing.press import SheetPress  # noqa: PLC0415

        return SheetPress()


def build_app() -> App:
    """Return the application as the environment asks for it."""
    club = os.environ.get(CLUB_CATALOGUE_VARIABLE)
    return App(Path(club) if club else None)
