"""A club with gymnasts and photos behind a site, as the tests of its pages need it."""

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from site_client import opened
from starlette.testclient import TestClient

from application_doubles import PRONE, FakePoses, body_of
from chordline.adapters.pose.weights import FOLDER_VARIABLE
from chordline.application.club.records import GymnastRecord, NewGymnast
from chordline.bootstrap import App
from gym_site import jpeg

#: Where the gymnast lies whom the finder finds, in a picture of 1600 × 1200 pixels.
MARKS = {name: {"x_px": x, "y_px": y, "sd_px": 4.0} for name, (x, y) in PRONE.items()}


@dataclass
class Gym:
    """A site, its application, and two gymnasts with cards 11 and 12."""

    app: App
    client: TestClient
    mila: GymnastRecord
    ida: GymnastRecord

    def send(self, name: str, content: bytes, **query: Any) -> Any:
        return self.client.post("/api/photos", params={"name": name, **query}, content=content)

    def take_in(self, name: str = "11_prone-overhead.jpg", shade: int = 127, **query: Any) -> int:
        """A photo of the site, not measured yet."""
        answer = self.send(name, jpeg(shade), **query)
        assert answer.status_code == 201, answer.text
        return int(answer.json()["id"])

    def measure(self) -> None:
        """Let the worker do what waits."""
        work = self.app.work_off()
        while work("test") is not None:
            pass

    def measured(self, name: str = "11_prone-overhead.jpg", shade: int = 127) -> int:
        photo_id = self.take_in(name, shade)
        self.measure()
        return photo_id

    def photo(self, photo_id: int) -> dict[str, Any]:
        told = self.client.get(f"/api/photos/{photo_id}").json()
        assert isinstance(told, dict)
        return told

    def save(self, photo_id: int, *, version: int = 0, moved_px: float = 0.0, **more: Any) -> Any:
        marks = {**MARKS, "hip": {**MARKS["hip"], "y_px": MARKS["hip"]["y_px"] + moved_px}}
        body = {"near_side": "left", "landmarks": marks, "version": version, **more}
        return self.client.put(f"/api/photos/{photo_id}/marks", json=body)

    def look(self) -> list[int]:
        return [one["id"] for one in self.client.get("/api/look").json()["photos"]]


@contextmanager
def open_gym(
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    *,
    finder: FakePoses | None,
    begun: Path | None = None,
) -> Iterator[Gym]:
    """A gym in a folder of its own; `begun`: the folder of a gym that it is a copy of."""
    weights = tmp_path / "no weights"
    weights.mkdir()
    monkeypatch.setenv(FOLDER_VARIABLE, str(weights))
    if begun is not None:
        shutil.copytree(begun / "club", tmp_path / "club")
    with opened(tmp_path / "club") as (app, client):
        app.__dict__["poses"] = finder
        club = app.club()
        with app.records.transaction() as tx:
            if begun is None:
                tx.gymnasts.add(club.id, NewGymnast("Mila Berg", card=11))
                tx.gymnasts.add(club.id, NewGymnast("Ida Sol", card=12))
            mila, ida = (tx.gymnasts.with_card(club.id, card) for card in (11, 12))
        assert mila is not None
        assert ida is not None
        yield Gym(app, client, mila, ida)


def finder(**how: Any) -> FakePoses:
    """Finds one girl on her stomach in every picture."""
    return FakePoses((body_of(PRONE, **how),), shrink=1.0)
