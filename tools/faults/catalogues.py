"""A club's own catalogue files, damaged."""

import random
import re
import tempfile
from collections.abc import Iterator
from pathlib import Path

from chordline.catalogue.growth import load_growth
from chordline.catalogue.live import load_live
from chordline.catalogue.loader import load_catalogue
from chordline.catalogue.motion import load_motion
from chordline.catalogue.training import load_training
from faults import samples
from faults.attempt import attempt_all
from faults.mutate import damage_text, mutated
from faults.row import Budget, Row

CASES = 1_200


def run(budget: Budget) -> Row:
    """Try them: each loader with one file of a club's that is damaged."""
    files = samples.catalogue_files()
    ours = load_catalogue()
    with tempfile.TemporaryDirectory() as name:
        club = Path(name)
        now = [""]

        def read(content: bytes) -> None:
            (club / now[0]).write_bytes(content)
            try:
                load_catalogue(club)
                load_growth(club)
                load_motion(ours, club)
                load_live(ours, club)
                load_training(ours, club)
            finally:
                (club / now[0]).unlink()

        def inputs() -> Iterator[bytes]:
            rng = random.Random(budget.seed)
            for made in (b"a=" + b"[" * 100_000, b"a=" + b"1" * 10_000, b"\xff", b"a.b.c=1\na=2"):
                now[0] = "settings.toml"
                yield made
            for name in sorted(files):
                now[0] = name
                for table in top_tables(files[name])[: max(1, budget.cases(50))]:
                    yield table + b" = " + rng.choice(_VALUES)
            for number in range(budget.cases(CASES)):
                now[0] = rng.choice(sorted(files))
                small = _some_of(files[now[0]], rng)
                yield from mutated([small], budget.seed + number, 1, damage_text, damage_value)

        return attempt_all("catalogues", budget, inputs(), read)


def _some_of(content: bytes, rng: random.Random) -> bytes:
    """Return one to three tables of a file: a club's own files are short."""
    parts = content.split(b"\n\n")
    return b"\n\n".join(rng.sample(parts, min(len(parts), rng.randrange(1, 4))))


_VALUES = (
    b"1", b"-1", b"1e400", b"nan", b"inf", b'""', b"[]", b"{}", b"true", b"1979-05-27", b"[[]]",
    b'"\\u0000"', b"{a = 1}", b"[1]", b"9" * 400, b"07:32:00", b'["a", "a"]',
    b"0x7fffffffffffffffff",
)  # fmt: skip


def top_tables(content: bytes) -> list[bytes]:
    """Return the names of the tables and of those in them, each to be put in a table's place."""
    found = re.findall(rb"^\[+([^\]]+)\]", content, re.MULTILINE)
    return sorted({name.rsplit(b".", cut)[0] for name in found for cut in (0, 1, 2)})


def damage_value(content: bytes, rng: random.Random) -> bytes:
    """Put another value behind an equals sign."""
    lines = content.split(b"\n")
    at = rng.choice([n for n, line in enumerate(lines) if b"=" in line])
    lines[at] = lines[at].partition(b"=")[0] + b"= " + rng.choice(_VALUES)
    return b"\n".join(lines)
