"""From pictures and videos to measures, findings and the sheets of a screen."""

import time
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from chordline.adapters.media.card_reader import ArucoCardReader
from chordline.adapters.media.file_hash import DiskFileHasher
from chordline.adapters.media.folder_reader import DiskFolderReader
from chordline.application.find_limits import FindLimits
from chordline.application.forecast.forecast_line import ForecastLine
from chordline.application.make_sheet import MakeSheet
from chordline.application.make_squad_sheet import MakeSquadSheet
from chordline.application.measure_photo import MeasurePhoto
from chordline.application.ports import PoseEstimator
from chordline.application.screen_folder import ChooseMany, ScreenFolder
from chordline.application.sheet import SheetPrinter
from chordline.bootstrap.cores import usable_cores, worth_workers
from chordline.bootstrap.ground import Ground

if TYPE_CHECKING:
    from chordline.application.live.ports import LiveEye
    from chordline.application.live.sessions import LiveSessions
    from chordline.application.measure_many import MeasureMany
    from chordline.application.measure_video import MeasureVideo
    from chordline.application.video_ports import BodyTracker, VideoReader


@dataclass(frozen=True)
class Measuring(Ground):
    """From pictures and videos to measures, findings and the sheets of a screen."""

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
        self.photos.start()  # while the networks load
        return MeasurePhoto(self.photos, ArucoCardReader(), self.poses, self.catalogue)

    def measure_by_hand(self) -> MeasurePhoto:
        """Return the use case without the automatic finder: every mark is given."""
        return MeasurePhoto(self.photos, ArucoCardReader(), None, self.catalogue)

    @cached_property
    def video_reader(self) -> "VideoReader":
        """Opens videos."""
        from chordline.adapters.decoding.video_reader import ChildVideoReader  # noqa: PLC0415

        longest_s = self.motion.setting("longest_video_s")
        return ChildVideoReader(longest_s=longest_s, threads=usable_cores())

    def measure_video(self) -> "MeasureVideo":
        """Return the use case."""
        from chordline.application.measure_video import MeasureVideo  # noqa: PLC0415

        return MeasureVideo(
            videos=self.video_reader,
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
    def live(self) -> "LiveSessions":
        """The devices that are live now; in memory only."""
        from chordline.adapters.decoding.live_reader import our_frame_reader  # noqa: PLC0415
        from chordline.application.live.sessions import LiveSessions  # noqa: PLC0415

        setting = self.live_catalogue.setting
        frames = our_frame_reader(
            most_bytes=int(setting("most_bytes")), most_px=int(setting("most_px"))
        )
        frames.start()  # it comes up while the networks load
        return LiveSessions(
            lambda: self.live_eye,
            frames,
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
    def press(self) -> SheetPrinter:
        """Prints sheets."""
        from chordline.adapters.printing.press import SheetPress  # noqa: PLC0415

        return SheetPress()
