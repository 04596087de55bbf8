"""A folder as `chordline screen` takes it, into the records, each file as what it is."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from chordline.application.club.judge_screen import JudgeScreen
from chordline.application.club.ports import Records, Tx
from chordline.application.club.records import FiledPhoto, GymnastRecord
from chordline.application.club.take_in import MEASURE, Incoming, TakeInPhoto
from chordline.application.club.take_in_video import IncomingVideo, TakeInVideo
from chordline.application.club.video_records import FiledVideo
from chordline.application.folder import FlagRow, FolderContents, HoldRow, ScreenRow
from chordline.application.headway import Progress
from chordline.application.screen_folder import LeftOut
from chordline.catalogue.schema import Catalogue
from chordline.errors import PictureError, RefusedInputError


@dataclass(frozen=True)
class TakenIn:
    """What came of a folder.

    Attributes
    ----------
    photos : tuple of FiledPhoto
        Those that are in the records now, new or there already.
    left_out : tuple of LeftOut
        Files and lines that could not be taken, each with its reason.
    videos : tuple of FiledVideo
        Likewise.
    """

    photos: tuple[FiledPhoto, ...]
    left_out: tuple[LeftOut, ...]
    videos: tuple[FiledVideo, ...] = ()

    @property
    def new(self) -> int:
        """How many photos were not there before."""
        return sum(not one.already_there for one in self.photos)

    @property
    def new_videos(self) -> int:
        """How many videos were not there before."""
        return sum(not one.already_there for one in self.videos)


class TakeInFolder:
    """Use case: take a folder in. Stopped half-way and begun again, it does nothing twice."""

    def __init__(
        self,
        records: Records,
        take_in: TakeInPhoto,
        judge: JudgeScreen,
        catalogue: Catalogue,
        *,
        videos: TakeInVideo | None = None,
        is_video: Callable[[Path], bool] = lambda path: False,  # noqa: ARG005
    ) -> None:
        """Take the parts.

        Parameters
        ----------
        records, take_in, judge, catalogue
        videos : TakeInVideo, optional
            Without it every file is tried as a photo.
        is_video : callable, optional
            Whether a file is to be read as a video.
        """
        self._records = records
        self._videos = videos
        self._is_video = is_video
        self._take_in = take_in
        self._judge = judge
        self._catalogue = catalogue

    def __call__(
        self,
        club_id: int,
        contents: FolderContents,
        *,
        day: date,
        today: date,
        author: str,
        test: str | None = None,
        progress: Progress,
    ) -> TakenIn:
        """Take in what a folder holds, under the screens of a day.

        Parameters
        ----------
        club_id : int
        contents : FolderContents
            Its roster is not looked at: who trains here, the club's own roster says.
        day, today : date
        author : str
            Who is said to have set the marks and entered the holds.
        test : str, optional
            What all photos are of whose line and name do not say otherwise.
        progress : Progress
        """
        left_out = [LeftOut(file, reason) for file, reason in contents.faults]
        photos, videos = [], []
        progress.start(len(contents.photos))
        for path in contents.photos:
            row = contents.rows.get(path.name, ScreenRow(path.name))
            try:
                if self._videos is not None and self._is_video(path):
                    marked = path.name in contents.marks
                    filed_video = self._video(
                        club_id, path, row, day=day, today=today, test=test, marked=marked
                    )
                    videos.append(filed_video)
                    progress.step(path.name)
                    continue
                gymnast = self._meant(club_id, row.gymnast)
                filed = self._take_in(
                    club_id,
                    Incoming(
                        name=path.name,
                        content=_content(path.name, path.read_bytes),
                        day=day,
                        gymnast_id=None if gymnast is None else gymnast.id,
                        test=row.test or test,
                        near_side=row.near_side,
                        front=row.front,
                        person=row.person,
                    ),
                    today=today,
                )
                marks = contents.marks.get(path.name)
                if marks is not None and filed.photo.marks_version == 0:
                    with self._records.transaction() as tx:
                        tx.photos.save_marks(filed.photo.id, marks, base_version=0, author=author)
                        tx.jobs.add(club_id, MEASURE, photo_id=filed.photo.id)
            except RefusedInputError as error:
                reason = str(error).removeprefix(f"{path.name}: ")
                left_out.append(LeftOut(path.name, reason))
                progress.step(f"{path.name}: {reason}")
                continue
            photos.append(filed)
            progress.step(path.name)
        left_out += self._told(club_id, contents, day=day, author=author)
        return TakenIn(tuple(photos), tuple(left_out), tuple(videos))

    def _video(
        self,
        club_id: int,
        path: Path,
        row: ScreenRow,
        *,
        day: date,
        today: date,
        test: str | None,
        marked: bool,
    ) -> FiledVideo:
        """Take a video in; measured whole at once where gymnast and test are known."""
        assert self._videos is not None
        if marked:
            raise RefusedInputError("marks belong to one photo; a video is measured without them")
        gymnast = self._meant(club_id, row.gymnast)
        try:
            content = path.open("rb")
        except OSError as error:
            raise PictureError(path.name, f"cannot be read ({error.strerror})") from None
        with content:
            return self._videos(
                club_id,
                IncomingVideo(
                    name=path.name,
                    content=content,
                    day=day,
                    gymnast_id=None if gymnast is None else gymnast.id,
                    test=row.test or test,
                    near_side=row.near_side,
                    front=row.front,
                    person=row.person,
                    measure=True,
                ),
                today=today,
            )

    def _meant(self, club_id: int, said: str | None) -> GymnastRecord | None:
        """Return whom a line names, None where it names nobody; refuse a name that is not there."""
        if said is None:
            return None
        with self._records.reading() as tx:
            return _gymnast_called(tx, club_id, said)

    def _told(
        self, club_id: int, contents: FolderContents, *, day: date, author: str
    ) -> list[LeftOut]:
        """Keep holds and signs that are not kept yet; return the lines that mean nobody."""
        left_out = []
        touched = set()
        with self._records.transaction() as tx:
            for hold in contents.holds:
                try:
                    touched.add(self._keep_hold(tx, club_id, hold, day, author))
                except RefusedInputError as error:
                    left_out.append(LeftOut("holds.csv", str(error)))
            for flag in contents.flags:
                try:
                    touched.add(self._keep_flag(tx, club_id, flag, day, author))
                except RefusedInputError as error:
                    left_out.append(LeftOut("flags.csv", str(error)))
        for screen_id in sorted(touched):
            self._judge(screen_id)
        return left_out

    def _keep_hold(self, tx: Tx, club_id: int, hold: HoldRow, day: date, author: str) -> int:
        her = _gymnast_called(tx, club_id, hold.gymnast)
        if hold.test not in self._catalogue.tests:
            raise RefusedInputError(f"no test is called '{hold.test}'")
        screen = tx.screens.on(her.id, day)
        said = (hold.test, hold.seconds, hold.reached_cap)
        there = [
            (one.test, one.seconds, one.reached_cap) for one in tx.screens.view(screen.id).holds
        ]
        if said not in there:
            tx.screens.add_hold(
                screen.id,
                test=hold.test,
                seconds=hold.seconds,
                reached_cap=hold.reached_cap,
                author=author,
            )
        return screen.id

    def _keep_flag(self, tx: Tx, club_id: int, flag: FlagRow, day: date, author: str) -> int:
        her = _gymnast_called(tx, club_id, flag.gymnast)
        referral = self._catalogue.referrals.get(flag.flag)
        if referral is None:
            known = ", ".join(self._catalogue.referrals)
            raise RefusedInputError(f"no sign is called '{flag.flag}'; known are {known}")
        open_flags = [one.flag for one in tx.gymnasts.notes(her.id) if one.closed_on is None]
        if flag.flag not in open_flags:
            tx.gymnasts.add_note(
                her.id,
                noted_on=day,
                kind="flag",
                flag=flag.flag,
                text=referral.label,
                author=author,
            )
        return tx.screens.on(her.id, day).id


def _gymnast_called(tx: Tx, club_id: int, said: str) -> GymnastRecord:
    """Return the gymnast of a card number or a name, or raise `RefusedInputError`."""
    if said.isdigit() and len(said) <= 3:
        her = tx.gymnasts.with_card(club_id, int(said))
        if her is None:
            raise RefusedInputError(f"card {said} is nobody's in the roster")
        return her
    called: Sequence[GymnastRecord] = [
        one for one in tx.gymnasts.named(club_id, said) if one.archived_at is None
    ]
    if len(called) == 1:
        return called[0]
    if called:
        raise RefusedInputError(f"{len(called)} gymnasts are called '{said}'; say the card number")
    raise RefusedInputError(f"'{said}' is not in the roster")


def _content(name: str, read: Callable[[], bytes]) -> bytes:
    try:
        return read()
    except OSError as error:
        raise PictureError(name, f"cannot be read ({error.strerror})") from None
