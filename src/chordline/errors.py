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
