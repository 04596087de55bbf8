"""`chordline`: the commands, and what each kind of error means for the shell."""

import sys
from typing import Annotated

import typer

from chordline import __version__
from chordline.application.accounts.acting import ACTING, Act
from chordline.cli import (
    account,
    backup,
    cards,
    consent,
    demo,
    doctor,
    erase,
    exercises,
    export,
    findings,
    growth,
    gym,
    ladder,
    measure,
    plan,
    progress,
    repeatability,
    retests,
    roster,
    screen,
    serve,
    session,
    sheet,
    take_in,
    trail,
    vault,
)
from chordline.cli.console import complain
from chordline.errors import ChordlineError, WrongUseError

EXIT_WRONG_USE = 2
EXIT_REFUSED = 3
#: What changes nothing by a person's hand when it starts.
_OF_ITSELF = frozenset(("serve", "demo"))

app = typer.Typer(
    name="chordline",
    help="How far a gymnast's body bows off the straight line, and what would straighten it.",
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"]},
)
app.command("measure")(measure.measure)
app.command("screen")(screen.screen)
app.command("findings")(findings.findings)
app.command("squad")(findings.squad)
app.command("ladder")(ladder.ladder)
app.command("growth")(growth.growth)
app.command("progress")(progress.progress)
app.command("retests")(retests.retests)
app.command("repeatability")(repeatability.repeatability)
app.command("exercises")(exercises.exercises)
app.command("tests")(measure.list_tests)
app.command("cards")(cards.cards)
app.add_typer(roster.app, name="roster")
app.command("take-in")(take_in.take_in)
app.command("gym")(gym.gym)
app.command("plan")(plan.plan)
app.command("tonight")(session.tonight)
app.command("sheet")(sheet.sheet)
app.command("serve")(serve.serve)
app.add_typer(account.app, name="account")
app.command("trail")(trail.trail)
app.command("demo")(demo.demo)
app.add_typer(vault.app, name="vault")
app.command("backup")(backup.backup)
app.command("restore")(backup.restore)
app.add_typer(consent.app, name="consent")
app.command("export")(export.export)
app.command("erase")(erase.erase)
app.command("doctor")(doctor.doctor)
app.command("weights")(doctor.weights)


@app.callback(invoke_without_command=True)
def options(
    context: typer.Context,
    version: Annotated[bool, typer.Option("--version", help="Say the version and stop.")] = False,
) -> None:
    """Hold what stands before a command."""
    if version:
        typer.echo(f"chordline {__version__}")
        raise typer.Exit
    command = context.invoked_subcommand
    if command is not None and command not in _OF_ITSELF:
        ACTING.set(Act("erased" if command == "erase" else "changed", f"chordline {command}"))


def run() -> None:
    """Run the command line; errors that chordline raises on purpose become a sentence."""
    try:
        app()
    except WrongUseError as error:
        complain(str(error))
        sys.exit(EXIT_WRONG_USE)
    except ChordlineError as error:
        complain(str(error))
        sys.exit(EXIT_REFUSED)
    except BrokenPipeError:
        sys.exit(0)
