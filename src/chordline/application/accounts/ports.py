"""The books of accounts and of the trail as protocols, and what hashes passwords."""

from datetime import datetime
from typing import Protocol

from chordline.application.accounts.records import (
    Account,
    Login,
    NewTrail,
    Role,
    Signed,
    TrailQuery,
    TrailRow,
    Tries,
)


class Hasher(Protocol):
    """Keeps passwords so that nobody can read them back."""

    def hash(self, password: str) -> str:
        """Return what is kept of a password."""
        ...

    def fits(self, kept: str, password: str) -> bool:
        """Return whether a password is the one that was kept."""
        ...

    def is_old(self, kept: str) -> bool:
        """Return whether it was kept with other settings than today's."""
        ...


class AccountBook(Protocol):
    """Accounts, logins, codes for tablets, and logins that failed."""

    def any(self) -> bool:
        """Return whether there is an account."""
        ...

    def add(
        self, club_id: int, name: str, *, role: Role, password_hash: str, must_change: bool
    ) -> Account:
        """Make an account; raise `TakenError` where the name is somebody's, whatever its case."""
        ...

    def get(self, account_id: int) -> Account:
        """Return an account or raise `NotThereError`."""
        ...

    def named(self, club_id: int, name: str) -> Account | None:
        """Return the account of a name, whatever its case."""
        ...

    def all(self, club_id: int) -> tuple[Account, ...]:
        """Return every account by name, disabled ones too."""
        ...

    def lock(self, club_id: int) -> None:
        """Let nobody else change this club's accounts until the transaction ends."""
        ...

    def password_hash(self, account_id: int) -> str:
        """Return what is kept of a password."""
        ...

    def set_password(self, account_id: int, password_hash: str, *, must_change: bool) -> None:
        """Keep another password."""
        ...

    def set_role(self, account_id: int, role: Role) -> None:
        """Give another role."""
        ...

    def set_disabled(self, account_id: int, since: datetime | None) -> None:
        """Say since when somebody may log in no more; None = she may again."""
        ...

    def add_login(
        self,
        account_id: int,
        digest: str,
        *,
        device: str,
        made_at: datetime,
        expires_at: datetime,
    ) -> Login:
        """Keep a login by the digest of its token."""
        ...

    def signed(self, digest: str) -> Signed | None:
        """Return who logged in with the token of a digest."""
        ...

    def seen(self, login_id: int, at: datetime) -> None:
        """Say when a login was used last."""
        ...

    def logins(self, account_id: int) -> tuple[Login, ...]:
        """Return the logins of an account, the last used first."""
        ...

    def end_login(self, login_id: int) -> None:
        """Forget a login."""
        ...

    def end_logins(self, account_id: int, *, but: int | None = None) -> int:
        """Forget every login of an account, except one; return how many."""
        ...

    def add_pairing(
        self, account_id: int, digest: str, *, made_at: datetime, expires_at: datetime
    ) -> None:
        """Keep a code for a tablet by its digest; earlier ones of the account hold no more."""
        ...

    def take_pairing(self, digest: str, at: datetime) -> Account | None:
        """Use a code up; None where it is unknown, used or too old."""
        ...

    def tries(self, key: str) -> Tries | None:
        """Return what failed for an account or an address."""
        ...

    def put_tries(self, key: str, tries: Tries) -> None:
        """Keep what failed."""
        ...

    def forget_tries(self, key: str) -> None:
        """Forget what failed."""
        ...

    def forget_old(self, *, logins_before: datetime, tries_before: datetime) -> None:
        """Forget logins and codes that have ended, and failures of long ago."""
        ...


class TrailBook(Protocol):
    """Who saw and changed what; lines are added and, after years, forgotten, never changed."""

    def add(self, entry: NewTrail) -> None:
        """Add a line."""
        ...

    def page(self, query: TrailQuery) -> tuple[TrailRow, ...]:
        """Return lines, the latest first."""
        ...

    def who(self, club_id: int) -> tuple[str, ...]:
        """Return everybody whom the trail names."""
        ...

    def whose(self, kind: str, id: int) -> int | None:
        """Return whose photo, screen, hold, note or video something is; None where nobody's."""
        ...

    def may_show(self, kind: str, id: int) -> bool:
        """Return whether a picture is of somebody whose family allows showing it."""
        ...

    def forget(self, before: datetime) -> int:
        """Forget the lines before a moment; return how many."""
        ...
