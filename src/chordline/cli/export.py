"""`chordline export`: everything about one gymnast as a file."""

import os
from datetime import date
from pathlib import Path
from typing import Annotated, BinaryIO
from uuid import uuid4

import typer

from chordline.application.club.export_her import Exported
from chordline.bootstrap import App, build_app
from chordline.cli.console import complain, print_json, progress_bar, remark
from chordline.cli.pick import pick_gymnast
from chordline.cli.take_in import DataOption
from chordline.errors import RefusedInputError, VaultLockedError, WrongUseError

SCHEMA = "chordline.export/1"


def export(
    gymnast: Annotated[str, typer.Argument(metavar="GYMNAST", help="Card number or name.")],
    output: Annotated[
        Path | None, typer.Option("--output", "-o", metavar="FILE.zip", help="Where it goes.")
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="One JSON object.")] = False,
    data: DataOption = None,
) -> None:
    """Write everything that is kept of a gymnast into one ZIP file.

    Pictures (without metadata), videos, sheets, and every table as CSV and JSON, with a README. The
    file is not encrypted: hand it to the family and delete it.
    """
    if output is None:
        raise WrongUseError("say where it goes: -o FILE.zip")
    app = build_app(data=data)
    try:
        with app.records.reading() as tx:
            her = pick_gymnast(tx, app.club().id, gymnast)
        if not app.vault.opens():
            raise VaultLockedError
        done = _write(app, her.id, output)
    finally:
        app.records.close()
    if as_json:
        print_json(
            {
                "schema": SCHEMA,
                "gymnast_number": her.id,
                "file": str(output),
                "rows": dict(done.rows),
                "pictures": done.pictures,
                "videos": done.videos,
                "sheets": done.sheets,
                "missing": list(done.missing),
            }
        )
    for sentence in done.missing:
        complain(sentence)
    remark(
        f"Wrote {output}: {done.pictures} pictures, {done.videos} videos, {done.sheets} sheets and "
        f"{sum(done.rows.values())} rows. It is not encrypted: hand it over, then delete it."
    )


def _write(app: App, gymnast_id: int, output: Path) -> Exported:
    """Write beside the place and give the name last: a kill leaves no half file under it."""
    beside = output.with_name(f".{output.name}.{uuid4().hex[:8]}.part")
    try:
        with _own_file(beside) as out, progress_bar("Exporting") as bar:
            done = app.export_her().to_file(gymnast_id, out, today=date.today(), progress=bar)
        beside.replace(output)
    except OSError as error:
        raise RefusedInputError(f"{output} cannot be written ({error.strerror})") from None
    finally:
        beside.unlink(missing_ok=True)
    return done


def _own_file(path: Path) -> BinaryIO:
    """Open a new file that only its owner can read."""
    return os.fdopen(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb")
