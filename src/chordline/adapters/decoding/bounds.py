"""What a decoding process may use; it binds itself before it reads a byte from outside."""

import sys
from dataclasses import dataclass
from typing import Final

try:
    import resource
except ImportError:  # Windows: time is bounded from outside, nothing else
    resource = None  # type: ignore[assignment]


@dataclass(frozen=True)
class Bounds:
    """Bounds of one process.

    Attributes
    ----------
    wall_s : float [s]
        Longest wait for one answer; then the process is killed.
    cpu_s : float [s]
        Processor time for one picture, or for one video from opening to closing.
    address_space_bytes : int
        With the libraries, which take about half a gigabyte of it.
    """

    wall_s: float
    cpu_s: float
    address_space_bytes: int


#: Measured: the slowest picture that is allowed, a transparent PNG of 100 megapixels, takes 10 s of
#: one core of a busy machine and 1.5 GB of addresses. Twice that; then it was made to take long.
PHOTO_BOUNDS: Final = Bounds(wall_s=30.0, cpu_s=20.0, address_space_bytes=2_500_000_000)
#: Wall time without a frame or a new megabyte of the file. Processor time: the longest video that
#: is measured is five minutes long, and four times that is slower than anybody waits for.
VIDEO_BOUNDS: Final = Bounds(wall_s=20.0, cpu_s=1200.0, address_space_bytes=4_000_000_000)
#: A frame is decoded in some 3 ms; a busy machine may take a hundred times as long. Then it was
#: made to take long, and the other cameras wait for it (assumption).
LIVE_BOUNDS: Final = Bounds(wall_s=3.0, cpu_s=2.0, address_space_bytes=1_000_000_000)
#: Longest wait for a process to come up [s].
START_S: Final = 60.0


def bind(bounds: Bounds) -> None:
    """Bind this process for good: memory, and no file, socket or core dump from here on.

    What the decoders need must be imported and open before.
    """
    if resource is None:
        return
    _lower(resource.RLIMIT_CORE, 0)
    _lower(resource.RLIMIT_FSIZE, 0)
    # What is open stays open; nothing new can be opened, so there is no way to a network.
    _lower(resource.RLIMIT_NOFILE, 0)
    if sys.platform == "linux":  # elsewhere the bound is refused or not kept
        _lower(resource.RLIMIT_AS, bounds.address_space_bytes)


def allow_cpu(cpu_s: float) -> None:
    """Let the process end itself after so much processor time from now on [s]."""
    if resource is None:
        return
    used = resource.getrusage(resource.RUSAGE_SELF)
    soft = int(used.ru_utime + used.ru_stime + cpu_s) + 1
    _, hard = resource.getrlimit(resource.RLIMIT_CPU)
    resource.setrlimit(resource.RLIMIT_CPU, (soft, hard))


def offer_to_be_killed() -> None:
    """Ask the kernel to take this process first where memory runs out."""
    try:
        with open("/proc/self/oom_score_adj", "w", encoding="ascii") as file:
            file.write("1000")
    except OSError:
        return


def _lower(what: int, value: int) -> None:
    try:
        resource.setrlimit(what, (value, value))
    except (OSError, ValueError):
        return
