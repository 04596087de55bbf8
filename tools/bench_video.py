"""Prints what a video costs: decoding alone, with the bare network, and all the way to measures.

    python tools/bench_video.py [--quick] [--long]

Made 1080p videos at 30 frames a second. `--long` adds ten minutes, to see that memory stays flat.
Figures of a busy machine say little; the load stands above the table. The CPU time of a frame over
the cores is what idle cores would take.
"""

import argparse
import os
import resource
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests"))

from chordline.adapters.media.video_reader import AvVideoReader
from chordline.adapters.media.video_store import NoVideoStore
from chordline.adapters.pose.networks import LANDMARK_SIZE, TfliteLandmarker
from chordline.adapters.pose.weights import choose_weights
from chordline.application.headway import Silent
from chordline.application.measure_photo import MeasureRequest
from chordline.application.measure_video import VideoRequest
from chordline.application.video_ports import Span
from chordline.bootstrap import App, build_app, usable_cores
from made_videos import club_picture, even_times, write_video

Row = tuple[str, str, str, str]
SIZE = (1920, 1080)


def main() -> None:
    """Run all benchmarks and print one table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--quick", action="store_true", help="a shorter video")
    parser.add_argument("--long", action="store_true", help="ten minutes, for memory")
    chosen = parser.parse_args()
    print(f"{usable_cores()} cores, load {os.getloadavg()[0]:.1f}")
    with tempfile.TemporaryDirectory() as folder:
        path = make_video(Path(folder) / "a.mp4", 4.0 if chosen.quick else 20.0)
        rows = [("what", "frames a second", "CPU ms a frame", "wanted"), *speed_rows(path)]
        if chosen.long:
            rows += memory_rows(make_long(path, Path(folder) / "long.mp4"))
    widths = [max(len(row[i]) for row in rows) for i in range(4)]
    for row in rows:
        print("  ".join(cell.ljust(w) for cell, w in zip(row, widths, strict=True)).rstrip())


def make_video(path: Path, seconds: float) -> Path:
    """Write a handstand in a hand that is not quite still, with a picture's noise."""
    full = np.full((SIZE[1], SIZE[0], 3), 170, np.uint8)
    full[:, 240:1680] = cv2.resize(club_picture("13_handstand", 1440), (1440, 1080))
    noise = np.random.default_rng(1).integers(-5, 6, (8, *full.shape), dtype=np.int8)

    def frames() -> Iterator[tuple[float, NDArray[np.uint8]]]:
        for number, t in enumerate(even_times(seconds)):
            move = np.array([[1.0, 0.0, 20.0 * np.sin(t)], [0.0, 1.0, 0.0]])
            moved = cv2.warpAffine(full, move, SIZE, borderMode=cv2.BORDER_REPLICATE)
            grainy = moved.astype(np.int16) + noise[number % len(noise)]
            yield float(t), np.clip(grainy, 0, 255).astype(np.uint8)

    return write_video(path, frames())


def make_long(short: Path, path: Path) -> Path:
    """Repeat a video's packets until it lasts ten minutes; nothing is encoded again."""
    import av  # noqa: PLC0415

    with av.open(str(short)) as source, av.open(str(path), "w") as target:
        stream = source.streams.video[0]
        copy = target.add_stream_from_template(stream)
        packets = [one for one in source.demux(stream) if one.dts is not None]
        length = stream.duration
        assert length is not None
        content = [
            (bytes(one), one.pts, one.dts, one.is_keyframe, one.time_base) for one in packets
        ]
        at = 0
        while at * float(stream.time_base or 0) < 600.0:
            for raw, pts, dts, key, base in content:
                packet = av.Packet(raw)
                packet.stream, packet.time_base = copy, base
                packet.pts, packet.dts, packet.is_keyframe = pts + at, dts + at, key
                target.mux(packet)
            at += length
    return path


def speed_rows(path: Path) -> list[Row]:
    """Time a warm run of each."""
    app = build_app()
    reader = AvVideoReader(longest_s=1e6, threads=usable_cores())
    network = TfliteLandmarker(choose_weights().scout, threads=usable_cores())
    cut = np.full((LANDMARK_SIZE, LANDMARK_SIZE, 3), 120, np.uint8)
    network.locate(cut)
    count = sum(1 for _ in reader.open(path, Span()).frames())

    def decode() -> None:
        for _ in reader.open(path, Span()).frames():
            pass

    def decode_and_look() -> None:
        for _ in reader.open(path, Span()).frames():
            network.locate(cut)

    assert app.tracker is not None
    works: list[tuple[str, Callable[[], object], str]] = [
        ("decoding to 960 px", decode, ""),
        ("decoding + one bare network pass a frame", decode_and_look, ""),
        ("decoding + following her", lambda: follow(app, reader, path), ""),
        ("video → key frame, hold and traces", lambda: measure(app, path), "≥ 30"),
    ]
    rows = []
    for what, work, wanted in works:
        start, start_cpu = time.perf_counter(), time.process_time()
        work()
        seconds, cpu = time.perf_counter() - start, time.process_time() - start_cpu
        rows.append((what, f"{count / seconds:.0f}", f"{1e3 * cpu / count:.1f}", wanted))
    return rows


def follow(app: App, reader: AvVideoReader, path: Path) -> None:
    """Follow the body without measuring it."""
    assert app.tracker is not None
    frames = reader.open(path, Span()).frames()
    for _ in app.tracker.follow(frames, lambda bodies: bodies[0]):
        pass


def measure(app: App, path: Path, span: Span | None = None) -> None:
    """Measure a video whole."""
    request = VideoRequest(MeasureRequest("handstand"), span or Span())
    app.measure_video()(path, request, store=NoVideoStore(), progress=Silent())


def memory_rows(path: Path) -> list[Row]:
    """Follow ten minutes and tell how much memory each further minute takes."""
    app = build_app()
    assert app.tracker is not None
    video = AvVideoReader(longest_s=1e6, threads=usable_cores()).open(path, Span())
    held = []
    for piece in app.tracker.follow(video.frames(), lambda bodies: bodies[0]):
        held.append((float(piece.t_s[-1]), resident_mb()))
    early = next(mb for t, mb in held if t > 60.0)
    last_s, late = held[-1]
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0
    told = f"{early:.0f} MB after 1 min, {late:.0f} MB after {last_s / 60.0:.0f}"
    return [("memory while following", told, f"peak {peak:.0f} MB", "flat")]


def resident_mb() -> float:
    """Return the memory of this process now [MB]."""
    pages = int(Path("/proc/self/statm").read_text(encoding="ascii").split()[1])
    return pages * os.sysconf("SC_PAGE_SIZE") / 2**20


if __name__ == "__main__":
    main()
