"""`chordline doctor` and `chordline weights`: is everything there?"""

import typer

from chordline.adapters.pose.weights import weights_folder
from chordline.adapters.pose.weights_install import install_weights
from chordline.bootstrap import build_app
from chordline.cli.console import remark
from chordline.cli.take_in import DataOption

_SIGNS = {"well": "well", "limited": "less", "broken": "MEND"}


def doctor(data: DataOption = None) -> None:
    """Look whether everything is there and whole; exit code 3 where something must be mended."""
    findings = build_app(data=data).examine()
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
