"""Accounts: made, given roles and passwords, disabled."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

from chordline.application.accounts.passwords import as_typed, check_password
from chordline.application.accounts.patience import account_key
from chordline.application.accounts.ports import Hasher
from chordline.application.accounts.records import ROLES, Account, Login, Role, Signed
from chordline.application.accounts.tokens import new_password
from chordline.application.club.ports import Records, Tx
from chordline.errors import NotThereError, RefusedInputError

_LAST_LEAD = "somebody has to lead: make another account a lead first"


@dataclass(frozen=True)
class ManageAccounts:
    """Makes and changes accounts.

    Attributes
    ----------
    records : Records
    hasher : Hasher
    now : callable
        Gives the present moment, aware.
    """

    records: Records
    hasher: Hasher
    now: Callable[[], datetime]

    def any(self) -> bool:
        """Return whether there is an account, so that everybody has to log in."""
        with self.records.reading() as tx:
            return tx.accounts.any()

    def all(self, club_id: int) -> tuple[Account, ...]:
        """Return every account by name."""
        with self.records.reading() as tx:
            return tx.accounts.all(club_id)

    def named(self, club_id: int, name: str) -> Account:
        """Return the account of a name or raise `RefusedInputError`."""
        with self.records.reading() as tx:
            found = tx.accounts.named(club_id, name)
        if found is None:
            raise RefusedInputError(f"there is no account '{name[:100]}'")
        return found

    def add(
        self, club_id: int, name: str, *, role: str, password: str, must_change: bool = False
    ) -> Account:
        """Make an account.

        Raises
        ------
        RefusedInputError
            For a name or password that cannot be, or where the first account would not lead.
        TakenError
            Where somebody has the name.
        """
        said = " ".join(name.split())
        if not any(one.isalnum() for one in said) or len(said) > 100:
            raise RefusedInputError("an account needs a name of at most 100 letters")
        wanted = check_role(role)
        kept = self.hasher.hash(check_password(password, name=said))
        with self.records.transaction() as tx:
            tx.accounts.lock(club_id)
            if wanted != "lead" and not tx.accounts.any():
                raise RefusedInputError("the first account has to be a lead")
            return tx.accounts.add(
                club_id, said, role=wanted, password_hash=kept, must_change=must_change
            )

    def set_role(self, club_id: int, account_id: int, role: str) -> None:
        """Give another role; her devices log in again."""
        wanted = check_role(role)
        with self.records.transaction() as tx:
            tx.accounts.lock(club_id)
            account = _theirs(tx, club_id, account_id)
            if account.role == wanted:
                return
            if account.role == "lead":
                _keep_a_lead(tx, club_id, account_id)
            tx.accounts.set_role(account_id, wanted)
            tx.accounts.end_logins(account_id)

    def set_disabled(self, club_id: int, account_id: int, *, disabled: bool) -> None:
        """Let a colleague who has left in no more, or let her in again."""
        with self.records.transaction() as tx:
            tx.accounts.lock(club_id)
            account = _theirs(tx, club_id, account_id)
            if disabled and account.role == "lead":
                _keep_a_lead(tx, club_id, account_id)
            tx.accounts.set_disabled(account_id, self.now() if disabled else None)
            tx.accounts.end_logins(account_id)

    def reset_password(self, club_id: int, account_id: int) -> str:
        """Return a password to hand over; she replaces it when she logs in."""
        password = new_password()
        self._keep(club_id, account_id, password, must_change=True)
        return password

    def set_password(self, club_id: int, account_id: int, password: str) -> None:
        """Keep a password that was chosen at this machine; every device logs in again."""
        with self.records.reading() as tx:
            name = _theirs(tx, club_id, account_id).name
        self._keep(club_id, account_id, check_password(password, name=name), must_change=False)

    def _keep(self, club_id: int, account_id: int, password: str, *, must_change: bool) -> None:
        kept = self.hasher.hash(password)
        with self.records.transaction() as tx:
            tx.accounts.lock(club_id)
            name = _theirs(tx, club_id, account_id).name
            tx.accounts.set_password(account_id, kept, must_change=must_change)
            # Whoever guessed at the old one must not keep her waiting with the new one.
            tx.accounts.forget_tries(account_key(name))
            tx.accounts.end_logins(account_id)

    def change_own_password(self, club_id: int, signed: Signed, new: str, *, old: str) -> None:
        """Keep another password of one's own; every device logs in again.

        That `old` is hers was looked at before (`ComeIn.check_own`).

        Raises
        ------
        RefusedInputError
            Where the new one cannot be taken.
        """
        account_id = signed.account.id
        password = check_password(new, name=signed.account.name)
        if password == as_typed(old):
            raise RefusedInputError("the new password is the present one; take another")
        kept = self.hasher.hash(password)
        with self.records.transaction() as tx:
            tx.accounts.lock(club_id)
            tx.accounts.set_password(account_id, kept, must_change=False)
            tx.accounts.end_logins(account_id)

    def logins(self, account_id: int) -> tuple[Login, ...]:
        """Return the devices of an account, the last used first."""
        with self.records.reading() as tx:
            return tx.accounts.logins(account_id)

    def end_other_logins(self, signed: Signed) -> int:
        """End every login of hers but this one; return how many."""
        with self.records.transaction() as tx:
            return tx.accounts.end_logins(signed.account.id, but=signed.login.id)


def check_role(text: str) -> Role:
    """Return a role or raise `RefusedInputError`."""
    for role in ROLES:
        if role == text:
            return role
    raise RefusedInputError(f"a role is {', '.join(ROLES[:-1])} or {ROLES[-1]}, not '{text[:40]}'")


def _theirs(tx: Tx, club_id: int, account_id: int) -> Account:
    for account in tx.accounts.all(club_id):
        if account.id == account_id:
            return account
    raise NotThereError("account", account_id)


def _keep_a_lead(tx: Tx, club_id: int, but: int) -> None:
    leads = (one for one in tx.accounts.all(club_id) if one.role == "lead" and one.id != but)
    if all(one.disabled_at is not None for one in leads):
        raise RefusedInputError(_LAST_LEAD)
