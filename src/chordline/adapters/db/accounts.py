"""Implements `AccountBook`."""

from datetime import datetime
from typing import Any

from sqlalchemy import Row, select

from chordline.adapters.db.account_schema import ACCOUNT, LOGIN, LOGIN_TRIES, PAIRING
from chordline.adapters.db.schema import CLUB
from chordline.adapters.db.search_keys import name_key
from chordline.adapters.db.session import Session
from chordline.application.accounts.records import Account, Login, Role, Signed, Tries
from chordline.errors import TakenError


class SqlAccounts:
    """Accounts, logins, codes for tablets, and logins that failed."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def any(self) -> bool:
        """Return whether there is an account."""
        return bool(self._session.rows(select(ACCOUNT.c.id).limit(1)))

    def add(
        self, club_id: int, name: str, *, role: Role, password_hash: str, must_change: bool
    ) -> Account:
        """Make an account."""
        made = self._session.insert_once(
            ACCOUNT,
            ("club_id", "name_key"),
            club_id=club_id,
            name=name,
            name_key=name_key(name),
            role=role,
            password_hash=password_hash,
            must_change=must_change,
            created_at=self._session.now(),
        )
        found = self.named(club_id, name)
        if not made or found is None:
            raise TakenError("the name", name)
        return found

    def get(self, account_id: int) -> Account:
        """Return an account."""
        return _account_of(self._session.row(ACCOUNT, account_id))

    def named(self, club_id: int, name: str) -> Account | None:
        """Return the account of a name, whatever its case."""
        hers = (ACCOUNT.c.club_id == club_id, ACCOUNT.c.name_key == name_key(name))
        rows = self._session.rows(select(ACCOUNT).where(*hers))
        return _account_of(rows[0]) if rows else None

    def all(self, club_id: int) -> tuple[Account, ...]:
        """Return every account by name."""
        query = select(ACCOUNT).where(ACCOUNT.c.club_id == club_id)
        return tuple(map(_account_of, self._session.rows(query.order_by(ACCOUNT.c.name_key))))

    def lock(self, club_id: int) -> None:
        """Let nobody else change this club's accounts until the transaction ends."""
        self._session.row(CLUB, club_id, lock=True)

    def password_hash(self, account_id: int) -> str:
        """Return what is kept of a password."""
        return str(self._session.row(ACCOUNT, account_id).password_hash)

    def set_password(self, account_id: int, password_hash: str, *, must_change: bool) -> None:
        """Keep another password."""
        self._session.change(
            ACCOUNT, account_id, password_hash=password_hash, must_change=must_change
        )
        self._end_pairings(account_id)

    def set_role(self, account_id: int, role: Role) -> None:
        """Give another role."""
        self._session.change(ACCOUNT, account_id, role=role)
        self._end_pairings(account_id)

    def set_disabled(self, account_id: int, since: datetime | None) -> None:
        """Say since when somebody may log in no more."""
        self._session.change(ACCOUNT, account_id, disabled_at=since)
        self._end_pairings(account_id)

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
        login_id = self._session.insert(
            LOGIN,
            account_id=account_id,
            token_sha256=digest,
            device=device,
            made_at=made_at,
            seen_at=made_at,
            expires_at=expires_at,
        )
        return _login_of(self._session.row(LOGIN, login_id))

    def signed(self, digest: str) -> Signed | None:
        """Return who logged in with the token of a digest."""
        logins = self._session.rows(select(LOGIN).where(LOGIN.c.token_sha256 == digest))
        if not logins:
            return None
        account = self._session.row(ACCOUNT, logins[0].account_id)
        return Signed(_account_of(account), _login_of(logins[0]))

    def seen(self, login_id: int, at: datetime) -> None:
        """Say when a login was used last."""
        self._session.change(LOGIN, login_id, seen_at=at)

    def logins(self, account_id: int) -> tuple[Login, ...]:
        """Return the logins of an account, the last used first."""
        hers = select(LOGIN).where(LOGIN.c.account_id == account_id)
        rows = self._session.rows(hers.order_by(LOGIN.c.seen_at.desc(), LOGIN.c.id.desc()))
        return tuple(map(_login_of, rows))

    def end_login(self, login_id: int) -> None:
        """Forget a login."""
        self._session.connection.execute(LOGIN.delete().where(LOGIN.c.id == login_id))

    def end_logins(self, account_id: int, *, but: int | None = None) -> int:
        """Forget every login of an account, except one; return how many."""
        ended = LOGIN.delete().where(LOGIN.c.account_id == account_id)
        if but is not None:
            ended = ended.where(LOGIN.c.id != but)
        self._end_pairings(account_id)
        return self._session.connection.execute(ended).rowcount

    def add_pairing(
        self, account_id: int, digest: str, *, made_at: datetime, expires_at: datetime
    ) -> None:
        """Keep a code for a tablet by its digest; earlier ones of the account hold no more."""
        self._end_pairings(account_id)
        self._session.insert(
            PAIRING,
            account_id=account_id,
            token_sha256=digest,
            made_at=made_at,
            expires_at=expires_at,
        )

    def take_pairing(self, digest: str, at: datetime) -> Account | None:
        """Use a code up."""
        taken = (
            PAIRING.update()
            .where(
                PAIRING.c.token_sha256 == digest,
                PAIRING.c.used_at.is_(None),
                PAIRING.c.expires_at > at,
            )
            .values(used_at=at)
            .returning(PAIRING.c.account_id)
        )
        account_id = self._session.connection.execute(taken).scalar_one_or_none()
        return None if account_id is None else self.get(account_id)

    def tries(self, key: str) -> Tries | None:
        """Return what failed for an account or an address."""
        query = select(LOGIN_TRIES).where(LOGIN_TRIES.c.key == key).with_for_update()
        rows = self._session.rows(query)
        return Tries(rows[0].failures, rows[0].last_at) if rows else None

    def put_tries(self, key: str, tries: Tries) -> None:
        """Keep what failed."""
        self._session.put(LOGIN_TRIES, key=key, failures=tries.failures, last_at=tries.last_at)

    def forget_tries(self, key: str) -> None:
        """Forget what failed."""
        self._session.connection.execute(LOGIN_TRIES.delete().where(LOGIN_TRIES.c.key == key))

    def forget_old(self, *, logins_before: datetime, tries_before: datetime) -> None:
        """Forget logins and codes that have ended, and failures of long ago."""
        execute = self._session.connection.execute
        execute(LOGIN.delete().where(LOGIN.c.seen_at < logins_before))
        execute(PAIRING.delete().where(PAIRING.c.expires_at < logins_before))
        execute(LOGIN_TRIES.delete().where(LOGIN_TRIES.c.last_at < tries_before))

    def _end_pairings(self, account_id: int) -> None:
        execute = self._session.connection.execute
        execute(PAIRING.delete().where(PAIRING.c.account_id == account_id))


def _account_of(row: Row[Any]) -> Account:
    return Account(
        row.id, row.name, row.role, row.must_change, row.disabled_at, created_at=row.created_at
    )


def _login_of(row: Row[Any]) -> Login:
    return Login(
        row.id,
        row.account_id,
        row.device,
        made_at=row.made_at,
        seen_at=row.seen_at,
        expires_at=row.expires_at,
    )
