"""`chordline vault`: the passphrase, the recovery sheet, and what is not sealed yet."""

import getpass
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from typing import Annotated

import typer

from chordline.application.days import day_in_words
from chordline.bootstrap import App, build_app
from chordline.cli.code import CodeOption, typed_code
from chordline.cli.console import complain, progress_bar, remark
from chordline.cli.take_in import DataOption
from chordline.errors import RefusedInputError, VaultLockedError, WrongSecretError, WrongUseError

app = typer.Typer(
    no_args_is_help=True, help="The pictures' encryption: passphrase, recovery sheet, sealing."
)

_STATES = {
    "by_file": "pictures are encrypted, but the club key lies beside them: set a passphrase with "
    "'chordline vault passphrase'",
    "locked": "pictures are encrypted and locked: a passphrase is needed",
    "open": "pictures are encrypted; the passphrase was given",
}


@contextmanager
def _club(data: Path | None) -> Iterator[App]:
    opened = build_app(data=data)
    try:
        yield opened
    finally:
        opened.vault.lock()
        opened.records.close()


@app.command("status")
def status(data: DataOption = None) -> None:
    """Say how the pictures are kept; nothing is asked and nothing changed."""
    with _club(data) as club:
        vault = club.vault
        typer.echo(_STATES[vault.state])
        printed = vault.sheet_printed_on
        typer.echo(
            "no recovery sheet was printed"
            if printed is None
            else f"the recovery sheet of {day_in_words(printed)} opens them"
        )
        with club.records.reading() as tx:
            open_files = tx.keys.count_misplaced(club.club().id)
        typer.echo(
            "every file is sealed under its gymnast's key"
            if open_files == 0
            else f"{open_files} files are to be sealed: 'chordline vault seal'"
        )


@app.command("passphrase")
def passphrase(
    remove: Annotated[
        bool, typer.Option("--remove", help="Open without one: the key lies beside the pictures.")
    ] = False,
    data: DataOption = None,
) -> None:
    """Set or change the passphrase that opens the pictures; the pictures stay as they are.

    Where no terminal is there, the new one is read from standard input, one line.
    """
    with _club(data) as club:
        had_one = club.vault.state != "by_file"
        if not club.vault.opens():
            raise VaultLockedError
        if remove:
            club.vault.remove_passphrase()
            remark("The passphrase is gone: whoever has a copy of the data folder sees everything.")
            return
        club.vault.set_passphrase(new_passphrase())
        remark("The passphrase is changed." if had_one else "The passphrase is set.")
        if club.vault.sheet_printed_on is None:
            complain(
                "Print the recovery sheet now ('chordline vault recovery -o recovery.pdf'): "
                "without it a forgotten passphrase is the end of every picture."
            )


def new_passphrase() -> str:
    """Return a passphrase that somebody types twice, or a line of standard input."""
    if not sys.stdin.isatty():
        return sys.stdin.readline().rstrip("\r\n")
    first = getpass.getpass("New passphrase: ")
    if getpass.getpass("Once more: ") != first:
        raise WrongSecretError("the two are not the same; nothing was changed")
    return first


@app.command("recovery")
def recovery(
    output: Annotated[
        Path | None, typer.Option("--output", "-o", metavar="FILE.pdf", help="Where it goes.")
    ] = None,
    data: DataOption = None,
) -> None:
    """Make a new recovery code and print its sheet; the sheet before opens no more.

    The code is kept nowhere. Print the file, then delete it.
    """
    if output is None:
        raise WrongUseError("say where the sheet goes: -o FILE.pdf")
    with _club(data) as club:
        try:
            # Made for its owner only, and before the sheet of before loses its worth.
            output.touch(mode=0o600)
            output.write_bytes(club.print_recovery(day=date.today()).pdf)
        except OSError as error:
            raise RefusedInputError(f"{output} cannot be written ({error.strerror})") from None
    remark(f"Wrote {output}. Print it, put it away, and delete the file: it opens every picture.")


@app.command("unlock")
def unlock(
    code: CodeOption = None,
    data: DataOption = None,
) -> None:
    """Check that the passphrase, or a recovery code, opens the pictures.

    With a code you are asked for a new passphrase at once.
    """
    with _club(data) as club:
        code = typed_code(code)
        if code is not None:
            club.vault.unlock_with_code(code)
            club.vault.set_passphrase(new_passphrase())
            remark("The code opens the pictures, and the new passphrase does.")
            return
        if not club.vault.opens():
            raise WrongSecretError(
                "nothing was unlocked; give the passphrase, or set CHORDLINE_PASSPHRASE"
            )
    remark("The pictures open.")


@app.command("seal")
def seal(data: DataOption = None) -> None:
    """Seal every picture and video under its gymnast's own key; stopped, it goes on from there."""
    with _club(data) as club:
        try:
            with progress_bar("Sealing") as bar:
                done = club.seal_pictures().all(club.club().id, bar)
        except KeyboardInterrupt:
            complain("Stopped. What was sealed stays so; the same command goes on from here.")
            raise typer.Exit(130) from None
    remark(f"{done.sealed} files sealed, {done.swept} that nothing needed deleted.")
    for key in done.unreadable:
        complain(f"{key} cannot be read; restore it from a backup.")
    if done.unreadable:
        raise typer.Exit(3)
