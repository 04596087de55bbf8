"""`chordline backup` and `chordline restore`."""

import getpass
import os
import sys
from collections.abc import Callable
from dataclasses import replace
from datetime import datetime, time
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from chordline.application.backup.backup_health import size_in_words
from chordline.application.backup.records import BackupMade, Checked, Restored, moment_of
from chordline.application.club.vault_ports import Vault
from chordline.application.days import day_in_words
from chordline.bootstrap import DATA_VARIABLE, DATABASE_VARIABLE, App, build_app
from chordline.bootstrap.app import PASSPHRASE_VARIABLE
from chordline.bootstrap.backup import data_folder_of, open_folder, restore_backup
from chordline.cli.code import CodeOption, typed_code
from chordline.cli.console import complain, print_json, progress_bar, remark
from chordline.cli.take_in import DataOption
from chordline.cli.vault import new_passphrase
from chordline.errors import VaultLockedError, WrongSecretError, WrongUseError

if TYPE_CHECKING:
    from chordline.adapters.backup.restore import Wanted

SCHEMA = "chordline.backups/1"


def backup(
    folder: Annotated[
        Path | None,
        typer.Argument(metavar="[FOLDER]", help="Where backups go; remembered from now on."),
    ] = None,
    check: Annotated[
        Path | None,
        typer.Option("--check", metavar="FILE", help="Read a backup from end to end instead."),
    ] = None,
    list_them: Annotated[
        bool, typer.Option("--list", help="Show the backups in the folder instead.")
    ] = False,
    rings: Annotated[
        bool,
        typer.Option("--rings", help="Replace the rings of keys that wait for it instead."),
    ] = False,
    daily_at: Annotated[
        str | None,
        typer.Option(
            "--daily-at", metavar="HH:MM", help="When a running server makes one; 'none'."
        ),
    ] = None,
    keep: Annotated[
        str | None,
        typer.Option("--keep", metavar="D,W,M", help="Days, weeks, months kept; 7,5,12 at first."),
    ] = None,
    code: CodeOption = None,
    quiet: Annotated[
        bool, typer.Option("--quiet", help="Say nothing unless something went wrong.")
    ] = False,
    as_json: Annotated[bool, typer.Option("--json", help="With --list: one JSON object.")] = False,
    data: DataOption = None,
) -> None:
    """Back everything up: records, pictures, videos, the wrapped club key; checked at once.

    The club may go on working meanwhile. Stopped at any moment, the same command goes on from
    there. The folder belongs on another disk than the records.
    """
    app = build_app(data=data)
    try:
        if check is not None:
            _tell_checked(_check(app, check, typed_code(code)), check)
            return
        _settle(app, daily_at, keep)
        if rings:
            _replace_rings(app)
        elif list_them:
            _list(app, as_json=as_json)
        elif folder is not None or (daily_at is None and keep is None):
            _make(app, folder, quiet=quiet)
    finally:
        app.vault.lock()
        app.records.close()


def _make(app: App, folder: Path | None, *, quiet: bool) -> None:
    making = app.make_backup()
    if folder is not None:
        making.use_folder(str(folder.expanduser().resolve()))
    try:
        if quiet:
            made = making()
        else:
            with progress_bar("Backing up") as bar:
                made = making(progress=bar)
    except KeyboardInterrupt:
        complain("Stopped. What was copied is kept; the same command goes on from here.")
        raise typer.Exit(130) from None
    if not quiet:
        _tell_made(made)
        if same_disk(app.data_folder, Path(made.folder)):
            complain("This folder is on the disk of the records: it dies with it. Use another.")
    if made.ring_due:
        complain(
            "The ring of keys in the folder still waits to be replaced: unlock the pictures, then "
            "'chordline backup --rings'."
        )
    if made.lost:
        complain(f"{len(made.lost)} pictures are missing in the club's own folder; see 'doctor'.")
    if made.spoilt:
        complain(
            f"{len(made.spoilt)} of the pictures that were tried do not open: they are damaged in "
            "the club's own folder. An older backup may have them whole ('chordline restore FILE "
            "--to FOLDER'); the disk may be failing."
        )
    if made.lost or made.spoilt:
        raise typer.Exit(3)


def _tell_made(made: BackupMade) -> None:
    counts = made.manifest.counts
    typer.echo(f"{made.folder}{os.sep}{made.name}")
    remark(
        f"{counts.get('gymnast', 0)} gymnasts, {counts.get('screen', 0)} screens; {made.pictures} "
        f"pictures and videos, {made.copied} of them new there. Read again and found whole."
    )
    if made.pruned:
        remark(f"{len(made.pruned)} older backups made room.")


def _settle(app: App, daily_at: str | None, keep: str | None) -> None:
    if daily_at is not None:
        at = _time(daily_at)
        app.backup_settings.change(lambda one: replace(one, daily_at=at))
    if keep is not None:
        try:
            daily, weekly, monthly = (int(one) for one in keep.split(","))
        except ValueError:
            raise WrongUseError(
                f"--keep '{keep}': write days, weeks, months, e.g. 7,5,12"
            ) from None
        if daily < 1 or weekly < 0 or monthly < 0:
            raise WrongUseError("--keep: at least one day is kept")
        app.backup_settings.change(
            lambda one: replace(
                one, keep=replace(one.keep, daily=daily, weekly=weekly, monthly=monthly)
            )
        )


def _time(said: str) -> time | None:
    if said == "none":
        return None
    try:
        return time.fromisoformat(said).replace(second=0, microsecond=0, tzinfo=None)
    except ValueError:
        raise WrongUseError(f"--daily-at: '{said}' is no time; write it as 21:30") from None


def _replace_rings(app: App) -> None:
    if not app.vault.opens():
        raise VaultLockedError
    done = app.replace_rings()()
    for path in done.done:
        remark(f"{path}: the ring is of now.")
    for path in done.due:
        complain(f"{path}: cannot be reached; the ring there is still to be replaced.")
    if done.due:
        raise typer.Exit(3)


def _list(app: App, *, as_json: bool) -> None:
    settings = app.backup_settings.read()
    if settings.folder is None:
        raise WrongUseError("no backup folder is chosen yet; run 'chordline backup FOLDER' once")
    folder = open_folder(settings.folder)
    found: list[dict[str, Any]] = []
    for name in folder.names():
        note = settings.checked.get(name)
        made = moment_of(name)
        found.append(
            {
                "name": name,
                "made_at": None if made is None else made.isoformat(),
                "size_bytes": folder.size_of(name),
                "checked_at": None if note is None else note.checked_at.isoformat(),
                "pictures": None if note is None else note.pictures,
            }
        )
    if as_json:
        print_json({"schema": SCHEMA, "folder": settings.folder, "backups": found})
        return
    typer.echo(settings.folder)
    for one in found:
        checked = "not checked on this machine"
        if one["checked_at"] is not None:
            at = datetime.fromisoformat(one["checked_at"]).astimezone()
            checked = f"found whole on {day_in_words(at.date())}"
        typer.echo(f"{one['name']}  {size_in_words(one['size_bytes'])}  {checked}")


def _check(app: App, file: Path, code: str | None) -> Checked:
    if not file.is_file():
        raise WrongUseError(f"{file} is no file; 'chordline backup --list' shows the backups")
    with progress_bar("Checking") as bar:
        return app.check_backup(file.resolve(), unlock=_asker(code), progress=bar)


def _tell_checked(found: Checked, file: Path) -> None:
    counts = found.manifest.counts
    remark(
        f"{file.name}: the records are whole ({counts.get('gymnast', 0)} gymnasts, "
        f"{counts.get('screen', 0)} screens); {found.pictures} pictures are whole, "
        f"{found.opened} of them were opened."
    )
    if found.erased:
        remark(f"{found.erased} pictures went when their gymnast was erased.")
    if found.damaged:
        complain(
            f"{len(found.damaged)} pictures are missing or damaged. Make a new backup now: it "
            "copies them anew. Where the disk is failing, use another."
        )
        raise typer.Exit(3)


def restore(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="A backup, in its folder.")],
    to: Annotated[
        Path | None,
        typer.Option("--to", metavar="DIR", help="An empty data folder; the club's own if unset."),
    ] = None,
    replace_it: Annotated[
        bool,
        typer.Option("--replace", help="Move a data folder that is there aside first."),
    ] = False,
    without_damaged: Annotated[
        bool,
        typer.Option("--without-damaged", help="Go on where pictures are missing or damaged."),
    ] = False,
    new_keys: Annotated[
        bool,
        typer.Option(
            "--new-keys", help="Other keys for everything, and another passphrase: you are asked."
        ),
    ] = False,
    code: CodeOption = None,
    data: DataOption = None,
) -> None:
    """Restore a backup: everything is checked first, and nothing is written over.

    Passphrase or recovery code open it. Who was erased since is erased again. With --new-keys what
    somebody who has left may still hold opens nothing that is kept from now on.
    """
    if not file.is_file():
        raise WrongUseError(f"{file} is no file; name a backup (chordline-….backup) in its folder")
    place = to or data_folder_of(data, os.environ.get(DATA_VARIABLE))
    from chordline.adapters.backup.restore import Wanted  # noqa: PLC0415

    wanted = Wanted(
        file=file.resolve(),
        to=place.expanduser().absolute(),
        replace=replace_it,
        database=os.environ.get(DATABASE_VARIABLE) or None,
        without_damaged=without_damaged,
        new_keys=new_keys,
    )
    try:
        with progress_bar("Restoring") as bar:
            done = restore_backup(
                wanted,
                _asker(typed_code(code)),
                new_passphrase=new_passphrase,
                progress=bar,
            )
    except KeyboardInterrupt:
        complain("Stopped. Nothing was changed.")
        raise typer.Exit(130) from None
    _tell_restored(done, wanted)


def _tell_restored(done: Restored, wanted: "Wanted") -> None:
    counts = done.manifest.counts
    at = done.manifest.made_at.astimezone()
    typer.echo(str(wanted.to))
    remark(
        f"Restored as of {day_in_words(at.date())}, {at:%H:%M}: {counts.get('gymnast', 0)} "
        f"gymnasts, {counts.get('screen', 0)} screens, {done.pictures} pictures and videos."
    )
    if done.erased_again:
        remark(f"{done.erased_again} who were erased since were erased again.")
    if done.migrated_from:
        remark(f"The records were of revision {done.migrated_from} and were brought up to date.")
    if done.aside:
        remark(f"What was there before is in {done.aside}; delete it once you have looked.")
    if wanted.database is not None:
        remark("The records are in the database that was named; the pictures in the folder.")
    if wanted.new_keys:
        _tell_renewed(done, wanted)
    else:
        remark("Everybody logs in again. Name a backup folder: 'chordline backup FOLDER'.")
    if done.damaged:
        complain(f"{len(done.damaged)} pictures could not be brought back.")
        raise typer.Exit(3)


def _tell_renewed(done: Restored, wanted: "Wanted") -> None:
    remark(
        "Everything has new keys, and only the new passphrase opens it. Now: print a recovery "
        "sheet ('chordline vault recovery -o recovery.pdf'), name a new backup folder ('chordline "
        "backup FOLDER'), disable the account of who left, pair the tablets again."
    )
    old = [str(wanted.file.parent), *([done.aside] if done.aside else [])]
    complain(
        f"The keys of before still open what lies in {' and in '.join(old)}, and in every copy of "
        "them. Make the new backup first, then destroy them."
    )


def _asker(code: str | None) -> Callable[[Vault], None]:
    """Return what unlocks a vault: the code, the environment's passphrase, or somebody there."""
    said: list[str] = []

    def unlock(vault: Vault) -> None:
        if code is not None:
            vault.unlock_with_code(code)
            return
        if not said:
            said.append(os.environ.get(PASSPHRASE_VARIABLE) or _asked())
        if said[0]:
            vault.unlock(said[0])
            return
        raise WrongSecretError(
            "nothing opens this backup without the club's passphrase; type it, set "
            f"{PASSPHRASE_VARIABLE}, or give the code of the recovery sheet with --code"
        )

    return unlock


def _asked() -> str:
    if not sys.stdin.isatty():
        return ""
    try:
        return getpass.getpass("Passphrase of the backup: ")
    except EOFError:
        return ""


def same_disk(one: Path, other: Path) -> bool:
    """Return whether two folders lie on one disk, as far as the system tells."""
    try:
        return one.stat().st_dev == other.stat().st_dev
    except OSError:
        return False
