"""`chordline account`: who may log in."""

import sys
from pathlib import Path
from typing import Annotated

import typer

from chordline.application.accounts.records import Account
from chordline.bootstrap import App, build_app
from chordline.cli.console import print_json, print_table, remark
from chordline.errors import WrongUseError

app = typer.Typer(
    help="Accounts of those who open the pages: add, role, password, disable.",
    no_args_is_help=True,
    context_settings={"help_option_names": ["-h", "--help"]},
)

_Name = Annotated[str, typer.Argument(metavar="NAME", help="Name of the account.")]
_Data = Annotated[
    Path | None,
    typer.Option("--data", metavar="DIR", help="Folder of the club's records and pictures."),
]
_Role = Annotated[str, typer.Option("--role", metavar="ROLE", help="lead, coach or guest.")]


@app.command("add")
def add(name: _Name, role: _Role = "coach", data: _Data = None) -> None:
    """Make an account; its password is asked for, or read from standard input.

    Once there is an account, everybody who opens the pages logs in. The first one has to be a lead.
    """
    chordline = build_app(data=data)
    made = chordline.accounts.add(
        chordline.club().id, name, role=role, password=_ask_password(name)
    )
    remark(f"{made.name} may log in, as {made.role}.")


@app.command("list")
def list_accounts(
    json: Annotated[bool, typer.Option("--json", help="One object a line.")] = False,
    data: _Data = None,
) -> None:
    """List the accounts."""
    chordline = build_app(data=data)
    every = chordline.accounts.all(chordline.club().id)
    if json:
        for one in every:
            print_json(_record(one))
        return
    if not every:
        remark("No accounts: only this machine opens the pages, and nobody logs in.")
        return
    rows = [
        (one.name, one.role, "" if one.disabled_at is None else f"since {one.disabled_at:%Y-%m-%d}")
        for one in every
    ]
    print_table(("name", "role", "disabled"), rows)


def _record(account: Account) -> dict[str, object]:
    return {
        "schema": "chordline.account/1",
        "account": account.id,
        "name": account.name,
        "role": account.role,
        "must_change_password": account.must_change,
        "disabled_at": None if account.disabled_at is None else account.disabled_at.isoformat(),
        "created_at": account.created_at.isoformat(),
    }


@app.command("role")
def change_role(
    name: _Name,
    role: Annotated[str, typer.Argument(metavar="ROLE", help="lead, coach or guest.")],
    data: _Data = None,
) -> None:
    """Give somebody another role; her devices log in again."""
    chordline, account = _named(name, data)
    chordline.accounts.set_role(chordline.club().id, account.id, role)
    remark(f"{account.name} is {role} now.")


@app.command("password")
def set_password(name: _Name, data: _Data = None) -> None:
    """Set another password, asked for or read from standard input; her devices log in again."""
    chordline, account = _named(name, data)
    password = _ask_password(account.name)
    chordline.accounts.set_password(chordline.club().id, account.id, password)
    remark(f"{account.name} logs in with the new password.")


@app.command("disable")
def disable(name: _Name, data: _Data = None) -> None:
    """Let a colleague who has left in no more; her marks keep her name."""
    chordline, account = _named(name, data)
    chordline.accounts.set_disabled(chordline.club().id, account.id, disabled=True)
    remark(f"{account.name} may log in no more.")


@app.command("enable")
def enable(name: _Name, data: _Data = None) -> None:
    """Let a colleague in again."""
    chordline, account = _named(name, data)
    chordline.accounts.set_disabled(chordline.club().id, account.id, disabled=False)
    remark(f"{account.name} may log in again.")


def _named(name: str, data: Path | None) -> tuple[App, Account]:
    chordline = build_app(data=data)
    return chordline, chordline.accounts.named(chordline.club().id, name)


def _ask_password(name: str) -> str:
    """Return a password; never from the command's own words, which other programs can read."""
    if sys.stdin.isatty():
        return str(typer.prompt(f"Password for {name}", hide_input=True, confirmation_prompt=True))
    line = sys.stdin.readline().rstrip("\r\n")
    if not line:
        raise WrongUseError("no password came in; type one, or send one line to standard input")
    return line
