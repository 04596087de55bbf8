"""Writes docs/access.md: which role may use which route.

python tools/access_table.py [--write docs/access.md]
"""

import argparse
import sys
from pathlib import Path
from tempfile import TemporaryDirectory

from chordline.bootstrap import App
from chordline.web.access import RANKS, Entry
from chordline.web.site import make_site

_HEAD = """# Who may do what

Written by `tools/access_table.py` from `web/access.py`, the one table that the server enforces; a
test tries every cell. A route without an entry is refused when the server starts. *Nobody* is
everybody who reaches the server and has not logged in. Where there are no accounts, this machine
may do everything and no other machine is served. *Picture*: of guests it is asked whether the
family allows showing it. *Trail*: what the [trail](accounts.md#the-trail) tells of it.

| route | nobody | guest | coach | lead | picture | trail | what it does |
|---|---|---|---|---|---|---|---|
"""


def table() -> str:
    """Return the page."""
    with TemporaryDirectory() as folder:
        app = App(data=Path(folder))
        entries: list[Entry] = make_site(app, measure=False).state.access.entries
        app.records.close()
    return _HEAD + "".join(map(_row, sorted(entries, key=lambda one: (one.path, one.method))))


def _row(entry: Entry) -> str:
    least = RANKS.index(entry.least)
    cells = ["yes" if rank >= least else "–" for rank in range(len(RANKS))]
    told = [
        f"`{entry.method} {entry.path}`",
        *cells,
        "asked" if entry.picture else "",
        entry.what or "",
        entry.words.replace("|", "\\\\|"),
    ]
    return f"| {' | '.join(told)} |\n"


def main() -> None:
    """Print the page, or write it."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--write", type=Path, metavar="FILE")
    where: Path | None = parser.parse_args().write
    if where is None:
        sys.stdout.write(table())
    else:
        where.write_text(table(), encoding="utf-8")


if __name__ == "__main__":
    main()
