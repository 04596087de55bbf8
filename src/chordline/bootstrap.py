"""The one place that chooses adapters and wires the use cases."""

import os
import platform
import shutil
import time
from dataclasses import dataclass
from datetime import date
from functools import cached_property, partial
from pathlib import Path
from typing import TYPE_CHECKING

from platformdirs import user_data_path

from chordline import __version__
from chordline.adapters.media.card_reader import ArucoCardReader
from chordline.adapters.media.file_hash import DiskFileHasher
from chordline.adapters.media.folder_reader import DiskFolderReader
from chordline.adapters.media.photo_reader import PillowPhotoReader
from chordline.adapters.media.photo_store import FolderPhotoStore
from chordline.application.club.check_photo import CheckPhoto
from chordline.application.club.her_holds import KeepHolds
from chordline.application.club.her_notes import KeepNotes
from chordline.application.club.her_record import KeepHer
from chordline.application.club.judge_screen import JudgeScreen
from chordline.application.club.measure_stored import MeasureStored, WorkOff
from chordline.application.club.move_photo import MovePhoto
from chordline.application.club.photo_store import PhotoStore
from chordline.application.club.pictures import StoredPictures
from chordline.application.club.ports import Records
from chordline.application.club.records import Club
from chordline.application.club.records_health import examine_records
from chordline.application.club.take_in import TakeInPhoto
from chordline.application.club.take_in_folder import TakeInFolder
from chordline.application.find_limits import FindLimits
from chordline.application.forecast.forecast_line import ForecastLine
from chordline.application.growth.tell_growth import TellGrowth
from chordline.application.health import Finding
from chordline.application.make_sheet import MakeSheet
from chordline.application.make_squad_sheet import MakeSquadSheet
from chordline.application.measure_photo import MeasurePhoto
from chordline.application.ports import PoseEstimator
from chordline.application.progress.gather_sheet import GatherProgress, ProgressPrinter
from chordline.application.progress.growth_chance import growth_chance
from chordline.application.progress.her_progress import HerProgress
from chordline.application.progress.numbers import read_numbers
from chordline.application.progress.retest_calendar import RetestCalendar
from chordline.application.progress.squad_progress import TellSquadProgress
from chordline.application.progress.timelines import ReadTimelines
from chordline.application.repeatability.lay_noise import lay_noise, renew_marking
from chordline.application.repeatability.mark_study import MarkStudy
from chordline.application.repeatability.use_noise import UseNoise
from chordline.application.screen_folder import ChooseMany, ScreenFolder
from chordline.application.sheet import SheetPrinter
from chordline.application.tongue import Tongue
from chordline.application.training.calendar import GroupCalendar
from chordline.application.training.done_work import KeepDone
from chordline.application.training.her_ladder import HerLadder
from chordline.application.training.keep_training import KeepTraining
from chordline.application.training.make_plan import MakePlan
from chordline.application.training.replan import Replan
from chordline.application.training.sheets.gather import GatherSheets
from chordline.application.training.sheets.printer import TrainingPrinter
from chordline.application.training.tonight import Tonight
from chordline.catalogue.growth_schema import GrowthCatalogue
from chordline.catalogue.loader import load_catalogue
from chordline.catalogue.schema import Catalogue
from chordline.catalogue.segments_schema import SegmentCatalogue
from chordline.catalogue.training_schema import TrainingCatalogue
from chordline.errors import CatalogueError, RecordsError

if TYPE_CHECKING:
    from chordline.adapters.printing.exercise_pictures import ExercisePictures
    from chordline.application.live.ports import LiveEye
    from chordline.application.live.sessions import LiveSessions
    from chordline.application.measure_many import MeasureMany
    from chordline.application.measure_video import MeasureVideo
    from chordline.application.video_ports import BodyTracker
    from chordline.catalogue.live import LiveCatalogue
    from chordline.catalogue.motion import MotionCatalogue

#: A folder with a club's own catalogue files.
CLUB_CATALOGUE_VARIABLE = "CHORDLINE_CATALOGUE"
#: The folder of the club's records and pictures.
DATA_VARIABLE = "CHORDLINE_DATA"
#: Address of the records' database, where it is not a file in that folder.
DATABASE_VARIABLE = "CHORDLINE_DATABASE"

#: What is made from the catalogue and has to be made anew when the errors in use change.
_RESTS_ON_ERRORS = (
    "catalogue",
    "folders",
    "judge_screen",
    "measure_stored",
    "forecast_line",
    "her_progress",
    "squad_progress",
)

#: From so many photos on worker processes are used; on two cores they pay from about 40 on
#: (docs/scale.md).
PHOTOS_THAT_PAY = 64
#: So many photos at least for each of them.
PHOTOS_A_PROCESS = 8

#: What a new club is called until it gets its name.
NEW_CLUB = "My club"


def usable_cores() -> int:
    """Return how many cores this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def worth_workers(photos: int, cores: int) -> int:
    """Return how many processes pay for so many photos; 1 = measure them in this one.

    All cores or none: this process uses several cores as well, only less well (docs/scale.md).
    """
    if photos < PHOTOS_THAT_PAY:
        return 1
    return min(cores, photos // PHOTOS_A_PROCESS)


@dataclass(frozen=True)
class App:
    """Everything that the command line and the pages call; made on first use.

    Attributes
    ----------
    club_catalogue : Path or None
    data : Path or None
        The folder of the club's records and pictures; None = the user's own.
    database : str or None
        Address of the records; None = a file in `data`.
    """

    club_catalogue: Path | None = None
    data: Path | None = None
    database: str | None = None

    @cached_property
    def default_catalogue(self) -> Catalogue:
        """The catalogue, with the entries of the club's own files laid over it."""
        return load_catalogue(self.club_catalogue)

    @cached_property
    def catalogue(self) -> Catalogue:
        """The catalogue in use; with the errors that the club found, once its records are open."""
        return self.default_catalogue

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

    @cached_property
    def motion(self) -> "MotionCatalogue":
        """The numbers about videos, with the club's own laid over them."""
        from chordline.catalogue.motion import load_motion  # noqa: PLC0415

        return load_motion(self.default_catalogue, self.club_catalogue)

    def measure_video(self) -> "MeasureVideo":
        """Return the use case."""
        from chordline.adapters.media.video_reader import AvVideoReader  # noqa: PLC0415
        from chordline.application.measure_video import MeasureVideo  # noqa: PLC0415

        longest_s = self.motion.setting("longest_video_s")
        return MeasureVideo(
            videos=AvVideoReader(longest_s=longest_s, threads=usable_cores()),
            photos=self.photos,
            cards=ArucoCardReader(),
            tracker=lambda: self.tracker,
            poses=self.poses,
            catalogue=self.catalogue,
            motion=self.motion,
        )

    @cached_property
    def tracker(self) -> "BodyTracker | None":
        """Follows a body through a video, or None where its weights are not installed."""
        if self.poses is None:
            return None
        from chordline.adapters.pose.tracking import BlazePoseTracker  # noqa: PLC0415
        from chordline.adapters.pose.weights import choose_weights  # noqa: PLC0415

        return BlazePoseTracker.from_weights(choose_weights(), threads=usable_cores())

    @cached_property
    def live_catalogue(self) -> "LiveCatalogue":
        """The numbers and words of the live line, with the club's own laid over them."""
        from chordline.catalogue.live import load_live  # noqa: PLC0415

        return load_live(self.default_catalogue, self.club_catalogue)

    @cached_property
    def live(self) -> "LiveSessions":
        """The devices that are live now; in memory only."""
        from chordline.adapters.media.live_frame import JpegFrameReader  # noqa: PLC0415
        from chordline.application.live.sessions import LiveSessions  # noqa: PLC0415

        setting = self.live_catalogue.setting
        return LiveSessions(
            lambda: self.live_eye,
            JpegFrameReader(most_bytes=int(setting("most_bytes")), most_px=int(setting("most_px"))),
            self.default_catalogue,
            self.live_catalogue,
            clock=time.monotonic,
        )

    @cached_property
    def live_eye(self) -> "LiveEye | None":
        """Finds and follows her before a camera, or None where its weights are not installed."""
        from chordline.adapters.pose.live_eye import BlazePoseEye  # noqa: PLC0415
        from chordline.adapters.pose.weights import choose_weights, read_status  # noqa: PLC0415

        if any(one.file.needed and one.state == "missing" for one in read_status()):
            return None
        setting = self.live_catalogue.setting
        return BlazePoseEye.from_weights(
            choose_weights(),
            let_go_s=setting("let_go_s"),
            forget_s=setting("forget_her_s"),
            notice_s=setting("notice_s"),
            threads=usable_cores(),
        )

    def measure_by_hand(self) -> MeasurePhoto:
        """Return the use case without the automatic finder: every mark is given."""
        return MeasurePhoto(self.photos, ArucoCardReader(), None, self.catalogue)

    def screen_folder(self, many: ChooseMany | None = None) -> ScreenFolder:
        """Return the use case; `many` chooses what measures many photos at once."""
        return ScreenFolder(
            self.measure_photo(), self.catalogue, DiskFileHasher(), self.measure_video(), many
        )

    def measure_many(
        self, photos: int, *, workers: int | None = None, cluster: str | None = None
    ) -> "MeasureMany | None":
        """Return what measures so many photos at once, or None where one by one is quicker.

        Parameters
        ----------
        photos : int
        workers : int, optional
            Processes; as many as pay where it is not said.
        cluster : str, optional
            Address of a Dask scheduler, instead of processes.
        """
        count = worth_workers(photos, usable_cores()) if workers is None else workers
        if self.poses is None and cluster is None:
            return None
        if cluster is None and count <= 1:
            return None
        from chordline.measuring_worker import measure_many_on  # noqa: PLC0415

        return measure_many_on(self.catalogue, processes=count, cluster=cluster)

    def find_limits(self) -> FindLimits:
        """Return the use case."""
        return FindLimits(self.catalogue, self.segments)

    @cached_property
    def segments(self) -> SegmentCatalogue:
        """Segment tables and what the handstand model assumes."""
        from chordline.catalogue.segments import our_segments  # noqa: PLC0415

        return our_segments()

    @cached_property
    def training(self) -> TrainingCatalogue:
        """The training catalogue, with the club's own entries laid over it."""
        from chordline.catalogue.training import load_training  # noqa: PLC0415

        return load_training(self.catalogue, self.club_catalogue)

    @cached_property
    def growth(self) -> GrowthCatalogue:
        """The growth catalogue, with the club's own files laid over it."""
        from chordline.catalogue.growth import load_growth, our_growth  # noqa: PLC0415

        return load_growth(self.club_catalogue) if self.club_catalogue else our_growth()

    def tell_growth(self) -> TellGrowth:
        """Return the use case."""
        return TellGrowth(self.records, self.growth)

    @cached_property
    def forecast_line(self) -> ForecastLine:
        """The use case."""
        return ForecastLine(self.catalogue, self.segments)

    def make_sheet(self) -> MakeSheet:
        """Return the use case."""
        return MakeSheet(self.photos, self.catalogue)

    def make_squad_sheet(self) -> MakeSquadSheet:
        """Return the use case."""
        return MakeSquadSheet(self.catalogue)

    @cached_property
    def data_folder(self) -> Path:
        """The folder of the club's records and pictures; made where there is none."""
        folder = self.data or user_data_path("chordline", appauthor=False)
        try:
            folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        except OSError as error:
            raise RecordsError(f"{folder} cannot be used ({error.strerror})") from None
        return folder

    @cached_property
    def records(self) -> Records:
        """The club's records."""
        from chordline.adapters.db.records import open_records  # noqa: PLC0415

        opened = open_records(self.database or f"sqlite:///{self.data_folder / 'records.sqlite'}")
        self._lay_errors(opened)
        return opened

    def renew_errors(self) -> None:
        """Take up the errors that the records say are in use now."""
        self._lay_errors(self.records)

    def _lay_errors(self, records: Records) -> None:
        with records.reading() as tx:
            clubs = tx.clubs.all()
            noise = tx.studies.noise(clubs[0].id) if clubs else None
        if noise is None and "catalogue" not in self.__dict__:
            return
        in_use = lay_noise(self.default_catalogue, noise)
        if in_use.version == self.catalogue.version:
            return
        for name in _RESTS_ON_ERRORS:
            self.__dict__.pop(name, None)
        self.__dict__["catalogue"] = in_use

    @cached_property
    def photo_store(self) -> PhotoStore:
        """The club's pictures."""
        return FolderPhotoStore(self.data_folder / "photos")

    def club(self) -> Club:
        """Return the one club; founded on first use."""
        with self.records.reading() as tx:
            clubs = tx.clubs.all()
        if clubs:
            return clubs[0]
        with self.records.transaction() as tx:
            clubs = tx.clubs.all()
            return clubs[0] if clubs else tx.clubs.add(NEW_CLUB)

    @cached_property
    def pictures(self) -> StoredPictures:
        """Reads stored pictures."""
        return StoredPictures(self.photo_store, self.photos)

    def take_in_photo(self) -> TakeInPhoto:
        """Return the use case."""
        return TakeInPhoto(self.records, self.photo_store, self.photos, self.catalogue)

    def take_in_folder(self) -> TakeInFolder:
        """Return the use case."""
        return TakeInFolder(self.records, self.take_in_photo(), self.judge_screen, self.catalogue)

    @cached_property
    def judge_screen(self) -> JudgeScreen:
        """The use case."""
        # The records first: with them come the errors that are in use.
        records = self.records
        return JudgeScreen(
            records,
            self.pictures,
            self.find_limits(),
            self.catalogue,
            self.forecast_line,
            renew=partial(renew_marking, ours=self.default_catalogue, in_use=self.catalogue),
        )

    @cached_property
    def measure_stored(self) -> MeasureStored:
        """The use case."""
        records = self.records
        measure = self.measure_photo()
        return MeasureStored(records, self.pictures, measure, self.judge_screen, self.catalogue)

    def work_off(self) -> WorkOff:
        """Return the use case."""
        return WorkOff(self.records, self.measure_stored)

    def check_photo(self) -> CheckPhoto:
        """Return the use case."""
        return CheckPhoto(self.records, self.measure_stored, self.judge_screen, self.catalogue)

    def move_photo(self) -> MovePhoto:
        """Return the use case."""
        return MovePhoto(self.records, self.photo_store, self.judge_screen, self.catalogue)

    def keep_her(self) -> KeepHer:
        """Return the use case."""
        return KeepHer(self.records, self.photo_store, self.pictures)

    def keep_notes(self) -> KeepNotes:
        """Return the use case."""
        return KeepNotes(self.records, self.judge_screen, self.catalogue)

    def keep_holds(self) -> KeepHolds:
        """Return the use case."""
        return KeepHolds(self.records, self.judge_screen, self.catalogue)

    def mark_study(self) -> MarkStudy:
        """Return the use case."""
        ours = self.default_catalogue
        by_hand = MeasurePhoto(self.photos, ArucoCardReader(), None, ours)
        return MarkStudy(self.records, self.pictures, by_hand, ours)

    def use_noise(self) -> UseNoise:
        """Return the use case; what it changes holds for this application at once."""
        return UseNoise(self.records, self.default_catalogue, changed=self.renew_errors)

    def keep_training(self) -> KeepTraining:
        """Return the use case."""
        return KeepTraining(self.records, self.training)

    def make_plan(self) -> MakePlan:
        """Return the use case."""
        return MakePlan(self.records, self.catalogue, self.training)

    def replan(self) -> Replan:
        """Return the use case."""
        return Replan(self.records, self.training)

    def tonight(self) -> Tonight:
        """Return the use case."""
        return Tonight(self.records, self.catalogue, self.training)

    def keep_done(self) -> KeepDone:
        """Return the use case."""
        return KeepDone(self.records, self.training)

    def make_calendar(self) -> GroupCalendar:
        """Return the use case."""
        from chordline.adapters.calendar.ics import write_ics  # noqa: PLC0415

        return GroupCalendar(self.records, write_ics)

    @cached_property
    def her_progress(self) -> HerProgress:
        """The use case; it keeps what screens told, so there is one for all pages."""
        # The records first: with them come the errors that are in use.
        records = self.records
        numbers = read_numbers(self.catalogue, self.club_catalogue)
        read = ReadTimelines(
            self.find_limits(),
            numbers,
            self.training,
            growth_chance=growth_chance(self.growth),
            renew=partial(renew_marking, ours=self.default_catalogue, in_use=self.catalogue),
        )
        return HerProgress(records, read, numbers, self.training)

    @cached_property
    def squad_progress(self) -> TellSquadProgress:
        """The use case."""
        return TellSquadProgress(self.records, self.her_progress)

    def gather_progress(self) -> GatherProgress:
        """Return the use case."""
        return GatherProgress(self.records, self.her_progress, self.pictures)

    @cached_property
    def progress_press(self) -> ProgressPrinter:
        """Prints sheets about progress."""
        from chordline.adapters.printing.training.progress_press import (  # noqa: PLC0415
            ProgressPress,
        )

        return ProgressPress()

    def print_progress(
        self,
        gymnast_id: int,
        *,
        day: date,
        tongue: Tongue,
        test: str | None = None,
        screens: tuple[int | None, int | None] = (None, None),
    ) -> bytes:
        """Return the sheet about a gymnast's progress as PDF.

        `screens` are the earlier and the later one that are shown; None leaves the choice.
        """
        content = self.gather_progress()(
            gymnast_id, day=day, test=test, before_id=screens[0], after_id=screens[1]
        )
        return self.progress_press.progress_to_pdf(
            content,
            sure=self.her_progress.numbers.changes.sure,
            catalogue=self.catalogue,
            tongue=tongue,
        )

    def retest_calendar(self) -> RetestCalendar:
        """Return the use case."""
        from chordline.adapters.calendar.ics import write_ics  # noqa: PLC0415

        return RetestCalendar(write_ics)

    def examine(self) -> tuple[Finding, ...]:
        """Return what there is to say of the program and of what it needs."""
        from chordline.adapters.pose.weights_health import examine_weights  # noqa: PLC0415

        program = f"{__version__} on Python {platform.python_version()}"
        return (
            Finding("chordline", "well", program),
            self._examine_catalogue(),
            *examine_weights(),
            *self._examine_records(),
        )

    def _examine_catalogue(self) -> Finding:
        try:
            catalogue = self.catalogue
        except CatalogueError as error:
            return Finding("catalogue", "broken", str(error))
        told = f"{len(catalogue.tests)} tests, version {catalogue.version}"
        return Finding("catalogue", "well", told)

    def _examine_records(self) -> tuple[Finding, ...]:
        try:
            folder = self.data_folder
            place = str(folder) if self.database is None else "the database that was named"
            free_bytes = shutil.disk_usage(folder).free
            return examine_records(self.records, self.club().id, place=place, free_bytes=free_bytes)
        except (RecordsError, OSError) as error:
            return (Finding("records", "broken", str(error)),)

    @cached_property
    def press(self) -> SheetPrinter:
        """Prints sheets."""
        from chordline.adapters.printing.press import SheetPress  # noqa: PLC0415

        return SheetPress()

    def her_ladder(self) -> HerLadder:
        """Return the use case."""
        return HerLadder(
            self.records,
            self.judge_screen,
            self.find_limits(),
            catalogue=self.catalogue,
            training=self.training,
        )

    @cached_property
    def exercise_pictures(self) -> "ExercisePictures":
        """The drawings of the exercises."""
        from chordline.adapters.printing.exercise_pictures import load_pictures  # noqa: PLC0415

        return load_pictures(self.training, self.segments, self.club_catalogue)

    def gather_sheets(self) -> GatherSheets:
        """Return the use case."""
        return GatherSheets(self.records, self.judge_screen, self.catalogue, self.training)

    @cached_property
    def training_press(self) -> TrainingPrinter:
        """Prints sheets of training."""
        from chordline.adapters.printing.training.press import TrainingPress  # noqa: PLC0415

        return TrainingPress(self.exercise_pictures)


def build_app(*, data: Path | None = None) -> App:
    """Return the application as the environment asks for it.

    Parameters
    ----------
    data : Path, optional
        The folder of the club's records and pictures, before what the environment says.
    """
    club = os.environ.get(CLUB_CATALOGUE_VARIABLE)
    folder = os.environ.get(DATA_VARIABLE)
    return App(
        club_catalogue=Path(club) if club else None,
        data=data or (Path(folder) if folder else None),
        database=os.environ.get(DATABASE_VARIABLE) or None,
    )
