"""`chordline doctor` and `chordline weights`: is everything there?"""

from typing import Annotated

import typer

from chordline.adapters.pose.weights import weights_folder
from chordline.adapters.pose.weights_install import install_weights
from chordline.bootstrap import build_app
from chordline.cli.console import print_json, remark
from chordline.cli.take_in import DataOption

SCHEMA = "chordline.health/1"
_SIGNS = {"well": "well", "limited": "less", "broken": "MEND"}


def doctor(
    as_json: Annotated[bool, typer.Option("--json", help="One JSON object.")] = False,
    data: DataOption = None,
) -> None:
    """Look whether everything is there and whole; exit code 3 where something must be mended.

    Database, pictures and their encryption, pose weights, room, and the age of the last backup.
    """
    findings = build_app(data=data).examine()
    if as_json:
        told = [{"what": one.what, "state": one.state, "told": one.told} for one in findings]
        broken = any(one.state == "broken" for one in findings)
        print_json({"schema": SCHEMA, "broken": broken, "findings": told})
    else:
        for one in findings:
            typer.echo(f"{_SIGNS[one.state]:5} {one.what}: {one.told}")
    if any(one.state == "broken" for one in findings):
        raise typer.Exit(3)


def weights() -> None:
    """Install the pose weights (about 35 MB, once) and check their SHA-256."""
    report = install_weights()
    for note in report.notes:
        remark(note)
    for one in report.status:
        typer.echo(f"{one.state:9} {one.file.name}")
    remark(f"in {weights_folder()}")
