"""Who begins to say something and does not go on is hung up on; who goes on slowly is not."""

import asyncio
import socket
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import closing
from typing import Any

import pytest
import uvicorn
from starlette.applications import Starlette

from chordline.web import slow_clients
from chordline.web.server import server_config
from chordline.web.slow_clients import BoundedConnection

#: Bounds in these tests [s]; the real ones would be waited for too long.
HEAD_S, BODY_S = 0.3, 0.4
HEAD = b"POST /count HTTP/1.1\r\nHost: x\r\nContent-Length: 4\r\n"


class Listener:
    """A site that tells how long a body was, or that it broke off; it takes its time for /slow."""

    def __init__(self) -> None:
        self.broke_off = threading.Event()
        config = uvicorn.Config(
            self.answer,
            interface="asgi3",
            port=0,
            log_level="critical",
            lifespan="off",
            http=BoundedConnection,
        )
        self.server = uvicorn.Server(config)
        self.thread = threading.Thread(target=self.server.run, daemon=True)

    async def answer(
        self, scope: Any, receive: Callable[..., Any], send: Callable[..., Any]
    ) -> None:
        size, more = 0, True
        while more:
            said = await receive()
            if said["type"] == "http.disconnect":
                self.broke_off.set()
                return
            size, more = size + len(said["body"]), said["more_body"]
        if scope["path"] == "/slow":
            await asyncio.sleep(3.0 * BODY_S)
        body = str(size).encode()
        headers = [(b"content-length", str(len(body)).encode())]
        await send({"type": "http.response.start", "status": 200, "headers": headers})
        await send({"type": "http.response.body", "body": body})

    def connect(self) -> socket.socket:
        port = self.server.servers[0].sockets[0].getsockname()[1]
        return socket.create_connection(("127.0.0.1", port), timeout=10.0)


@pytest.fixture(scope="module")
def listener() -> Iterator[Listener]:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(slow_clients, "HEAD_S", HEAD_S)
        patch.setattr(slow_clients, "BODY_S", BODY_S)
        listener = Listener()
        listener.thread.start()
        while not listener.server.started:
            time.sleep(0.01)
        yield listener
        listener.server.should_exit = True
        listener.thread.join(10.0)


def answer_on(connection: socket.socket) -> bytes:
    """What comes until a body of one figure is there, or nothing more comes."""
    heard = b""
    while not heard.partition(b"\r\n\r\n")[2]:
        piece = connection.recv(1000)
        if not piece:
            break
        heard += piece
    return heard


def trickle(connection: socket.socket, content: bytes, *, every_s: float) -> None:
    for byte in content:
        connection.sendall(bytes([byte]))
        time.sleep(every_s)


@pytest.mark.parametrize("begun", [b"", b"GET / HT", HEAD])
def test_half_a_head_is_not_waited_for(listener: Listener, begun: bytes) -> None:
    with closing(listener.connect()) as connection:
        connection.sendall(begun)
        assert connection.recv(100) == b""


def test_a_head_that_trickles_in_is_not_waited_for_either(listener: Listener) -> None:
    with (
        closing(listener.connect()) as connection,
        pytest.raises((BrokenPipeError, ConnectionResetError)),
    ):
        trickle(connection, b"GET / HTTP/1.1\r\nX: " + b"y" * 200, every_s=0.02)


def test_a_body_that_stops_is_not_waited_for(listener: Listener) -> None:
    listener.broke_off.clear()
    with closing(listener.connect()) as connection:
        connection.sendall(HEAD + b"\r\nab")
        assert connection.recv(100) == b""
    assert listener.broke_off.wait(5.0), "the site is told"


def test_a_body_that_goes_on_may_take_longer_than_a_pause_may(listener: Listener) -> None:
    with closing(listener.connect()) as connection:
        connection.sendall(HEAD + b"\r\n")
        trickle(connection, b"abcd", every_s=0.6 * BODY_S)
        assert answer_on(connection).endswith(b"\r\n\r\n4")


def test_an_answer_may_take_its_time(listener: Listener) -> None:
    with closing(listener.connect()) as connection:
        connection.sendall(b"GET /slow HTTP/1.1\r\nHost: x\r\n\r\n")
        assert answer_on(connection).startswith(b"HTTP/1.1 200")


def test_the_second_request_of_a_connection_is_bounded_like_the_first(listener: Listener) -> None:
    with closing(listener.connect()) as connection:
        connection.sendall(HEAD + b"\r\nabcd")
        assert answer_on(connection).endswith(b"\r\n\r\n4")
        connection.sendall(HEAD)
        begun = time.monotonic()
        assert connection.recv(100) == b""
        assert time.monotonic() - begun < 4.0, "before an idle connection would have been closed"


def test_our_site_is_served_so() -> None:
    config = server_config(Starlette())
    config.load()
    assert config.http_protocol_class is BoundedConnection
    assert config.ws_protocol_class is None
