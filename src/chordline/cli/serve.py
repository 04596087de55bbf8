"""`chordline serve`: the pages."""

import gc
import secrets
import socket
import threading
import webbrowser
from pathlib import Path
from typing import Annotated

import typer

from chordline.bootstrap import build_app
from chordline.cli.console import complain, remark
from chordline.errors import WrongUseError

DEFAULT_PORT = 8765


def serve(
    port: Annotated[
        int, typer.Option("--port", min=0, max=65535, help="Port; 0 takes any free one.")
    ] = DEFAULT_PORT,
    data: Annotated[
        Path | None,
        typer.Option("--data", metavar="DIR", help="Folder of the club's records and pictures."),
    ] = None,
    share: Annotated[
        bool,
        typer.Option("--share", help="Let other devices in this network in, with a key."),
    ] = False,
    no_browser: Annotated[
        bool, typer.Option("--no-browser", help="Do not open a browser.")
    ] = False,
) -> None:
    """Open the club in the browser: roster, screening, marks, findings.

    Only this machine is served, unless --share is given: then tablets in the same network can come
    in with the key that is shown. What goes between them is not encrypted; share only in a network
    that you trust, never in an open one.
    """
    import uvicorn  # noqa: PLC0415

    from chordline.web.door import KEY_PARAMETER, Door  # noqa: PLC0415
    from chordline.web.site import make_site  # noqa: PLC0415

    app = build_app(data=data)
    listening = _listen("0.0.0.0" if share else "127.0.0.1", port)
    port = listening.getsockname()[1]
    door = Door()
    if share:
        own = _own_address()
        door = Door(hosts=(own,), key=secrets.token_urlsafe(18))
    site = make_site(app, door=door)
    suffix = "" if door.key is None else f"?{KEY_PARAMETER}={door.key}"
    here = f"http://127.0.0.1:{port}/{suffix}"
    typer.echo(f"chordline is open at {here}")
    if share:
        there = f"http://{door.hosts[0]}:{port}/{suffix}"
        typer.echo(f"Other devices in this network: {there}")
        _draw_code(there)
        complain(
            "Shared: what goes between the devices is not encrypted. Only in a network that you "
            "trust; end it with Ctrl-C when the session is over."
        )
    if app.poses is None:
        complain("The pose weights are missing; 'chordline weights' installs them.")
    remark("Ctrl-C ends it; nothing is lost, measuring goes on at the next start.")
    if not no_browser:
        threading.Timer(0.8, webbrowser.open, [here]).start()
    # What is loaded now stays: looking through all of it for garbage would hold up a page.
    _ = app.catalogue, app.judge_screen
    gc.collect()
    gc.freeze()
    config = uvicorn.Config(site, log_level="warning", access_log=False, server_header=False)
    uvicorn.Server(config).run(sockets=[listening])


def _listen(host: str, port: int) -> socket.socket:
    # Only where the protocol is named does asyncio send small answers at once.
    listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listening.bind((host, port))
        # From here on a browser that is quick waits instead of being refused.
        listening.listen(128)
    except OSError as error:
        listening.close()
        raise WrongUseError(
            f"port {port} cannot be used ({error.strerror}); another chordline may be open. "
            "Choose another with --port, or --port 0 for any free one"
        ) from None
    return listening


def _own_address() -> str:
    """Return this machine's address in its network; nothing is sent for it."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            # A datagram socket that is connected, and never used, names the way out.
            probe.connect(("192.0.2.1", 9))
            return str(probe.getsockname()[0])
        except OSError:
            raise WrongUseError(
                "this machine is in no network, so there is nobody to share with"
            ) from None


def _draw_code(address: str) -> None:
    import segno  # noqa: PLC0415

    segno.make(address, error="m").terminal(compact=True)
