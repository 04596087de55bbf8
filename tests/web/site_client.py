"""A site on a fresh club, asked in process."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from starlette.testclient import TestClient

from chordline.bootstrap import App
from chordline.web.door import Door
from chordline.web.site import make_site

HERE = "http://127.0.0.1"


@contextmanager
def opened(folder: Path, *, door: Door | None = None) -> Iterator[tuple[App, TestClient]]:
    app = App(data=folder)
    site = make_site(app, door=door, measure=False)
    with TestClient(site, base_url=HERE, follow_redirects=False) as client:
        yield app, client
    app.records.close()
