"""Writes docs/faults.md: what was tried, what came out, and what each part does not show."""

import json
import os
import platform
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import date
from pathlib import Path

from faults.row import Row

#: Part → what it shows, and what it does not.
SAYS: Mapping[str, tuple[str, str]] = {
    "pictures": ("damaged JPEG, PNG, WebP, HEIC are read or refused", "a flaw that nobody hits"),
    "live_pictures": ("damaged frames of a live camera", "other browsers' cameras"),
    "videos": ("damaged MP4, MOV, WebM, MKV, AVI, MPEG-TS", "codecs that this build lacks"),
    "tables": ("damaged CSV and XLSX", "what a spreadsheet shows of them"),
    "marks": ("damaged marks files", "–"),
    "folders": ("damaged screen.csv, holds.csv, flags.csv", "–"),
    "catalogues": ("a club's own catalogue files, damaged", "a catalogue that is wrong but valid"),
    "guided": ("inputs that follow the branches of the Python readers", "the libraries in C"),
    "names": ("names of files that want to leave their folder", "–"),
    "interface": ("every operation of the JSON interface, and damaged bodies", "the HTML pages"),
    "disk": ("a disk that is full or read-only: a sentence, nothing lost", "a disk that lies"),
    "access": ("every route by nobody, guest, coach, lead", "what somebody does with her right"),
    "erase": (
        "her pictures open with no key in database, WAL, vault or backup",
        "copies of the ring that chordline cannot reach; what the disk's own blocks remember",
    ),
    "kills": (
        "SIGKILL at any moment: what was acknowledged is there and whole, nothing in part, no "
        "plain picture, no repair",
        "power cuts: the operating system lives on here and keeps what `fsync` was to keep",
    ),
    "load": (
        "ten devices send 48 photos each while twenty people read: no error, all filed, times",
        "slow networks, https, other people's machines; the clients share the server's cores",
    ),
    "day": (
        "two hundred visits one after another: memory, files, threads, processes",
        "what only real waiting brings: logins that run out, the daily work of the night",
    ),
}

_HEAD = """# Faults: what was tried, and what came out

Written by `make faults FAULTS='--write docs/faults.md'`. What the parts are for stands in
[security](security.md); the readers of files in [hostile files](hostile-files.md). A part that
breaks a promise makes the command fail; the same parts in a short form run in `make test`
(`tests/faults/`).

"""

_HOW = """
## How

- **kills.** A server gets photos, videos, marks, a list of gymnasts, and erases somebody, by five
  clients at once; after a random number of acknowledged things (0 to 8) and up to 0.2 s more it
  is killed, in every fourth run with a process that decodes killed before. It is started again on
  the same folder, which has to need nothing; pages, pictures, videos, marks and lists are asked
  for. Commands (`roster import`, `take-in`, `backup`, `vault seal`, `erase`, `consent apply`) are
  killed at a moment that is even over the time they take, and so are an upgrade of old records
  and a writer of transactions; then the same command goes on. After each kill: `PRAGMA
  integrity_check` and `foreign_key_check`, every new picture opened and its SHA-256 compared, and
  no file outside the records holds a sign that stands in every picture sent. Most processes are
  forked from one that has read the program already, since a start of the interpreter takes
  seconds; every tenth server starts as people start it.
- **load.** Who reads looks at a page for 0.5 to 1.5 s (assumption); a device sends the next photo
  when the last one is filed. Measuring runs. Wanted: no error, all filed, and 95 of 100 pages
  within 400 ms on two cores that have nothing else to do.
- **day.** A visit: log in, 21 pages, a sheet, export or plan on paper, a photo, five live frames,
  marks, the photo out again, log out. The slope of the memory over the second half, with a 95 %
  interval from the means of ten groups (neighbouring visits are alike, and an interval that took
  each as news would be too narrow; it is tested on such noise). Broken where even its lower end
  is above 15 MB a day: a server left open for a week may grow by 100 MB (assumption: what any
  machine can spare).
- **erase.** Every byte of every file is tried as a wrapped key, before (where it finds hers) and
  after; the backup of before is opened, searched, and restored with its ring of now.

Ratios and times depend on the machine and on what else it does; the load is told for that reason.
"""


@dataclass(frozen=True)
class Run:
    """A part's row, when and where it came out.

    Attributes
    ----------
    row : Row
    on : str
    took_s : float [s]
    load : float
        Processes that wanted a core, on average, when the part ended.
    share : float
    machine : str
        In words.
    """

    row: Row
    on: str
    took_s: float
    load: float
    share: float
    machine: str


def note(place: Path, row: Row, *, took_s: float, share: float) -> None:
    """Keep a row until the page is written; the one before it is forgotten."""
    kept = _kept(place)
    kept[row.part] = {
        "row": asdict(row),
        "on": date.today().isoformat(),
        "took_s": took_s,
        "load": _load(),
        "share": share,
        "machine": machine_in_words(),
    }
    place.parent.mkdir(parents=True, exist_ok=True)
    place.write_text(json.dumps(kept, indent=1), encoding="utf-8")


def _kept(place: Path) -> dict[str, dict[str, object]]:
    return json.loads(place.read_text(encoding="utf-8")) if place.exists() else {}


def read_runs(place: Path, parts: Sequence[str]) -> list[Run]:
    """Return the latest run of each part that was run."""
    kept = _kept(place)
    return [
        Run(**{**kept[part], "row": Row(**kept[part]["row"])})  # type: ignore[arg-type,dict-item]
        for part in parts
        if part in kept
    ]


def write_page(runs: Sequence[Run]) -> str:
    """Return the page."""
    lines = [
        "| part | on | cases | broke | worst time | peak memory | took | load | verdict |",
        "|---|---|---|---|---|---|---|---|---|",
    ]
    for run in runs:
        row = run.row
        part = row.part if run.share >= 1.0 else f"{row.part} (share {run.share:g})"
        cells = (
            part, run.on, f"{row.cases:,}", f"{row.found}", f"{row.worst_s:.2f} s",
            f"{row.peak_mb:.0f} MB", f"{run.took_s:.0f} s", f"{run.load:.1f}", row.verdict,
        )  # fmt: skip
        lines.append(f"| {' | '.join(cells)} |")
    machines = " / ".join(sorted({run.machine for run in runs}))
    told = [
        f"{machines}. *Load*: processes that wanted a core, on average, at the end of the part.\n\n"
    ]
    told += ["\n".join(lines), "\n\n## What came with it\n\n"]
    told += [
        f"- **{run.row.part}**: {_of_no_machine(one)}\n" for run in runs for one in run.row.notes
    ]
    told += ["\n## What a part shows, and what it does not\n\n| part | shows | does not show |\n"]
    told += ["|---|---|---|\n"]
    told += [f"| {part} | {shows} | {lacks} |\n" for part, (shows, lacks) in SAYS.items()]
    return _HEAD + "".join(told) + _HOW


def _of_no_machine(text: str) -> str:
    """Leave out where findings lie."""
    return text.split(" (/", maxsplit=1)[0] if text.endswith(".bin)") else text


def machine_in_words() -> str:
    """Return what a machine is: cores, memory, system; nothing that names it."""
    memory_gb = os.sysconf("SC_PAGE_SIZE") * os.sysconf("SC_PHYS_PAGES") / 1e9
    return (
        f"{os.cpu_count()} cores, {memory_gb:.0f} GB, {platform.system()}, "
        f"Python {'.'.join(platform.python_version_tuple()[:2])}"
    )


def _load() -> float:
    return os.getloadavg()[0]
