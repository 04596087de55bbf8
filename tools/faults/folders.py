"""Folders of photos whose lists (screen.csv, gymnasts.csv, holds.csv, flags.csv) are damaged."""

import tempfile
from pathlib import Path

from chordline.adapters.media.folder_reader import DiskFolderReader
from faults.attempt import attempt_all
from faults.mutate import damage_text, mutated
from faults.row import Budget, Row

CASES = 2_000
_LISTS = {
    "screen.csv": "photo,gymnast,test,near,front,person\n13.jpg,Ada,prone-sides,left,down,1\n",
    "gymnasts.csv": "name,card,birth_date,stature_cm,mass_kg\nAda,13,2014-01-02,140,35.5\n",
    "holds.csv": "gymnast;test;seconds;capped\nAda;hold-front;31,5;no\n",
    "flags.csv": "gymnast\tflag\nAda\tback-pain\n",
}


def run(budget: Budget) -> Row:
    """Try them; what is wrong with a list is told as a fault of it, not raised."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "13.jpg").write_bytes(b"x")
        reader = DiskFolderReader(default_sd_px=4.0)
        names = list(_LISTS)

        def read(content: bytes) -> None:
            for one in names:
                (folder / one).write_bytes(content if one == damaged[0] else b"")
            reader.read(folder)

        damaged = [""]

        def inputs() -> object:
            for at, (one, text) in enumerate(_LISTS.items()):
                damaged[0] = one
                each = budget.cases(CASES) // len(_LISTS) or 1
                yield from mutated([text.encode()], budget.seed + at, each, damage_text)
                yield b"a" * 300_000
                yield b'a,"' + b"x" * 300_000
                yield text.encode() + b"," * 3_000_000

        return attempt_all("folders", budget, inputs(), read)
