"""The use cases of stored videos, wired to doubles and to records in a file of their own."""

import io
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import numpy as np
from stored_photos import DictStore
from test_measure_video import lying, on_hands

from application_doubles import FakeReader
from chordline.adapters.db.records import SqlRecords, open_records
from chordline.adapters.media.frame_png import frame_to_png
from chordline.application.club.judge_screen import JudgeScreen
from chordline.application.club.keep_videos import AskedOfVideo, KeepVideos
from chordline.application.club.measure_stored import MeasureStored, WorkedOff, WorkOff
from chordline.application.club.measure_stored_video import MeasureStoredVideo
from chordline.application.club.pictures import StoredPictures
from chordline.application.club.records import Club, GymnastRecord
from chordline.application.club.running_videos import Running
from chordline.application.club.take_in_video import IncomingVideo, TakeInVideo
from chordline.application.club.video_records import VideoRecord
from chordline.application.club.views import ScreenView
from chordline.application.find_limits import FindLimits
from chordline.application.measure_photo import MeasurePhoto
from chordline.catalogue.segments import our_segments
from club_stories import MONDAY, TUESDAY, found_club
from moving_bodies import ramp
from video_doubles import CATALOGUE, Desk, MadeBody

LONGEST_S = 30.0


@dataclass
class Studio:
    """Everything that stored videos need; gymnasts have the cards 0, 1, …"""

    records: SqlRecords
    club: Club
    girls: list[GymnastRecord]
    store: DictStore
    desk: Desk

    def __post_init__(self) -> None:
        self.pictures = StoredPictures(self.store, FakeReader())
        self.judge = JudgeScreen(
            self.records, self.pictures, FindLimits(CATALOGUE, our_segments()), CATALOGUE
        )
        self.running = Running()
        self.told: list[WorkedOff] = []
        self.use_case = self.desk.use_case
        cards = self.desk.use_case()._cards
        photos = MeasurePhoto(FakeReader(), cards, self.desk.poses, CATALOGUE)
        self.take_in = TakeInVideo(
            self.records, self.store, self.desk.reader, cards, CATALOGUE, longest_s=LONGEST_S
        )
        self.keep = KeepVideos(
            self.records,
            self.store,
            self.judge,
            CATALOGUE,
            longest_s=LONGEST_S,
            running=self.running,
        )
        videos = MeasureStoredVideo(
            self.records,
            self.store,
            self.use_case,
            self.judge,
            to_png=frame_to_png,
            catalogue_version=CATALOGUE.version,
            longest_s=LONGEST_S,
            running=self.running,
        )
        self.work_off = WorkOff(
            self.records,
            MeasureStored(self.records, self.pictures, photos, self.judge, CATALOGUE),
            videos=videos,
            tell=self.told.append,
        )

    def bring(
        self,
        name: str = "0_hold-front.mp4",
        *,
        content: bytes = b"video",
        gymnast_id: int | None = None,
        day: date = MONDAY,
        measure: bool = False,
        keep_file: bool = True,
    ) -> VideoRecord:
        incoming = IncomingVideo(
            name,
            io.BytesIO(content),
            day,
            gymnast_id=gymnast_id,
            measure=measure,
            keep_file=keep_file,
        )
        return self.take_in(self.club.id, incoming, today=TUESDAY).video

    def ask(self, video_id: int, **said: object) -> VideoRecord:
        asked = AskedOfVideo(given=frozenset(said), **said)  # type: ignore[arg-type]
        return self.keep.ask(video_id, asked, today=TUESDAY)

    def measured(self, **how: object) -> VideoRecord:
        video = self.bring(measure=True, **how)  # type: ignore[arg-type]
        self.one()
        return self.video(video.id)

    def one(self) -> WorkedOff | None:
        return self.work_off("worker")

    def video(self, video_id: int) -> VideoRecord:
        with self.records.reading() as tx:
            return tx.videos.get(video_id)

    def screen(self, video: VideoRecord) -> ScreenView:
        with self.records.reading() as tx:
            return tx.screens.view(video.said.screen_id or 0)

    def pieces(self, video_id: int) -> int:
        with self.records.reading() as tx:
            return len(tx.videos.pieces(video_id))


def sagging() -> MadeBody:
    """Face down, in shape from 1.5 s on; from 4 s the hips close, 12 degrees at 5.5 s."""
    sag = ramp(4.0, -8.0, -40.0)
    return lying(7.0, hip=lambda t: np.where(t < 1.5, -70.0, sag(t)))


def swaying() -> MadeBody:
    return on_hands(turn=lambda t: 2.0 * np.sin(2.0 * np.pi * 0.5 * t))


@contextmanager
def open_studio(folder: Path, body: MadeBody | None = None) -> Iterator[Studio]:
    records = open_records(f"sqlite:///{folder / 'club.db'}")
    club, girls = found_club(records, "Mila Berg", "Ida Sol")
    yield Studio(records, club, girls, DictStore(), Desk(body or sagging()))
    records.close()
