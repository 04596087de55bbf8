"""A real socket with the club's certificate: https answers, plain http is told what to do."""

import http.client
import socket
import ssl
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
import uvicorn
from account_stories import PASSWORDS, club_with_accounts

from chordline.adapters.tls.context import server_context
from chordline.bootstrap import App
from chordline.cli import serve
from chordline.errors import WrongUseError
from chordline.web.door import Door
from chordline.web.server import server_config


@pytest.fixture(scope="module")
def shared(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[int, Path]]:
    """Yield the port of a shared club, and the file of the authority to trust."""
    folder = tmp_path_factory.mktemp("shared")
    door = Door(address="https://127.0.0.1")
    with club_with_accounts(folder, door=door) as club:
        certificates = club.app.certificates()
        served = certificates.serve(())
        context = server_context(served.chain, served.key)
        config = server_config(club.client.app, context=context)
        config.port, config.lifespan = 0, "off"
        server = uvicorn.Server(config)
        thread = threading.Thread(target=server.run, daemon=True)
        thread.start()
        deadline = time.monotonic() + 20
        while not server.started:
            assert time.monotonic() < deadline, "the server did not start"
            time.sleep(0.02)
        yield int(server.servers[0].sockets[0].getsockname()[1]), folder / "tls" / "club.pem"
        server.should_exit = True
        thread.join(20)


def test_who_trusts_the_club_logs_in_over_https(shared: tuple[int, Path]) -> None:
    port, authority = shared
    trusting = ssl.create_default_context(cafile=authority)
    link = http.client.HTTPSConnection("127.0.0.1", port, context=trusting, timeout=10)
    link.request("GET", "/squad")
    answer = link.getresponse()
    answer.read()
    assert (answer.status, answer.headers["location"]) == (303, "/login?to=%2Fsquad")
    origin = f"https://127.0.0.1:{port}"
    said = f"name=Cleo&password={PASSWORDS['Cleo'].replace(' ', '+')}"
    headers = {"Origin": origin, "Content-Type": "application/x-www-form-urlencoded"}
    link.request("POST", "/login", said, headers)
    answer = link.getresponse()
    answer.read()
    cookie = answer.headers["set-cookie"]
    assert cookie.startswith("__Host-chordline-login=")
    assert "Secure" in cookie
    link.request("GET", "/squad", headers={"Cookie": cookie.partition(";")[0]})
    assert link.getresponse().status == 200
    link.close()


def test_who_does_not_trust_it_is_warned(shared: tuple[int, Path]) -> None:
    link = http.client.HTTPSConnection("127.0.0.1", shared[0], timeout=10)
    with pytest.raises(ssl.SSLCertVerificationError):
        link.request("GET", "/")


def test_who_forgets_the_s_of_https_is_told(shared: tuple[int, Path]) -> None:
    link = http.client.HTTPConnection("127.0.0.1", shared[0], timeout=10)
    link.request("GET", "/")
    answer = link.getresponse()
    assert answer.status == 400
    assert b"https only" in answer.read()


def test_old_tls_is_refused(shared: tuple[int, Path]) -> None:
    old = ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)
    old.check_hostname, old.verify_mode = False, ssl.CERT_NONE
    with pytest.warns(DeprecationWarning, match="TLS"):
        old.maximum_version = ssl.TLSVersion.TLSv1_1
    plain = socket.create_connection(("127.0.0.1", shared[0]), timeout=10)
    with plain, pytest.raises(OSError, match=r"(?i)protocol|version|ssl|eof|reset"):
        old.wrap_socket(plain)


@pytest.mark.parametrize("how", [{"share": True}, {"host": "0.0.0.0"}, {"host": "192.168.1.7"}])
def test_nothing_is_opened_to_others_without_accounts(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, how: dict[str, object]
) -> None:
    def listen(*_: object) -> None:
        raise AssertionError("it listened")

    monkeypatch.setattr(serve, "_listen", listen)
    with pytest.raises(WrongUseError, match="chordline account add NAME --role lead"):
        serve.serve(port=0, data=tmp_path, no_browser=True, **{"share": False, "host": None, **how})


def test_a_club_whose_leads_have_all_left_is_not_shared(tmp_path: Path) -> None:
    app = App(data=tmp_path)
    app.accounts.add(app.club().id, "Lea", role="lead", password=PASSWORDS["Lea"])
    serve.check_accounts(app)
    with app.records.transaction() as tx:
        account = tx.accounts.all(app.club().id)[0]
        tx.accounts.set_disabled(account.id, account.created_at)
    with pytest.raises(WrongUseError):
        serve.check_accounts(app)
    app.records.close()
