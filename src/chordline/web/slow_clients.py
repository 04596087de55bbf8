"""Connections of which nothing comes any more: closed, so that nobody can hold them all."""

import asyncio
from typing import Any, Final

import h11
from uvicorn.protocols.http.h11_impl import H11Protocol

#: The whole head of a request comes within so long [s]: a slow phone needs one (assumption).
HEAD_S: Final = 20.0
#: Of a body nothing may be missing for so long [s]: a tablet that walks out of reach of the hall's
#: network and back sends anew anyway (assumption).
BODY_S: Final = 60.0


class BoundedConnection(H11Protocol):
    """HTTP/1.1 as uvicorn speaks it, with bounds on how long a request may be on its way.

    A head has to be whole in time, however steadily it trickles in; a body may take as long as it
    likes while it goes on. How long an answer takes is not bounded, and idle connections are
    uvicorn's own concern.
    """

    def __init__(self, *args: Any, **more: Any) -> None:
        super().__init__(*args, **more)
        self._deadline: asyncio.TimerHandle | None = None
        self._waits_for_head = False

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """Begin to wait for the first head."""
        super().connection_made(transport)
        self._wait_for_head()

    def data_received(self, data: bytes) -> None:
        """Wait for what the request lacks still."""
        super().data_received(data)
        if self.conn.their_state is h11.IDLE:
            if not self._waits_for_head:
                self._wait_for_head()
        elif self.conn.their_state is h11.SEND_BODY:
            self._wait(BODY_S)
        else:
            self._stop_waiting()

    def connection_lost(self, exc: Exception | None) -> None:
        """Wait for nothing more."""
        self._stop_waiting()
        super().connection_lost(exc)

    def _wait_for_head(self) -> None:
        self._wait(HEAD_S)
        self._waits_for_head = True

    def _wait(self, seconds: float) -> None:
        self._stop_waiting()
        self._deadline = self.loop.call_later(seconds, self._late)

    def _stop_waiting(self) -> None:
        self._waits_for_head = False
        if self._deadline is not None:
            self._deadline.cancel()
            self._deadline = None

    def _late(self) -> None:
        if self.flow.read_paused:  # it is we who do not listen now
            self._wait(BODY_S)
        else:
            self.transport.close()
