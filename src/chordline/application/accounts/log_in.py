"""Coming in and going out: passwords, codes for tablets, logins."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import cached_property

from chordline.application.accounts import patience
from chordline.application.accounts.passwords import MOST_LETTERS, as_typed
from chordline.application.accounts.ports import Hasher
from chordline.application.accounts.records import Account, NewTrail, Signed, Tries, What
from chordline.application.accounts.tokens import digest_of, new_token
from chordline.application.club.ports import Records, Tx
from chordline.errors import NoEntryError, RefusedInputError, TooManyTriesError

#: An evening in the gym and the way home; then a tablet asks again (assumption).
IDLE_FOR = timedelta(hours=12)
#: However much it is used (NIST SP 800-63B-4, 2.1.3: 30 days where a password is all there is).
LASTS_FOR = timedelta(days=30)
#: A code is scanned at once or not at all (assumption).
CODE_LASTS_FOR = timedelta(minutes=10)
#: So often the moment of the last use is written.
_SEEN_EVERY = timedelta(minutes=1)

_WRONG = "this name and password do not belong together"


@dataclass(frozen=True)
class Opened:
    """A new login, and the token that its device keeps."""

    account: Account
    token: str


@dataclass(frozen=True)
class ComeIn:
    """Logs people in and out.

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

    @cached_property
    def _nobodys_hash(self) -> str:
        # A name that is nobody's takes as long as a wrong password.
        return self.hasher.hash(new_token())

    def with_password(
        self, club_id: int, name: str, password: str, *, address: str, device: str
    ) -> Opened:
        """Log somebody in.

        Raises
        ------
        TooManyTriesError
            Where too many tries failed for this account or from this address.
        NoEntryError
            Where name and password do not belong together, or the account is disabled.
        """
        now = self.now()
        keys = {
            patience.account_key(name): patience.FREE_FOR_AN_ACCOUNT,
            f"address {address[:60]}": patience.FREE_FOR_AN_ADDRESS,
        }
        with self.records.transaction() as tx:
            account = tx.accounts.named(club_id, name)
            # Counted before the password is looked at, so that tries at once count as well.
            wait = _count_try(tx, keys, now)
            kept = tx.accounts.password_hash(account.id) if account is not None else None
        if wait > 0:
            raise TooManyTriesError(wait)
        fits = len(password) <= MOST_LETTERS and self.hasher.fits(
            kept or self._nobodys_hash, as_typed(password)
        )
        if account is None or kept is None or not fits or account.disabled_at is not None:
            self._note(account, "login failed", now, device=device)
            raise NoEntryError(_WRONG)
        renewed = self.hasher.hash(as_typed(password)) if self.hasher.is_old(kept) else None
        with self.records.transaction() as tx:
            tx.accounts.lock(club_id)
            standing = tx.accounts.get(account.id)
            if tx.accounts.password_hash(account.id) != kept or standing.disabled_at is not None:
                raise NoEntryError(_WRONG)
            _take_back_try(tx, keys)
            if renewed is not None:
                tx.accounts.set_password(account.id, renewed, must_change=account.must_change)
            return self._open(tx, standing, device, now)

    def with_code(self, code: str, *, address: str, device: str) -> Opened:
        """Log a tablet in as whoever made the code it scanned."""
        now = self.now()
        keys = {f"address {address[:60]}": patience.FREE_FOR_AN_ADDRESS}
        with self.records.transaction() as tx:
            wait = _count_try(tx, keys, now)
            account = None if wait else tx.accounts.take_pairing(digest_of(code), now)
            if account is not None and account.disabled_at is None:
                _take_back_try(tx, keys)
                return self._open(tx, account, device, now)
        if wait > 0:
            raise TooManyTriesError(wait)
        self._note(None, "login failed", now, device=device)
        raise NoEntryError("this code was used already or is too old; make a new one")

    def make_code(self, account_id: int) -> str:
        """Return a code that logs one device in as an account, once."""
        code, now = new_token(), self.now()
        with self.records.transaction() as tx:
            tx.accounts.add_pairing(
                account_id, digest_of(code), made_at=now, expires_at=now + CODE_LASTS_FOR
            )
        return code

    def who_is(self, token: str) -> Signed | None:
        """Return who holds a token; None where the login has ended."""
        now = self.now()
        with self.records.reading() as tx:
            signed = tx.accounts.signed(digest_of(token))
        if signed is None or signed.account.disabled_at is not None:
            return None
        login = signed.login
        if now >= login.expires_at or now - login.seen_at >= IDLE_FOR:
            return None
        if now - login.seen_at >= _SEEN_EVERY:
            with self.records.transaction() as tx:
                tx.accounts.seen(login.id, now)
        return signed

    def check_own(self, signed: Signed, password: str) -> None:
        """Check the password of somebody who is logged in, as slowly as at the login.

        Raises
        ------
        RefusedInputError
            Where it is another one.
        TooManyTriesError
            Where too many tries failed.
        """
        keys = {f"own {signed.account.id}": patience.FREE_FOR_AN_ACCOUNT}
        with self.records.transaction() as tx:
            wait = _count_try(tx, keys, self.now())
            kept = tx.accounts.password_hash(signed.account.id)
        if wait > 0:
            raise TooManyTriesError(wait)
        if len(password) > MOST_LETTERS or not self.hasher.fits(kept, as_typed(password)):
            raise RefusedInputError("the present password is another one")
        with self.records.transaction() as tx:
            _take_back_try(tx, keys)

    def anew(self, account_id: int, *, device: str) -> Opened:
        """Return a new login for a device whose old one has just ended."""
        with self.records.transaction() as tx:
            return self._open(tx, tx.accounts.get(account_id), device, self.now())

    def log_out(self, signed: Signed) -> None:
        """End a login."""
        with self.records.transaction() as tx:
            tx.accounts.end_login(signed.login.id)
            tx.trail.add(_line(signed.account, "logout", self.now(), device=signed.login.device))

    def _open(self, tx: Tx, account: Account, device: str, now: datetime) -> Opened:
        token = new_token()
        tx.accounts.forget_old(
            logins_before=now - IDLE_FOR, tries_before=now - patience.FORGOTTEN_AFTER
        )
        tx.accounts.add_login(
            account.id,
            digest_of(token),
            device=device[:200] or "a device",
            made_at=now,
            expires_at=now + LASTS_FOR,
        )
        tx.trail.add(_line(account, "login", now, device=device))
        return Opened(account, token)

    def _note(self, account: Account | None, what: What, now: datetime, *, device: str) -> None:
        with self.records.transaction() as tx:
            tx.trail.add(_line(account, what, now, device=device))


def _count_try(tx: Tx, keys: dict[str, int], now: datetime) -> float:
    """Count a try as failed until it succeeds; return how long to wait instead, s."""
    standing = {key: tx.accounts.tries(key) for key in keys}
    wait = max(patience.wait_s(standing[key], free=free, now=now) for key, free in keys.items())
    if wait == 0.0:
        for key, tries in standing.items():
            tx.accounts.put_tries(key, patience.one_more(tries, now))
    return wait


def _take_back_try(tx: Tx, keys: Iterable[str]) -> None:
    """Let a try that succeeded count no more."""
    for key in keys:
        tries = tx.accounts.tries(key)
        if key.startswith("account") or tries is None or tries.failures <= 1:
            tx.accounts.forget_tries(key)
        else:
            # One's own password must not wipe out what was tried on others from here.
            tx.accounts.put_tries(key, Tries(tries.failures - 1, tries.last_at))


def _line(account: Account | None, what: What, at: datetime, *, device: str) -> NewTrail:
    return NewTrail(
        at=at,
        # What was typed may be a password in the wrong field: it is not kept.
        who=account.name if account is not None else "nobody known",
        what=what,
        about="",
        account_id=None if account is None else account.id,
        device=device[:200],
    )
