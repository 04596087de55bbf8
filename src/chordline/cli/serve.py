"""`chordline serve`: the pages."""

import gc
import socket
import ssl
import threading
import webbrowser
from collections.abc import Callable
from contextlib import suppress
from datetime import datetime
from ipaddress import ip_address
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from chordline.bootstrap import App, build_app
from chordline.cli.console import complain, remark
from chordline.errors import WrongUseError

if TYPE_CHECKING:
    from chordline.adapters.tls.certificates import Served
    from chordline.web.door import Door

DEFAULT_PORT = 8765
_LOOPBACK = "127.0.0.1"
#: Looked at so often whether the certificate has to be renewed [s].
_A_DAY_S = 24 * 3600.0


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
        typer.Option("--share", help="Let devices in this network in: accounts and https."),
    ] = False,
    host: Annotated[
        str | None,
        typer.Option("--host", metavar="ADDRESS", help="Listen on one address of this machine."),
    ] = None,
    no_browser: Annotated[
        bool, typer.Option("--no-browser", help="Do not open a browser.")
    ] = False,
) -> None:
    """Open the club in the browser: roster, screening, marks, findings.

    Only this machine is served, unless --share is given: then tablets in the same network can come
    in. For that there must be accounts, and what goes between the devices is encrypted with a
    certificate that chordline makes for the club. The code that is shown lets one tablet in.
    """
    import uvicorn  # noqa: PLC0415

    from chordline.web.server import server_config  # noqa: PLC0415
    from chordline.web.site import make_site  # noqa: PLC0415

    app = build_app(data=data)
    wide = share or not _is_loopback(host)
    if wide:
        check_accounts(app)
    listening = _listen(host or ("0.0.0.0" if share else _LOOPBACK), port)
    port = listening.getsockname()[1]
    if wide:
        door, context = _shared(app, host, port)
        here = f"https://{_in_address(_there(host))}:{port}/"
    else:
        door, context = None, None
        here = f"http://{_in_address(host or _LOOPBACK)}:{port}/"
    site = make_site(app, door=door)
    typer.echo(f"chordline is open at {here}")
    if door is not None and door.address is not None:
        _invite(app, door.address)
    if app.poses is None:
        complain("The pose weights are missing; 'chordline weights' installs them.")
    remark("Ctrl-C ends it; nothing is lost, measuring goes on at the next start.")
    if not no_browser:
        threading.Timer(0.8, webbrowser.open, [here]).start()
    # What is loaded now stays: looking through all of it for garbage would hold up a page.
    _ = app.catalogue, app.judge_screen
    gc.collect()
    gc.freeze()
    config = server_config(site, context=context)
    uvicorn.Server(config).run(sockets=[listening])


def check_accounts(app: App) -> None:
    """Raise `WrongUseError` where other devices would come in without logging in."""
    leads = [one for one in app.accounts.all(app.club().id) if one.role == "lead"]
    if all(one.disabled_at is not None for one in leads):
        raise WrongUseError(
            "other devices come in with accounts only, and there are none yet. Make yours: "
            "chordline account add NAME --role lead"
        )


def _shared(app: App, host: str | None, port: int) -> tuple["Door", ssl.SSLContext]:
    from chordline.adapters.tls.certificates import is_private  # noqa: PLC0415
    from chordline.adapters.tls.context import server_context  # noqa: PLC0415
    from chordline.web.door import Door  # noqa: PLC0415

    address = _there(host)
    hosts = (address, *(_own_names() if host is None else ()))
    certificates = app.certificates()
    served = certificates.serve(hosts)
    context = server_context(served.chain, served.key)
    door = Door(
        hosts=hosts,
        address=f"https://{_in_address(address)}:{port}",
        certificate=served.authority,
        fingerprint=served.authority_fingerprint,
    )
    _tell_certificate(served)
    if not is_private(address):
        complain(
            f"{address} is no address of a private network: unless a firewall stands before it, "
            "the whole world can reach this machine."
        )

    def renew() -> None:
        with suppress(OSError, ssl.SSLError):
            again = certificates.serve(hosts)
            context.load_cert_chain(again.chain, again.key)
        _later(renew)

    _later(renew)
    return door, context


def _later(renew: Callable[[], None]) -> None:
    timer = threading.Timer(_A_DAY_S, renew)
    timer.daemon = True
    timer.start()


def _tell_certificate(served: "Served") -> None:
    until: datetime = served.until
    remark(f"Certificate of this machine, until {until:%Y-%m-%d}, SHA-256:")
    remark(f"  {served.fingerprint}")
    remark("The club's certificate, which tablets install once (compare the letters), SHA-256:")
    remark(f"  {served.authority_fingerprint}")


def _invite(app: App, there: str) -> None:
    from chordline.web.pages.pair import code_address  # noqa: PLC0415

    lead = next(
        one
        for one in app.accounts.all(app.club().id)
        if one.role == "lead" and one.disabled_at is None
    )
    typer.echo(f"Other devices in this network: {there}/")
    remark(f"How a tablet comes to trust it: {there}/certificate")
    address = code_address(there, app.come_in.make_code(lead.id))
    typer.echo(f"This code lets one device in as {lead.name}, once, within ten minutes:")
    typer.echo(address)
    _draw_code(address)


def _is_loopback(host: str | None) -> bool:
    if host is None or host == "localhost":
        return True
    try:
        return ip_address(host).is_loopback
    except ValueError:
        raise WrongUseError(
            f"'{host}' is no address; give one of this machine's, e.g. 192.168.1.7"
        ) from None


def _there(host: str | None) -> str:
    """Return the address by which other devices find this machine."""
    if host is None or ip_address(host).is_unspecified:
        return _own_address()
    return host


def _in_address(host: str) -> str:
    return f"[{host}]" if ":" in host else host


def _own_names() -> tuple[str, ...]:
    name = socket.gethostname().partition(".")[0].lower()
    return (f"{name}.local",) if name.replace("-", "").isalnum() else ()


def _listen(host: str, port: int) -> socket.socket:
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    # Only where the protocol is named does asyncio send small answers at once.
    listening = socket.socket(family, socket.SOCK_STREAM, socket.IPPROTO_TCP)
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
