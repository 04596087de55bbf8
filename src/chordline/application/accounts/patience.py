"""How long one waits after logins that failed.

NIST SP 800-63B-4, 3.2.2: at most 100 failures in a row, and growing delays as one way to get
there. The numbers are ours (assumption): a coach who mistypes four times waits for nothing, and who
guesses all day at one account has about a hundred guesses.
"""

from datetime import datetime, timedelta

from chordline.application.accounts.records import Tries
from chordline.application.accounts.tokens import digest_of
from chordline.application.club.names import name_key

#: Failures of one account after which one waits.
FREE_FOR_AN_ACCOUNT = 4
#: A whole club may come from one address.
FREE_FOR_AN_ADDRESS = 20
_FIRST_WAIT_S = 5
_LONGEST_WAIT_S = 900
#: After a quiet day nothing is held against anybody.
FORGOTTEN_AFTER = timedelta(days=1)


def account_key(name: str) -> str:
    """Return what the failures of a name are kept by; not the name, which may be a password."""
    return f"account {digest_of(name_key(name))[:32]}"


def wait_s(tries: Tries | None, *, free: int, now: datetime) -> float:
    """Return how long to wait before the next login, s; 0 = now.

    The wait doubles with every failure beyond the free ones, to a quarter of an hour.
    """
    if tries is None or tries.failures < free or now - tries.last_at > FORGOTTEN_AFTER:
        return 0.0
    doublings = min(tries.failures - free, 20)
    whole = min(_FIRST_WAIT_S * 2.0**doublings, _LONGEST_WAIT_S)
    return max(0.0, whole - (now - tries.last_at).total_seconds())


def one_more(tries: Tries | None, now: datetime) -> Tries:
    """Return what failed, with a failure more."""
    kept = tries if tries is not None and now - tries.last_at <= FORGOTTEN_AFTER else None
    return Tries((kept.failures if kept else 0) + 1, now)
