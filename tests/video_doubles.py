"""Stand-ins for the ports of videos: a body whose joints follow known courses, no pictures."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np

from application_doubles import FakeCards, FakeReader
from chordline.application.club.video_records import VideoFacts
from chordline.application.measure_video import MeasureVideo
from chordline.application.ports import Photo
from chordline.application.video_ports import ChooseBody, Span, Told, VideoFrame, VideoInput
from chordline.catalogue.loader import load_catalogue
from chordline.catalogue.motion import load_motion
from chordline.conventions import LANDMARKS, SIDES
from chordline.core.body.found import FoundBody
from chordline.core.body.track import Track
from chordline.errors import PictureError
from moving_bodies import NAMES

CATALOGUE = load_catalogue()
MOTION = load_motion(CATALOGUE)
GREY = np.full((30, 48, 3), 127, np.uint8)
PIECE = 60


def landmarks_of(joints_px: np.ndarray) -> np.ndarray:
    """All landmarks, (n, 10, 2), from joints as `moving_bodies.place_joints` gives them."""
    named = {name: joints_px[:, i] for i, name in enumerate(NAMES)}
    shank = named["malleolus"] - named["knee"]
    named["heel"] = named["malleolus"] + 0.12 * shank
    named["toe"] = named["malleolus"] + 0.35 * shank
    return np.stack([named[name] for name in LANDMARKS], axis=1)


@dataclass
class MadeBody:
    """Her landmarks through a video of 1600 × 1000 pixels; NaN where she is lost."""

    t_s: np.ndarray
    line_px: np.ndarray
    near: str = "left"
    log_odds: float = 4.0
    sd_px: float = 1.0

    def track(self, part: slice) -> Track:
        rng = np.random.default_rng(part.start)
        line = self.line_px[part]
        line = line + rng.normal(0.0, self.sd_px, line.shape)
        n = len(line)
        sign = 1.0 if self.near == "left" else -1.0
        far = line + np.array([6.0, -4.0])
        sides = (line, far) if self.near == "left" else (far, line)
        odds = np.where(np.isfinite(line).all(axis=(1, 2)), 0.5 * sign * self.log_odds, np.nan)
        return Track(
            t_s=self.t_s[part],
            sides_xy_px=np.stack(sides, axis=1),
            front_log_odds=odds,
            labels_log_odds=odds,
            disagreement_pct=np.ones(n),
            region=np.ones((n, 4)),
        )

    def at(self, t_s: float) -> np.ndarray:
        return self.line_px[int(np.argmin(np.abs(self.t_s - t_s)))]


@dataclass
class MadeVideo:
    body: MadeBody
    name: str
    told: Told = field(default_factory=Told)
    sha256: str = "5" * 64
    width_px: int = 1600
    height_px: int = 1000
    working_width_px: int = 1600

    @property
    def expected_frames(self) -> int:
        return len(self.body.t_s)

    def frames(self, *, after_s: float | None = None) -> Iterator[VideoFrame]:
        for t in self.body.t_s:
            if after_s is None or t > after_s:
                yield VideoFrame(float(t), GREY)

    def photo_at(self, t_s: float) -> Photo:
        rgb = np.full((250, 400, 3), 127, np.uint8)
        # The moment stands in the picture: who looks at it later sees her as she was then.
        rgb[0, 0] = np.frombuffer(int(1000.0 * t_s).to_bytes(3, "big"), np.uint8)
        return Photo(self.name, rgb, self.width_px, self.height_px, self.sha256, None)


@dataclass
class MadeReader:
    body: MadeBody
    opened: list[MadeVideo] = field(default_factory=list)

    def is_video(self, path: Path) -> bool:
        return path.suffix == ".mp4"

    def check_head(self, name: str, head: bytes) -> None:
        if not head.startswith(b"video"):
            raise PictureError(name, "is not a video that can be read; save it as MP4")

    def describe(self, video: VideoInput) -> VideoFacts:
        opened = self.open(video, Span())
        whole = float(self.body.t_s[-1]) + 1.0 / 30.0
        width, height = opened.width_px, opened.height_px
        return VideoFacts(whole, width, height, opened.working_width_px, 30.0)

    def open(self, path: VideoInput, span: Span) -> MadeVideo:
        if "broken" in path.name:
            raise PictureError(path.name, "its index is missing; copy it from the phone again")
        self.opened.append(MadeVideo(self.body, path.name))
        return self.opened[-1]


@dataclass
class MadeTracker:
    """Yields the made body in pieces of two seconds; counts the frames that it was shown."""

    body: MadeBody
    model: str = "made tracker"
    frames_shown: int = 0
    went_on_after: Track | None = None
    candidates: tuple[FoundBody, ...] = ()

    def follow(
        self, frames: Iterable[VideoFrame], choose: ChooseBody, *, after: Track | None = None
    ) -> Iterator[Track]:
        self.went_on_after = after
        if self.candidates:
            choose(self.candidates)
        times = []
        for frame in frames:
            self.frames_shown += 1
            times.append(frame.t_s)
            if len(times) == PIECE:
                yield self._piece(times)
                times = []
        if times:
            yield self._piece(times)

    def _piece(self, times: list[float]) -> Track:
        first = int(np.argmin(np.abs(self.body.t_s - times[0])))
        return self.body.track(slice(first, first + len(times)))


@dataclass
class MadePoses:
    """Finds her where she is at the moment that a picture shows, and whoever else is named."""

    reader: MadeReader
    model: str = "made poses"
    others: tuple[FoundBody, ...] = ()
    blind: bool = False

    def find(self, rgb: np.ndarray) -> tuple[FoundBody, ...]:
        if self.blind:
            return self.others
        video = self.reader.opened[-1]
        shown_s = int.from_bytes(rgb[0, 0].tobytes(), "big") / 1000.0
        line = (video.body.at(shown_s) + 0.5) / 4.0 - 0.5
        return (*self.others, found(line, near=video.body.near))


def found(line_px: np.ndarray, *, near: str = "left") -> FoundBody:
    chain = line_px[[LANDMARKS.index(n) for n in ("malleolus", "knee", "hip", "shoulder", "ear")]]
    far = line_px + 1.5
    return FoundBody(
        xy_px=line_px,
        sd_px=np.full(len(LANDMARKS), 0.5),
        sides_xy_px=np.stack([line_px, far] if near == "left" else [far, line_px]),
        near_side=SIDES[0] if near == "left" else SIDES[1],
        near_confidence=0.97,
        mirror_disagreement_pct=1.0,
        length_px=float(np.linalg.norm(np.diff(chain, axis=0), axis=1).sum()),
    )


@dataclass
class DictVideoStore:
    kept: dict[str, list[Track]] = field(default_factory=dict)
    records: dict[str, dict[str, Any]] = field(default_factory=dict)

    def pieces(self, key: str) -> tuple[Track, ...]:
        return tuple(self.kept.get(key, []))

    def keep_piece(self, key: str, number: int, piece: Track) -> None:
        assert number == len(self.kept.setdefault(key, []))
        self.kept[key].append(piece)

    def record(self, key: str) -> dict[str, Any] | None:
        return self.records.get(key)

    def keep_record(self, key: str, record: dict[str, Any]) -> None:
        self.records[key] = record


@dataclass
class Desk:
    """Everything around one made body."""

    body: MadeBody
    cards: tuple[int, ...] = ()

    def __post_init__(self) -> None:
        self.reader = MadeReader(self.body)
        self.tracker = MadeTracker(self.body)
        self.poses = MadePoses(self.reader)
        self.store = DictVideoStore()

    def use_case(self, *, without_weights: bool = False) -> MeasureVideo:
        return MeasureVideo(
            videos=self.reader,
            photos=FakeReader(),
            cards=FakeCards(self.cards),
            tracker=lambda: None if without_weights else self.tracker,
            poses=None if without_weights else self.poses,
            catalogue=CATALOGUE,
            motion=MOTION,
        )
