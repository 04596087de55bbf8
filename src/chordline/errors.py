"""Every error that chordline raises on purpose. Each message is a sentence that says what to do."""


class ChordlineError(Exception):
    """The root: catch this to catch everything that chordline refuses."""


class WrongUseError(ChordlineError):
    """The command or call was worded wrongly (unknown test, unknown option value)."""


class RefusedInputError(ChordlineError):
    """The input cannot be used; the message says why and what would work."""


class PictureError(RefusedInputError):
    """A file that is no usable picture.

    Attributes
    ----------
    name : str
        File name, without folders.
    reason : str
        What is wrong, as the end of a sentence.
    """

    def __init__(self, name: str, reason: str) -> None:
        super().__init__(f"{name}: {reason}")
        self.name = name
        self.reason = reason


class MarksError(RefusedInputError):
    """Hand marks that cannot be used.

    Attributes
    ----------
    faults : tuple of str
        Every fault found, each with its path in the marks file.
    """

    def __init__(self, source: str, faults: tuple[str, ...]) -> None:
        super().__init__(f"{source}: " + "; ".join(faults))
        self.source = source
        self.faults = faults


class BodyNotFoundError(RefusedInputError):
    """No body, or no body that can be told from others, was found in a picture."""


class CatalogueError(RefusedInputError):
    """A catalogue file with faults.

    Attributes
    ----------
    faults : tuple of str
        Every fault found, each with its path, e.g. ``tests.toml: prone-sides.measures[2]: …``.
    """

    def __init__(self, faults: tuple[str, ...]) -> None:
        super().__init__("\n".join(faults))
        self.faults = faults


class WeightsError(ChordlineError):
    """The pose weights are missing, damaged, or could not be fetched."""


class WorkersError(ChordlineError):
    """Workers that cannot be reached, are gone, or are not installed as this machine is."""


class RecordsError(ChordlineError):
    """The club's records cannot be opened, read or written; nothing acknowledged is lost."""


class NewerRecordsError(RecordsError):
    """The records were written by a newer chordline than this one.

    Attributes
    ----------
    revision : str
        The revision found in the records.
    """

    def __init__(self, revision: str) -> None:
        super().__init__(
            f"these records were written by a newer chordline (revision {revision}); "
            "install that version, nothing was changed"
        )
        self.revision = revision


class RecordsBusyError(RecordsError):
    """Somebody else was writing for too long; nothing of this was written, try again."""

    def __init__(self) -> None:
        super().__init__("the records are being written by somebody else; try again in a moment")


class NotThereError(RefusedInputError):
    """A record that is not, or no longer, there.

    Attributes
    ----------
    kind : str
        What it would be: 'gymnast', 'photo', …
    id : int
    """

    def __init__(self, kind: str, id: int) -> None:
        super().__init__(f"there is no {kind} {id} (any more); go back and choose again")
        self.kind = kind
        self.id = id


class TakenError(RefusedInputError):
    """A name or card number that somebody else has.

    Attributes
    ----------
    what : str
        'card', 'group', …
    value : str
    """

    def __init__(self, what: str, value: str) -> None:
        super().__init__(f"{what} {value} is taken already; choose another")
        self.what = what
        self.value = value


class ImpossibleRecordError(RefusedInputError):
    """Data that cannot be true.

    Attributes
    ----------
    rule : str
        Name of the rule that it breaks.
    """

    def __init__(self, rule: str, reason: str) -> None:
        super().__init__(reason)
        self.rule = rule


class NoEntryError(ChordlineError):
    """Somebody who may not come in; the message does not say which part was wrong."""


class TooManyTriesError(NoEntryError):
    """Too many logins failed.

    Attributes
    ----------
    wait_s : float
        How long to wait, s.
    """

    def __init__(self, wait_s: float) -> None:
        super().__init__(
            f"too many tries failed; wait {max(1, round(wait_s))} seconds, or ask whoever leads "
            "for a new password"
        )
        self.wait_s = wait_s


class PhotoStoreError(ChordlineError):
    """A stored picture that is missing or damaged, or could not be stored.

    Attributes
    ----------
    key : str
        Its content key; empty where it has none yet.
    """

    def __init__(self, key: str, reason: str) -> None:
        super().__init__(reason)
        self.key = key


class PhotoStoreUnusableError(PhotoStoreError):
    """The pictures' folder cannot be used now: its disk is full, read-only or gone."""


class VaultLockedError(PhotoStoreError):
    """The pictures are locked until somebody gives the club's passphrase."""

    def __init__(self, key: str = "") -> None:
        super().__init__(
            key,
            "the pictures are locked; unlock them with the club's passphrase, in the browser on "
            "the page Unlock or with 'chordline vault unlock'",
        )


class VaultError(ChordlineError):
    """The club key is missing, damaged or cannot be written; pictures stay as they are."""


class WrongSecretError(RefusedInputError):
    """A passphrase or a recovery code that opens nothing; the message says which and where."""


class BackupError(ChordlineError):
    """A backup that cannot be made, read or restored; what was there before is as it was."""


class BackupStoppedError(BackupError):
    """Somebody stopped it; what was copied is used by the next one."""

    def __init__(self) -> None:
        super().__init__("the backup was stopped; what was copied is kept, and the next goes on")
