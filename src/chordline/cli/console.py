"""Where words go: results to standard output, everything else to standard error."""

import json
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import Any

from rich.box import SIMPLE
from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn
from rich.table import Table

_errors = Console(stderr=True, highlight=False)


def complain(sentence: str) -> None:
    """Write a sentence about something that went wrong."""
    _errors.print(sentence, style="bold", markup=False, soft_wrap=True)


def remark(sentence: str) -> None:
    """Write a sentence that is no result."""
    _errors.print(sentence, markup=False, soft_wrap=True)


def print_json(record: dict[str, Any]) -> None:
    """Write one object on one line to standard output."""
    sys.stdout.write(json.dumps(record, ensure_ascii=False) + "\n")
    sys.stdout.flush()


def print_table(columns: Sequence[str], rows: Sequence[Sequence[str]]) -> None:
    """Write a table to standard output, as wide as the terminal."""
    table = Table(*columns, show_lines=True, box=SIMPLE)
    for row in rows:
        table.add_row(*row)
    Console(highlight=False, markup=False).print(table)


class BarProgress:
    """A bar on standard error; silent where that is no terminal."""

    def __init__(self, bar: Progress, title: str) -> None:
        self._bar = bar
        self._task = bar.add_task(title, total=None, label="")

    def start(self, total: int) -> None:
        """Set how many steps there will be."""
        self._bar.update(self._task, total=total)

    def step(self, label: str) -> None:
        """Move on by one step and show what was done."""
        self._bar.update(self._task, advance=1, label=label)


@contextmanager
def progress_bar(title: str) -> Iterator[BarProgress]:
    """Show a bar while the block runs."""
    columns = (
        TextColumn("{task.description}"),
        BarColumn(),
        MofNCompleteColumn(),
        TimeRemainingColumn(),
        TextColumn("{task.fields[label]}", markup=False),
    )
    with Progress(
        *columns, console=_errors, transient=True, disable=not _errors.is_terminal
    ) as bar:
        yield BarProgress(bar, title)
