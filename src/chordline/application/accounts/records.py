"""What is kept of accounts, logins and the trail."""

from dataclasses import dataclass
from datetime import datetime
from typing import Literal, get_args

Role = Literal["lead", "coach", "guest"]
#: From the one who may most to the one who may least.
ROLES: tuple[Role, ...] = get_args(Role)

#: Who acts where nobody is logged in.
THIS_MACHINE = "this machine"

What = Literal["saw", "exported", "changed", "erased", "login", "login failed", "logout"]
#: What the trail tells of.
WHATS: tuple[What, ...] = get_args(What)


@dataclass(frozen=True)
class Account:
    """Somebody who may log in, or could.

    Attributes
    ----------
    id : int
    name : str
    role : str
        One of `ROLES`.
    must_change : bool
        Whether the password was given by somebody else and has to be replaced first.
    disabled_at : datetime or None
        Since when she may log in no more; her marks keep her name.
    created_at : datetime
    """

    id: int
    name: str
    role: Role
    must_change: bool
    disabled_at: datetime | None
    created_at: datetime


@dataclass(frozen=True)
class Login:
    """A device on which an account is logged in.

    Attributes
    ----------
    id, account_id : int
    device : str
        What the device calls itself.
    made_at, seen_at, expires_at : datetime
        `expires_at` is when it ends however much it is used.
    """

    id: int
    account_id: int
    device: str
    made_at: datetime
    seen_at: datetime
    expires_at: datetime


@dataclass(frozen=True)
class Signed:
    """Who is logged in, and by which login."""

    account: Account
    login: Login

    @property
    def sees_only_what_may_be_shown(self) -> bool:
        """Whether pictures are withheld unless the family allowed showing them."""
        return self.account.role == "guest"


@dataclass(frozen=True)
class Tries:
    """Logins that failed one after the other.

    Attributes
    ----------
    failures : int
    last_at : datetime
    """

    failures: int
    last_at: datetime


@dataclass(frozen=True)
class NewTrail:
    """A line for the trail.

    Attributes
    ----------
    at : datetime
    who : str
        Name of an account, or `THIS_MACHINE`.
    what : str
        One of `WHATS`.
    about : str
        What it was done with, e.g. ``photo 12`` or ``GET /squad``; never a name.
    gymnast_id : int or None
    account_id : int or None
    device : str
    """

    at: datetime
    who: str
    what: What
    about: str
    gymnast_id: int | None = None
    account_id: int | None = None
    device: str = ""


@dataclass(frozen=True)
class TrailRow:
    """A line of the trail.

    Attributes
    ----------
    id : int
    entry : NewTrail
    gymnast : str or None
        Her name, as long as she is in the records.
    """

    id: int
    entry: NewTrail
    gymnast: str | None


@dataclass(frozen=True)
class TrailQuery:
    """Which lines of the trail; the latest first.

    Attributes
    ----------
    club_id : int
    gymnast_id : int or None
    who : str
        Exactly this name; empty = everybody.
    what : str
        Exactly this word; empty = everything.
    before : int or None
        Only lines with a smaller id.
    limit : int
    """

    club_id: int
    gymnast_id: int | None = None
    who: str = ""
    what: str = ""
    before: int | None = None
    limit: int = 100
