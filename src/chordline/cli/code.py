"""The recovery code as a command takes it."""

import getpass
import sys
from typing import Annotated

import typer

CodeOption = Annotated[
    str | None,
    typer.Option(
        "--code",
        metavar="CODE",
        help="Of the recovery sheet; '-' asks for it, so that no history of commands keeps it.",
    ),
]


def typed_code(code: str | None) -> str | None:
    """Return the code of an option; '-' is asked for, or read where nobody is there to ask."""
    if code != "-":
        return code
    return getpass.getpass("Recovery code: ") if sys.stdin.isatty() else sys.stdin.readline()
