"""Backups as `chordline doctor`, the settings and the first page tell of them."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta

from chordline.application.backup.ports import Folder
from chordline.application.backup.records import BackupSettings, moment_of
from chordline.application.days import day_in_words
from chordline.application.health import Finding, State
from chordline.errors import BackupError

#: A clock this far behind what lies on the disk is wrong.
_CLOCK_MAY_BE_OFF = timedelta(days=1)


@dataclass(frozen=True)
class BackupsSeen:
    """What is found in the folder in use.

    Attributes
    ----------
    names : tuple of str
        The latest first.
    sizes : mapping of str to int
    free_bytes : int
        Room on its disk.
    trouble : str
        Why nothing could be seen; empty = it could.
    """

    names: tuple[str, ...] = ()
    free_bytes: int = 0
    trouble: str = ""

    @property
    def latest(self) -> datetime | None:
        """When the latest was made."""
        return moment_of(self.names[0]) if self.names else None


def look_at_backups(settings: BackupSettings, open_folder: Callable[[str], Folder]) -> BackupsSeen:
    """Return what is in the folder in use."""
    if settings.folder is None:
        return BackupsSeen()
    folder = open_folder(settings.folder)
    try:
        return BackupsSeen(folder.names(), folder.free_bytes())
    except BackupError as error:
        return BackupsSeen(trouble=str(error))


def examine_backups(
    settings: BackupSettings, seen: BackupsSeen, *, now: datetime, same_disk: bool, size_bytes: int
) -> tuple[Finding, ...]:
    """Return what there is to say of backups.

    Parameters
    ----------
    settings, seen
    now : datetime
    same_disk : bool
        Whether the folder lies on the disk of the records.
    size_bytes : int
        Of all that is backed up.
    """
    if settings.folder is None:
        told = "none is made: connect another disk and run 'chordline backup FOLDER' once"
        return (Finding("backups", "limited", told),)
    findings = [_tell_age(settings, seen, now)]
    if not seen.trouble:
        if same_disk:
            told = f"{settings.folder} is on the disk of the records and dies with it; use another"
            findings.append(Finding("backup disk", "limited", told))
        elif seen.free_bytes < 2 * size_bytes:
            told = (
                f"{seen.free_bytes / 1e9:.1f} GB free, less than twice what is backed up; make room"
            )
            findings.append(Finding("backup disk", "limited", told))
        else:
            findings.append(Finding("backup disk", "well", f"{seen.free_bytes / 1e9:.1f} GB free"))
    findings += [
        Finding(
            "ring of keys",
            "limited",
            f"in {one.path} it still holds the key of somebody who was erased "
            f"({day_in_words(one.ring_due_since.astimezone().date())}): connect the disk, unlock "
            "the pictures, then 'chordline backup --rings'",
        )
        for one in settings.folders
        if one.ring_due_since is not None
    ]
    return tuple(findings)


def _tell_age(settings: BackupSettings, seen: BackupsSeen, now: datetime) -> Finding:
    if seen.trouble:
        return Finding("backups", "limited", f"{seen.trouble}. Is the disk connected?")
    latest = seen.latest
    if latest is None:
        return Finding("backups", "limited", f"none is in {settings.folder} yet")
    age = now - latest
    state: State = "limited" if age > timedelta(days=settings.warn_after_days) else "well"
    note = settings.checked.get(seen.names[0])
    whole = "found whole" if note is not None else "not checked on this machine"
    told = f"the last of {len(seen.names)} is {age_in_words(age)} old, {whole}"
    if settings.failure:
        state, told = "limited", f"{told}; the last try failed: {settings.failure}"
    elif state == "limited":
        told = f"{told}; make one"
    return Finding("backups", state, told)


def age_in_words(age: timedelta) -> str:
    """Return an age as people say it."""
    minutes = max(0, age // timedelta(minutes=1))
    for length, unit in ((2 * 1440, "day"), (2 * 60, "hour"), (1, "minute")):
        if minutes >= length:
            count = minutes // {"day": 1440, "hour": 60, "minute": 1}[unit]
            return f"{count} {unit}" if count == 1 else f"{count} {unit}s"
    return "less than a minute"


def size_in_words(size_bytes: int) -> str:
    """Return the size of a file as people say it."""
    for length, unit in ((1e9, "GB"), (1e6, "MB"), (1e3, "kB")):
        if size_bytes >= length:
            return f"{size_bytes / length:.3g} {unit}"
    return f"{size_bytes} bytes"


def examine_clock(now: datetime, newest: datetime | None) -> tuple[Finding, ...]:
    """Return a finding where this machine's clock runs behind what it has written itself."""
    if newest is not None and newest - now > _CLOCK_MAY_BE_OFF:
        told = (
            f"says {day_in_words(now.astimezone().date())}, but something here was written on "
            f"{day_in_words(newest.astimezone().date())}; set it right before the next screen"
        )
        return (Finding("clock", "broken", told),)
    return ()
