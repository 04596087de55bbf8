"""`chordline doctor` and `chordline weights`: is everything there?"""

import platform

import typer

from chordline import __version__
from chordline.adapters.pose.weights import weights_folder
from chordline.adapters.pose.weights_health import examine_weights
from chordline.adapters.pose.weights_install import install_weights
from chordline.application.health import Finding
from chordline.bootstrap import build_app
from chordline.cli.console import remark
from chordline.errors import CatalogueError

_SIGNS = {"well": "well", "limited": "less", "broken": "MEND"}


def doctor() -> None:
    """Look whether everything is there and whole; exit code 3 where something must be mended."""
    findings = [
        Finding("chordline", "well", f"{__version__} on Python {platform.python_version()}"),
        _examine_catalogue(),
        *examine_weights(),
    ]
    for one in findings:
        typer.echo(f"{_SIGNS[one.state]:5} {one.what}: {one.told}")
    if any(one.state == "broken" for one in findings):
        raise typer.Exit(3)


def _examine_catalogue() -> Finding:
    try:
        catalogue = build_app().catalogue
    except CatalogueError as error:
        return Finding("catalogue", "broken", str(error))
    return Finding(
        "catalogue", "well", f"{len(catalogue.tests)} tests, version {catalogue.version}"
    )


def weights() -> None:
    """Install the pose weights (about 35 MB, once) and check their SHA-256."""
    report = install_weights()
    for note in report.notes:
        remark(note)
    for one in report.status:
        typer.echo(f"{one.state:9} {one.file.name}")
    remark(f"in {weights_folder()}")
