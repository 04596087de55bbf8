"""Random words that open something; only their digests are kept."""

import hashlib
import hmac
import secrets

#: 256 random bits: nobody guesses them, so a plain SHA-256 is enough to keep them by.
_BYTES = 32


def new_token() -> str:
    """Return a new random word."""
    return secrets.token_urlsafe(_BYTES)


def new_password() -> str:
    """Return a password to be handed over and replaced: four groups, easily read out."""
    letters = "abcdefghjkmnpqrstuvwxyz23456789"
    # 31 letters to the 16th: 79 bits.
    groups = ("".join(secrets.choice(letters) for _ in range(4)) for _ in range(4))
    return "-".join(groups)


def digest_of(token: str) -> str:
    """Return what is kept of a word."""
    return hashlib.sha256(token.encode()).hexdigest()


def form_key(token: str) -> str:
    """Return what our own forms carry in a login; it tells nothing of the login's token."""
    return hmac.new(token.encode(), b"forms", hashlib.sha256).hexdigest()
