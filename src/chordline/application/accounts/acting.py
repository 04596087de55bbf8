"""Who acts in this thread or request, so that a change leaves its line in its own transaction."""

from contextvars import ContextVar
from dataclasses import dataclass, field

from chordline.application.accounts.records import THIS_MACHINE, What


@dataclass
class Act:
    """What somebody is about to do.

    Attributes
    ----------
    what : str
        One of `WHATS`.
    about : str
        What it is done with; never a name.
    subject : (str, int) or None
        ``gymnast``, ``photo``, … and its id.
    who, device : str
    account_id : int or None
    written : bool
        Whether its line stands in the trail.
    """

    what: What
    about: str
    subject: tuple[str, int] | None = None
    who: str = THIS_MACHINE
    account_id: int | None = None
    device: str = ""
    written: bool = field(default=False)


#: The first transaction that writes takes its line along.
ACTING: ContextVar[Act | None] = ContextVar("ACTING", default=None)
