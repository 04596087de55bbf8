"""TLS as the pages are served, with a sentence for whoever forgets the s of https."""

import ssl
from pathlib import Path
from typing import Any

_SENTENCE = b"chordline answers here with https only: write https:// before the address.\n"
_ANSWER = (
    b"HTTP/1.1 400 Bad Request\r\nContent-Type: text/plain; charset=utf-8\r\n"
    b"Connection: close\r\nContent-Length: %d\r\n\r\n%b" % (len(_SENTENCE), _SENTENCE)
)


class _PoliteSocket(ssl.SSLObject):
    """Answers a request that is not encrypted, instead of hanging up without a word."""

    outgoing: ssl.MemoryBIO
    told: bool = False

    def do_handshake(self) -> None:
        try:
            super().do_handshake()
        except ssl.SSLError as error:
            if error.reason != "HTTP_REQUEST" or self.told:
                raise
            self.told = True
            self.outgoing.write(_ANSWER)
            # What is written goes out only where more is waited for; the other side closes.
            raise ssl.SSLWantReadError from None


class PoliteContext(ssl.SSLContext):
    """A context for servers whose objects answer plain requests."""

    sslobject_class = _PoliteSocket

    def wrap_bio(self, incoming: Any, outgoing: Any, *args: Any, **how: Any) -> ssl.SSLObject:
        """Return an object that knows where its answers go."""
        made = super().wrap_bio(incoming, outgoing, *args, **how)
        if isinstance(made, _PoliteSocket):
            made.outgoing = outgoing
        return made


def server_context(chain: Path, key: Path) -> ssl.SSLContext:
    """Return the context of a server: TLS 1.2 or newer (RFC 8996 forbids older)."""
    context = PoliteContext(ssl.PROTOCOL_TLS_SERVER)
    context.minimum_version = ssl.TLSVersion.TLSv1_2
    context.load_cert_chain(chain, key)
    return context
