"""From a folder of photos to every gymnast's measurements; nothing is dropped."""

import hashlib
import json
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import Protocol

from chordline.application.folder import (
    FolderContents,
    Gymnast,
    Named,
    Owner,
    ScreenRow,
    find_owner,
    owner_named,
    read_file_name,
)
from chordline.application.headway import Progress, Silent
from chordline.application.marks import HandMarks
from chordline.application.measure_many import MeasureMany, Outcome, PhotoTask
from chordline.application.measure_photo import MeasurePhoto, MeasureRequest
from chordline.application.measure_video import MeasureVideo, VideoRequest
from chordline.application.ports import FileHasher, Photo
from chordline.application.video_measurement import VideoMeasurement
from chordline.application.video_ports import VideoStore
from chordline.catalogue.schema import Catalogue
from chordline.core.body.measurement import Measurement
from chordline.core.capacity.observed import Held
from chordline.errors import RefusedInputError, WrongUseError


@dataclass(frozen=True)
class Filed:
    """A measured photo or video, and how its picture is read when it is to be shown."""

    measurement: Measurement
    read: Callable[[], Photo]
    video: VideoMeasurement | None = None


@dataclass(frozen=True)
class LeftOut:
    """A photo or line that could not be used, with the reason. Nothing goes missing silently."""

    file: str
    reason: str
    owner: str | None = None


@dataclass(frozen=True)
class GymnastScreen:
    """One gymnast's photos of the folder, in the order of the battery, her holds and signs."""

    gymnast: Gymnast
    filed: tuple[Filed, ...]
    held: tuple[Held, ...] = ()
    flags: tuple[str, ...] = ()


@dataclass(frozen=True)
class FolderScreen:
    """What came of a folder."""

    gymnasts: tuple[GymnastScreen, ...]
    left_out: tuple[LeftOut, ...]

    @property
    def measurements(self) -> tuple[Measurement, ...]:
        """Every measurement, gymnast by gymnast."""
        return tuple(filed.measurement for one in self.gymnasts for filed in one.filed)


class MeasurementCache(Protocol):
    """Remembers measurements of a folder, so that a stopped screening goes on where it was."""

    def get(self, key: str) -> Measurement | None:
        """Return what was measured under a key."""
        ...

    def put(self, key: str, measurement: Measurement) -> None:
        """Keep a measurement; once this returns, a kill does not lose it."""
        ...


#: Given how many photos are to be measured: what measures many, or None where one after the other
#: is quicker.
ChooseMany = Callable[[int], MeasureMany | None]
#: What became of photos that were measured ahead, by their path.
Ahead = Mapping[Path, Outcome]


class ScreenFolder:
    """Use case: file and measure a folder of photos, and of videos where `videos` is given."""

    def __init__(
        self,
        measure: MeasurePhoto,
        catalogue: Catalogue,
        hasher: FileHasher,
        videos: MeasureVideo | None = None,
        many: ChooseMany | None = None,
    ) -> None:
        self._measure = measure
        self._catalogue = catalogue
        self._hasher = hasher
        self._videos = videos
        self._many = many

    def __call__(
        self,
        contents: FolderContents,
        *,
        cache: MeasurementCache,
        progress: Progress,
        video_store: VideoStore | None = None,
    ) -> FolderScreen:
        """Measure every photo that can be measured and list the others with the reason."""
        left_out = [LeftOut(file, reason) for file, reason in contents.faults]
        filed: dict[Owner, list[Filed]] = {}
        progress.start(len(contents.photos))
        ahead = self._measure_ahead(contents, cache, progress)
        for path in contents.photos:
            outcome = self._one(path, contents, cache, video_store, ahead)
            if isinstance(outcome, LeftOut):
                left_out.append(outcome)
                told = f"{path.name}: {outcome.reason}"
            else:
                owner, one = outcome
                filed.setdefault(owner, []).append(one)
                told = path.name
            if path not in ahead:
                progress.step(told)
        names = {path.name for path in contents.photos}
        left_out += [
            LeftOut(row, "screen.csv names this photo, but it is not in the folder")
            for row in contents.rows
            if row not in names
        ]
        held, flags = self._told(contents, left_out)
        for owner, several in filed.items():
            held.setdefault(owner, []).extend(self._held_in_videos(several))
        return FolderScreen(self._by_gymnast(filed, held, flags, contents.roster), tuple(left_out))

    def _measure_ahead(
        self, contents: FolderContents, cache: MeasurementCache, progress: Progress
    ) -> Ahead:
        """Measure on workers what is not remembered, where that pays; whose it is comes after."""
        if self._many is None:
            return {}
        todo = dict(self._unknown(contents, cache))
        many = self._many(len(todo)) if todo else None
        if many is None:
            return {}
        paths = list(todo)

        def keep(index: int, outcome: Outcome) -> None:
            path = paths[index]
            if outcome.measurement is not None:
                cache.put(todo[path][1], outcome.measurement)
            progress.step(f"{path.name}: {outcome.refusal}" if outcome.refusal else path.name)

        outcomes = many([partial(self._task, path, todo[path][0]) for path in paths], keep=keep)
        return dict(zip(paths, outcomes, strict=True))

    def _unknown(
        self, contents: FolderContents, cache: MeasurementCache
    ) -> Iterator[tuple[Path, tuple[MeasureRequest, str]]]:
        """Yield each photo that has to be measured, with its request and its key."""
        for path in contents.photos:
            if self._videos is not None and self._videos.is_video(path):
                continue
            request = self._asked(path, contents)
            try:
                if request is not None and request.test in self._catalogue.tests:
                    key = self._key(path, request)
                    if cache.get(key) is None:
                        yield path, (request, key)
            except RefusedInputError:
                continue  # it cannot be read, and is refused when its turn comes

    def _task(self, path: Path, request: MeasureRequest) -> PhotoTask:
        return PhotoTask(path.name, self._measure.content_of(path), request)

    def _asked(self, path: Path, contents: FolderContents) -> MeasureRequest | None:
        """Return what is to be measured in a photo; None where its test is not known."""
        row = contents.rows.get(path.name)
        named = read_file_name(path.name, list(self._catalogue.tests))
        test = row.test if row is not None and row.test is not None else named.test
        if test is None:
            return None
        return _request(test, row, named, contents.marks.get(path.name))

    def _told(
        self, contents: FolderContents, left_out: list[LeftOut]
    ) -> tuple[dict[Owner, list[Held]], dict[Owner, list[str]]]:
        """Return holds and signs by gymnast; lines that mean nobody go to `left_out`."""
        held: dict[Owner, list[Held]] = {}
        flags: dict[Owner, list[str]] = {}
        rel_sd = self._catalogue.setting("hold_rel_sd")
        for hold in contents.holds:
            owner = owner_named(hold.gymnast, contents.roster, source="holds.csv")
            if isinstance(owner, str):
                left_out.append(LeftOut("holds.csv", owner))
            elif hold.test not in self._catalogue.tests:
                left_out.append(LeftOut("holds.csv", f"no test is called '{hold.test}'"))
            else:
                held.setdefault(owner, []).append(
                    Held("holds.csv", hold.test, hold.seconds, rel_sd, hold.reached_cap)
                )
        for flag in contents.flags:
            owner = owner_named(flag.gymnast, contents.roster, source="flags.csv")
            if isinstance(owner, str):
                left_out.append(LeftOut("flags.csv", owner))
            elif flag.flag not in self._catalogue.referrals:
                known = ", ".join(self._catalogue.referrals)
                left_out.append(
                    LeftOut("flags.csv", f"no sign is called '{flag.flag}'; known are {known}")
                )
            else:
                flags.setdefault(owner, []).append(flag.flag)
        return held, flags

    def _held_in_videos(self, filed: list[Filed]) -> list[Held]:
        if self._videos is None:
            return []
        rel_sd = self._videos.timing_rel_sd
        found = (one.video.held(timing_rel_sd=rel_sd) for one in filed if one.video is not None)
        return [one for one in found if one is not None]

    def _one(
        self,
        path: Path,
        contents: FolderContents,
        cache: MeasurementCache,
        video_store: VideoStore | None,
        ahead: Ahead,
    ) -> tuple[Owner, Filed] | LeftOut:
        row = contents.rows.get(path.name)
        named = read_file_name(path.name, list(self._catalogue.tests))
        likely = find_owner(row=row, named=named, cards_seen=(), roster=contents.roster)
        owner_name = likely.name if isinstance(likely, Owner) else None
        request = self._asked(path, contents)
        if request is None:
            return LeftOut(
                path.name,
                "which test it is cannot be told; put the test's id into its name "
                "(13_prone-overhead.jpg) or into screen.csv",
                owner_name,
            )
        try:
            one = self._measured(path, request, cache, video_store, ahead.get(path))
        except (RefusedInputError, WrongUseError) as error:
            return LeftOut(path.name, str(error).removeprefix(f"{path.name}: "), owner_name)
        card = one.measurement.card
        seen = () if card is None else (card.id,)
        owner = find_owner(row=row, named=named, cards_seen=seen, roster=contents.roster)
        if isinstance(owner, str):
            return LeftOut(path.name, owner)
        return owner, one

    def _measured(
        self,
        path: Path,
        request: MeasureRequest,
        cache: MeasurementCache,
        video_store: VideoStore | None,
        ahead: Outcome | None,
    ) -> Filed:
        if ahead is not None:
            if ahead.measurement is None:
                raise RefusedInputError(ahead.refusal)
            return Filed(ahead.measurement, partial(self._measure.read, path))
        if self._videos is None or video_store is None or not self._videos.is_video(path):
            photo = self._remembered(path, request, cache)
            return Filed(photo, partial(self._measure.read, path))
        video = self._videos(path, VideoRequest(request), store=video_store, progress=Silent())
        read = partial(self._videos.read_picture, path, video.clip.key_s)
        return Filed(video.measurement, read, video)

    def _remembered(
        self, path: Path, request: MeasureRequest, cache: MeasurementCache
    ) -> Measurement:
        self._measure.test_named(request.test)
        key = self._key(path, request)
        measurement = cache.get(key)
        if measurement is None:
            measurement = self._measure(path, request)
            cache.put(key, measurement)
        return replace(measurement, photo=path.name)

    def _key(self, path: Path, request: MeasureRequest) -> str:
        said = {
            "sha256": self._hasher.sha256_of(path),
            "test": request.test,
            "near": request.near_side,
            "front": request.front,
            "person": request.person,
            "card": request.expected_card,
            "marks": repr(request.marks),
            "model": self._measure.model,
            "catalogue": self._catalogue.version,
        }
        return hashlib.sha256(json.dumps(said, sort_keys=True).encode()).hexdigest()

    def _by_gymnast(
        self,
        filed: Mapping[Owner, list[Filed]],
        held: Mapping[Owner, list[Held]],
        flags: Mapping[Owner, list[str]],
        roster: tuple[Gymnast, ...],
    ) -> tuple[GymnastScreen, ...]:
        order = list(self._catalogue.tests)
        by_name = {gymnast.name: gymnast for gymnast in roster}
        screens = []
        for owner in dict.fromkeys((*filed, *held, *flags)):
            photos = filed.get(owner, [])
            gymnast = by_name.get(owner.name, Gymnast(owner.name, owner.card))
            photos.sort(key=lambda one: (order.index(one.measurement.test), one.measurement.photo))
            screens.append(
                GymnastScreen(
                    gymnast, tuple(photos), tuple(held.get(owner, ())), tuple(flags.get(owner, ()))
                )
            )
        screens.sort(key=lambda one: (one.gymnast.card is None, one.gymnast.card, one.gymnast.name))
        return tuple(screens)


def _request(
    test: str, row: ScreenRow | None, named: Named, marks: HandMarks | None
) -> MeasureRequest:
    return MeasureRequest(
        test=test,
        marks=marks,
        near_side=row.near_side if row else None,
        front=row.front if row else None,
        person=row.person if row else None,
        expected_card=named.number,
    )
