"""Stand-ins for the ports: a photo without a file, a finder that always finds the same people."""

from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from chordline.application.marks import HandMarks
from chordline.application.ports import DetectedCard, Photo
from chordline.conventions import LANDMARKS, Side
from chordline.core.body.found import FoundBody
from chordline.core.body.measurement import Mark, Measurement
from chordline.errors import PictureError

#: A girl on her stomach, head to the left, left side near; arms overhead, hips closed by some.
PRONE = {
    "malleolus": (1240.0, 634.0),
    "knee": (1060.0, 628.0),
    "hip": (898.0, 600.0),
    "shoulder": (680.0, 622.0),
    "elbow": (570.0, 624.0),
    "wrist": (475.0, 626.0),
    "hand": (430.0, 627.0),
    "ear": (622.0, 625.0),
    "heel": (1232.0, 610.0),
    "toe": (1305.0, 668.0),
}


def marks_of(places: dict[str, tuple[float, float]], sd_px: float = 3.0) -> HandMarks:
    return HandMarks(
        near_side=None,
        front=None,
        landmarks={name: Mark(x, y, sd_px, "hand") for name, (x, y) in places.items()},
    )


def body_of(
    places: dict[str, tuple[float, float]],
    *,
    near: Side = "left",
    confidence: float = 0.97,
    mirror_pct: float = 1.0,
    shift_px: float = 0.0,
    scale: float = 1.0,
) -> FoundBody:
    xy = np.array([places[name] for name in LANDMARKS]) * scale + [shift_px, 0.0]
    return FoundBody(
        xy_px=xy,
        sd_px=np.full(len(LANDMARKS), 3.0),
        sides_xy_px=np.stack([xy, xy]),
        near_side=near,
        near_confidence=confidence,
        mirror_disagreement_pct=mirror_pct,
        length_px=float(np.linalg.norm(xy[0] - xy[3])),
    )


@dataclass
class FakeReader:
    """Every path is a grey picture; names in `broken` are refused."""

    width_px: int = 1600
    height_px: int = 1200
    broken: tuple[str, ...] = ()
    shrink: int = 4
    reads: list[str] = field(default_factory=list)

    def read(self, path: Path) -> Photo:
        if path.name in self.broken:
            raise PictureError(path.name, "is no picture; take it again")
        self.reads.append(path.name)
        rgb = np.full(
            (self.height_px // self.shrink, self.width_px // self.shrink, 3), 127, dtype=np.uint8
        )
        return Photo(path.name, rgb, self.width_px, self.height_px, "0" * 64, 26.0)

    def read_content(self, name: str, content: bytes) -> Photo:
        if content.startswith(b"broken"):
            raise PictureError(name, "is no picture; take it again")
        return self.read(Path(name))

    def content_of(self, path: Path) -> bytes:
        if path.name in self.broken:
            raise PictureError(path.name, "is no picture; take it again")
        return path.name.encode()

    def clean_jpeg(self, photo: Photo, *, max_px: int) -> bytes:
        return b"jpeg"

    def sha256_of(self, path: Path) -> str:
        if path.name in self.broken:
            raise PictureError(path.name, "is no picture; take it again")
        return path.name


def grey_picture() -> Photo:
    return FakeReader().read(Path("grey.jpg"))


@dataclass
class FakeCards:
    """The same cards in every picture, in full-photo pixels (a quarter of them in the picture)."""

    numbers: tuple[int, ...] = ()

    def read(self, rgb: np.ndarray) -> tuple[DetectedCard, ...]:
        square = np.array([[0.0, 0.0], [84.0, 0.0], [84.0, 84.0], [0.0, 84.0]])
        at = [square + np.array([260.0 + 100.0 * i, 560.0]) for i in range(len(self.numbers))]
        return tuple(
            DetectedCard(number, (corners + 0.5) / 4.0 - 0.5)
            for number, corners in zip(self.numbers, at, strict=True)
        )


@dataclass
class FakePoses:
    """Finds the same people in every picture, given in full-photo pixels."""

    bodies: tuple[FoundBody, ...]
    model: str = "fake"
    shrink: float = 4.0

    def find(self, rgb: np.ndarray) -> tuple[FoundBody, ...]:
        def smaller(body: FoundBody) -> FoundBody:
            return FoundBody(
                xy_px=(body.xy_px + 0.5) / self.shrink - 0.5,
                sd_px=body.sd_px / self.shrink,
                sides_xy_px=(body.sides_xy_px + 0.5) / self.shrink - 0.5,
                near_side=body.near_side,
                near_confidence=body.near_confidence,
                mirror_disagreement_pct=body.mirror_disagreement_pct,
                length_px=body.length_px / self.shrink,
                mask=body.mask,
            )

        return tuple(smaller(body) for body in self.bodies)


@dataclass
class DictCache:
    """Remembers in memory."""

    known: dict[str, Measurement] = field(default_factory=dict)

    def get(self, key: str) -> Measurement | None:
        return self.known.get(key)

    def put(self, key: str, measurement: Measurement) -> None:
        self.known[key] = measurement
