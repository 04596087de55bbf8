"""The use cases of stored photos, wired to doubles and to records in a file of their own."""

import io
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import BinaryIO
from uuid import uuid4

from application_doubles import PRONE, FakeCards, FakePoses, FakeReader, body_of
from chordline.adapters.db.records import SqlRecords, open_records
from chordline.application.club.check_photo import CheckPhoto
from chordline.application.club.judge_screen import JudgeScreen
from chordline.application.club.measure_stored import MeasureStored, WorkOff
from chordline.application.club.move_photo import MovePhoto
from chordline.application.club.pictures import StoredPictures
from chordline.application.club.records import Club, GymnastRecord, PhotoRecord
from chordline.application.club.seal_pictures import SealPictures
from chordline.application.club.take_in import Incoming, TakeInPhoto
from chordline.application.club.vault_ports import KeyBook
from chordline.application.club.views import PhotoView
from chordline.application.find_limits import FindLimits
from chordline.application.marks import HandMarks
from chordline.application.measure_photo import MeasurePhoto
from chordline.catalogue.segments import our_segments
from chordline.core.body.measurement import Mark
from chordline.errors import PhotoStoreError
from club_stories import MONDAY, TUESDAY, found_club
from screen_stories import CATALOGUE


@dataclass
class DictStore:
    """Keeps pictures in memory."""

    kept: dict[str, bytes] = field(default_factory=dict)

    def key_for(self, keys: KeyBook, club_id: int, gymnast_id: int | None) -> str:
        found = keys.of(club_id, gymnast_id)
        if found is None:
            found = keys.add(club_id, gymnast_id, key_id=uuid4().hex, wrapped=b"wrapped")
        return found.id

    def put(self, content: bytes, key_id: str | None = None) -> str:
        key = f"sealed-{key_id or 'f' * 32}-{uuid4().hex}"
        self.kept[key] = content
        return key

    def put_file(self, content: BinaryIO, key_id: str | None = None) -> str:
        return self.put(content.read(), key_id)

    def open_file(self, key: str) -> BinaryIO:
        return io.BytesIO(self.open(key))

    def reseal(self, key: str, key_id: str) -> str:
        return self.put(self.open(key), key_id)

    def in_use(self, key_id: str) -> bool:
        return any(key_id in key for key in self.kept)

    def forget_keys(self) -> None:
        pass

    def open(self, key: str) -> bytes:
        if key not in self.kept:
            raise PhotoStoreError(key, "this picture is not there any more")
        return self.kept[key]

    def has(self, key: str) -> bool:
        return key in self.kept

    def delete(self, key: str) -> bool:
        return self.kept.pop(key, None) is not None

    def keys(self, *, older_than_s: float = 0.0) -> Iterator[str]:
        yield from () if older_than_s > 0.0 else self.kept


@dataclass
class Gym:
    """Everything that stored photos need; gymnasts have the cards 0, 1, …"""

    records: SqlRecords
    club: Club
    girls: list[GymnastRecord]
    store: DictStore
    reader: FakeReader
    cards: FakeCards
    poses: FakePoses

    def __post_init__(self) -> None:
        self.pictures = StoredPictures(self.store, self.reader)
        measure = MeasurePhoto(self.reader, self.cards, self.poses, CATALOGUE)
        self.judge = JudgeScreen(
            self.records, self.pictures, FindLimits(CATALOGUE, our_segments()), CATALOGUE
        )
        self.take_in = TakeInPhoto(self.records, self.store, self.reader, CATALOGUE)
        self.seal = SealPictures(self.records, self.store)
        self.measure = MeasureStored(
            self.records, self.pictures, measure, self.judge, CATALOGUE, seal=self.seal
        )
        self.work_off = WorkOff(self.records, self.measure)
        self.check = CheckPhoto(self.records, self.measure, self.judge, CATALOGUE)
        self.move = MovePhoto(self.records, self.store, self.judge, CATALOGUE)

    def bring(
        self,
        name: str = "0_prone-overhead.jpg",
        *,
        content: bytes = b"a",
        day: date = MONDAY,
        gymnast_id: int | None = None,
        test: str | None = None,
    ) -> PhotoRecord:
        incoming = Incoming(name, content, day, gymnast_id=gymnast_id, test=test)
        return self.take_in(self.club.id, incoming, today=TUESDAY).photo

    def measured(self, name: str = "0_prone-overhead.jpg", *, content: bytes = b"a") -> PhotoRecord:
        photo = self.bring(name, content=content)
        self.work()
        return self.view(photo.id).photo

    def work(self) -> int:
        """Do what waits, and return how many jobs that were."""
        count = 0
        while self.work_off("worker") is not None:
            count += 1
        return count

    def view(self, photo_id: int) -> PhotoView:
        with self.records.reading() as tx:
            return tx.photos.view(photo_id)

    def owner(self, photo_id: int) -> str | None:
        with self.records.reading() as tx:
            screen_id = tx.photos.get(photo_id).screen_id
            if screen_id is None:
                return None
            return tx.gymnasts.get(tx.screens.get(screen_id).gymnast_id).name

    def day(self, photo_id: int) -> date:
        with self.records.reading() as tx:
            return tx.screens.get(tx.photos.get(photo_id).screen_id or 0).screened_on

    def waiting(self) -> int:
        with self.records.reading() as tx:
            return tx.jobs.counts(self.club.id)["waiting"]


@contextmanager
def open_gym(folder: Path, *names: str) -> Iterator[Gym]:
    records = open_records(f"sqlite:///{folder / 'club.db'}")
    club, girls = found_club(records, *(names or ("Mila Berg", "Ida Sol")))
    yield Gym(
        records, club, girls, DictStore(), FakeReader(), FakeCards(), FakePoses((body_of(PRONE),))
    )
    records.close()


def hand_marks(hip_up_px: float = 0.0) -> HandMarks:
    """Marks where the finder finds her, the hip moved up."""
    places = {name: (x, y - hip_up_px if name == "hip" else y) for name, (x, y) in PRONE.items()}
    return HandMarks(
        "left", None, {name: Mark(x, y, 4.0, "hand") for name, (x, y) in places.items()}
    )
