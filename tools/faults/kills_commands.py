"""Commands and writers killed at any moment of their work, and the same command again."""

import random
import shutil
from pathlib import Path

from faults.attempt import keep
from faults.kills_pictures import backups, sealings, take_ins
from faults.kills_records import consents, erasings, migrations, roster_imports, transactions
from faults.kills_scene import Kind, Scene
from faults.quick_start import QuickStart
from faults.row import Budget, Row

#: What is killed → how often in the whole of `make faults`.
KINDS: dict[str, tuple[Kind, int]] = {
    "roster imports": (roster_imports, 25),
    "take-ins": (take_ins, 30),
    "backups": (backups, 25),
    "sealings": (sealings, 30),
    "upgrades": (migrations, 30),
    "transactions": (transactions, 50),
    "erasings": (erasings, 20),
    "consents": (consents, 10),
}


def kill_commands(row: Row, budget: Budget, folder: Path, quick: QuickStart) -> None:
    """Kill each kind of command; add to the row what was lost."""
    told = []
    for name, (kind, whole) in KINDS.items():
        place = folder / name.replace(" ", "-")
        place.mkdir()
        scene = Scene(quick, place, place / "club", random.Random(budget.seed))
        count = budget.cases(whole)
        for found in kind(scene, count):
            row.cases += 1
            for one in found:
                keep(row, budget, f"{name} {row.cases} {one}".encode(), f"{name}: {one}")
        told.append(f"{scene.struck} of {count} {name}")
        shutil.rmtree(place)
    row.notes.append(f"killed before their end: {', '.join(told)}")
