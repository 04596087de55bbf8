"""The site behind a real server in this process, and pictures to send to it."""

import io
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager

import uvicorn
from PIL import Image

from chordline.bootstrap import App
from chordline.web.server import server_config
from chordline.web.site import make_site


def jpeg(shade: int = 127, size: tuple[int, int] = (1600, 1200)) -> bytes:
    """A grey picture; another shade is another photo."""
    buffer = io.BytesIO()
    # Neighbouring shades may be one after compression; the comment tells them apart.
    comment = f"shade {shade}"
    Image.new("RGB", size, (shade,) * 3).save(buffer, "JPEG", quality=40, comment=comment)
    return buffer.getvalue()


@contextmanager
def listening(app: App, *, measure: bool) -> Iterator[int]:
    """Yield the port of a free place where the site listens."""
    config = server_config(make_site(app, measure=measure))
    config.port, config.log_level = 0, "error"
    server = uvicorn.Server(config)
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    deadline = time.monotonic() + 20
    while not server.started:
        assert time.monotonic() < deadline, "the server did not start"
        time.sleep(0.02)
    try:
        yield int(server.servers[0].sockets[0].getsockname()[1])
    finally:
        server.should_exit = True
        thread.join(20)
        app.records.close()
