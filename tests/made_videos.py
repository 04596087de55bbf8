"""Videos whose truth is known, made of the demo club's pictures: moved, cut and faded into others.

A picture is one rendered body in one shape; a video that goes from one picture to another changes
its shape at a time that is known.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from pathlib import Path

import av
import cv2
import numpy as np
from PIL import Image

import chordline.demo

CLUB = Path(chordline.demo.__file__).parent / "club"
Pixels = np.ndarray
TICKS = 90_000


def has_encoder(codec: str) -> bool:
    """Whether this machine's FFmpeg can write a codec."""
    try:
        av.Codec(codec, "w")
    except av.error.FFmpegError:
        return False
    return True


@cache
def club_picture(name: str, width: int = 960) -> Pixels:
    """A picture of the demo club, such as ``13_handstand``, 4:3."""
    rgb = np.asarray(Image.open(CLUB / f"{name}.jpg").convert("RGB"))
    size = (width, width * 3 // 4)
    return cv2.resize(rgb, size, interpolation=cv2.INTER_AREA)


@dataclass(frozen=True)
class Shown:
    """From a time on [s] a picture is shown; it comes up over `fade_s` around that time."""

    from_s: float
    picture: Pixels
    fade_s: float = 0.0


def film(
    shown: Sequence[Shown],
    times_s: Iterable[float],
    *,
    drift_px: Callable[[float], tuple[float, float]] = lambda t: (0.0, 0.0),
    noise: float = 2.0,
) -> Iterator[tuple[float, Pixels]]:
    """Yield time and frame: pictures after each other, as a phone in a hand sees them."""
    rng = np.random.default_rng(5)
    for t in times_s:
        frame = shown[0].picture
        for one in shown[1:]:
            share = _share(t, one)
            if share > 0.0:
                frame = cv2.addWeighted(frame, 1.0 - share, one.picture, share, 0.0)
        x, y = drift_px(t)
        if x or y:
            moved = np.float32([[1.0, 0.0, x], [0.0, 1.0, y]])
            size = frame.shape[1::-1]
            frame = cv2.warpAffine(frame, moved, size, borderMode=cv2.BORDER_REPLICATE)
        if noise:
            frame = cv2.add(frame, _part_of_grain(frame.shape, noise, rng), dtype=cv2.CV_8U)
        yield t, frame


#: By so much in each direction the grain of a frame is shifted at most [px].
_SHIFT = 256


@cache
def _grain(height: int, width: int, noise: float) -> Pixels:
    """Normal noise of a standard deviation, larger than a frame."""
    shape = (height + _SHIFT, width + _SHIFT, 3)
    return np.random.default_rng(7).normal(0.0, noise, shape).round().astype(np.int16)


def _part_of_grain(shape: tuple[int, ...], noise: float, rng: np.random.Generator) -> Pixels:
    """The grain of one frame: another part in each, since drawing it anew takes 30 ms."""
    top, left = rng.integers(0, _SHIFT, 2)
    part = _grain(shape[0], shape[1], noise)
    return np.ascontiguousarray(part[top : top + shape[0], left : left + shape[1]])


def _share(t: float, one: Shown) -> float:
    if one.fade_s == 0.0:
        return 1.0 if t >= one.from_s else 0.0
    return float(np.clip((t - one.from_s) / one.fade_s + 0.5, 0.0, 1.0))


def in_a_hand(t: float) -> tuple[float, float]:
    """A phone that is held, not stood: slow drift of some pixels."""
    return 4.0 * np.sin(1.3 * t), 3.0 * np.sin(0.9 * t + 1.0)


def even_times(seconds: float, rate_hz: float = 30.0) -> np.ndarray:
    return np.arange(round(seconds * rate_hz)) / rate_hz


def uneven_times(seconds: float, rate_hz: float = 30.0) -> np.ndarray:
    """A phone's variable frame rate: steps from two thirds to twice the usual one."""
    rng = np.random.default_rng(3)
    steps = rng.choice([2.0, 3.0, 3.0, 3.0, 4.0, 6.0], size=int(seconds * rate_hz)) / 3.0 / rate_hz
    times = np.concatenate([[0.0], np.cumsum(steps)])
    return times[times < seconds]


def write_video(
    path: Path,
    frames: Iterable[tuple[float, Pixels]],
    *,
    codec: str = "libx264",
    rate_hz: int = 30,
    rotation_deg: int = 0,
    matrix: Sequence[int] | None = None,
    aspect: Fraction | None = None,
    sound: bool = False,
    metadata: dict[str, str] | None = None,
) -> Path:
    """Write frames with their times; a player turns them by `rotation_deg` counter-clockwise."""
    options = {"libx264": {"preset": "ultrafast", "crf": "20"}, "libx265": {"preset": "ultrafast"}}
    quiet = {"x265-params": "log-level=none"} if codec == "libx265" else {}
    speed = {"deadline": "realtime", "cpu-used": "8"} if "vp" in codec else {}
    with av.open(str(path), "w") as container:
        container.metadata.update(metadata or {})
        stream = container.add_stream(
            codec, rate=rate_hz, options={**options.get(codec, {}), **quiet, **speed}
        )
        stream.pix_fmt = "yuv420p"
        stream.codec_context.time_base = Fraction(1, TICKS)
        if aspect is not None:
            stream.codec_context.sample_aspect_ratio = aspect
        if rotation_deg:
            stream.set_display_rotation(rotation_deg)
        if matrix is not None:
            stream.set_display_matrix(matrix)
        voice = container.add_stream("aac", rate=16_000) if sound else None
        for t, rgb in frames:
            if not stream.codec_context.is_open:
                stream.height, stream.width = rgb.shape[:2]
            frame = av.VideoFrame.from_ndarray(np.ascontiguousarray(rgb), format="rgb24")
            frame.pts, frame.time_base = round(t * TICKS), Fraction(1, TICKS)
            container.mux(stream.encode(frame))
        container.mux(stream.encode())
        if voice is not None:
            container.mux(voice.encode(_silence()))
            container.mux(voice.encode())
    return path


def write_sound(path: Path) -> Path:
    """A file that holds only sound."""
    with av.open(str(path), "w") as container:
        voice = container.add_stream("aac", rate=16_000)
        container.mux(voice.encode(_silence()))
        container.mux(voice.encode())
    return path


def _silence() -> av.AudioFrame:
    frame = av.AudioFrame.from_ndarray(
        np.zeros((1, 1024), np.float32), format="fltp", layout="mono"
    )
    frame.sample_rate = 16_000
    return frame


def two_colours(width: int = 160, height: int = 120) -> Pixels:
    """Upper left corner white, upper right red, the rest black: tells turns and mirrors apart."""
    rgb = np.zeros((height, width, 3), np.uint8)
    rgb[: height // 2, : width // 2] = 255
    rgb[: height // 2, width // 2 :] = (255, 0, 0)
    return rgb


def plain_frames(
    seconds: float = 1.0, rate_hz: float = 30.0, size: tuple[int, int] = (160, 120)
) -> Iterator[tuple[float, Pixels]]:
    """Frames that are told apart by their brightness, which rises by the second."""
    for number, t in enumerate(even_times(seconds, rate_hz)):
        yield float(t), np.full((size[1], size[0], 3), 40 + number % 200, np.uint8)
