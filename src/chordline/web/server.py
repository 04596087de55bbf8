"""How our site is served: what uvicorn is told wherever it runs."""

import ssl

import uvicorn
from starlette.applications import Starlette

from chordline.web.slow_clients import BoundedConnection


def server_config(site: Starlette, *, context: ssl.SSLContext | None = None) -> uvicorn.Config:
    """Return the configuration of a server of the site; with `context` it speaks https."""
    return uvicorn.Config(
        site,
        http=BoundedConnection,
        ws="none",
        log_level="warning",
        access_log=False,
        server_header=False,
        # Who asks is who is connected: nobody may say otherwise in a header.
        proxy_headers=False,
        ssl_context_factory=None if context is None else lambda *_: context,
    )
