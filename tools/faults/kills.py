"""Three hundred kills: servers, commands, writers, at any moment of their work.

SIGKILL stands for a crash and for the system that runs out of memory. A power cut may lose more:
what the operating system had not brought to the disk; that is what `fsync` stands against, and it
is not tried here.
"""

import sys
import tempfile
from pathlib import Path

from faults.attempt import peak_mb
from faults.row import Budget, Row
from faults.samples import TESTS

#: Kills of a server at a share of 1; `kills_commands.KINDS` has the others.
SERVERS = 80


def run(budget: Budget) -> Row:
    """Kill them, and look at what is left."""
    row = Row("kills")
    if sys.platform == "win32":
        row.notes.append("left out: there is no fork here")
        return row
    sys.path.insert(0, str(TESTS))
    from faults.kills_commands import kill_commands  # noqa: PLC0415
    from faults.kills_server import kill_servers  # noqa: PLC0415
    from faults.quick_start import QuickStart  # noqa: PLC0415

    budget.findings.mkdir(parents=True, exist_ok=True)
    quick = QuickStart()
    try:
        with tempfile.TemporaryDirectory() as name:
            folder = Path(name)
            kill_commands(row, budget, folder, quick)
            kill_servers(row, budget, folder, budget.cases(SERVERS), quick)
    finally:
        quick.close()
    row.peak_mb = peak_mb()
    return row
