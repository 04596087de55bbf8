"""Small keys inside others: derived, wrapped, and compared."""

import hmac
import secrets
from hashlib import sha256

from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.kdf.hkdf import HKDF

KEY_BYTES = 32
_NONCE_BYTES = 12


def derive(key: bytes, purpose: str) -> bytes:
    """Return the key for one purpose (HKDF-SHA256, RFC 5869); one key never serves two."""
    return HKDF(SHA256(), length=KEY_BYTES, salt=None, info=purpose.encode()).derive(key)


def wrap(inner: bytes, under: bytes, *, name: str) -> bytes:
    """Return a key encrypted under another, bound to its name (AES-256-GCM, random nonce)."""
    nonce = secrets.token_bytes(_NONCE_BYTES)
    return nonce + AESGCM(under).encrypt(nonce, inner, name.encode())


def unwrap(wrapped: bytes, under: bytes, *, name: str) -> bytes | None:
    """Return the key, or None where it was wrapped under another key or name, or is damaged."""
    nonce, text = wrapped[:_NONCE_BYTES], wrapped[_NONCE_BYTES:]
    if len(nonce) < _NONCE_BYTES:
        return None
    try:
        return AESGCM(under).decrypt(nonce, text, name.encode())
    except InvalidTag:
        return None


def seal_of(text: bytes, key: bytes) -> bytes:
    """Return the HMAC-SHA256 of a text."""
    return hmac.new(key, text, sha256).digest()
