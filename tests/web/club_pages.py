"""A club whose screens are filled by hand, behind a site: squad, gymnasts, screens, sheets."""

import hashlib
import io
import itertools
import re
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import Any

from PIL import Image
from site_client import opened
from starlette.testclient import TestClient

from application_doubles import PRONE
from chordline.application.club.records import GymnastRecord, NewGymnast, NewPhoto
from chordline.application.measurement_json import measurement_to_json
from chordline.bootstrap import App
from chordline.core.body.measurement import Mark, Trust
from screen_stories import photo

MONDAY = date(2025, 9, 1)
MARCH = date(2025, 3, 3)
#: Closed shoulders, which nothing else explains.
CLOSED = {
    "prone-sides": {"hip": 0.0},
    "prone-overhead": {"hip": 0.0, "shoulder": -28.0},
    "prone-raised": {"hip": 0.0, "shoulder": -27.0},
    "prone-active": {"hip": 16.0, "shoulder": -29.0},
    "handstand": {"hip": 0.0, "shoulder": -27.0},
}


def jpeg() -> bytes:
    buffer = io.BytesIO()
    Image.new("RGB", (1600, 1200), (130, 140, 150)).save(buffer, "JPEG", quality=40)
    return buffer.getvalue()


@dataclass
class ClubSite:
    """A site with its application."""

    app: App
    client: TestClient

    def add(self, name: str, card: int | None = None, **more: Any) -> GymnastRecord:
        with self.app.records.transaction() as tx:
            return tx.gymnasts.add(self.app.club().id, NewGymnast(name, card=card, **more))

    def screen(
        self,
        her: GymnastRecord,
        tests: Mapping[str, Mapping[str, float]] = CLOSED,
        *,
        day: date = MONDAY,
        trust: Trust | None = None,
        kept: bool = False,
        judged: bool = True,
    ) -> int:
        """A screen whose photos are measured; judged as the worker would."""
        records = self.app.records
        with records.transaction() as tx:
            screen = tx.screens.on(her.id, day)
            for test, values in tests.items():
                name = f"{her.id}_{test}_{day}.jpg"
                store = self.app.photo_store
                hers = store.key_for(tx.keys, her.club_id, her.id)
                key = store.put(jpeg(), hers) if kept else None
                filed = tx.photos.file(
                    her.club_id,
                    NewPhoto(
                        name=name,
                        sha256=hashlib.sha256(name.encode()).hexdigest(),
                        size_bytes=10,
                        content_key=key,
                        screen_id=screen.id,
                        test=test,
                    ),
                ).photo
                marks = {at: Mark(x, y, 3.0, "hand") for at, (x, y) in PRONE.items()}
                measurement = replace(photo(test, values, name=name, trust=trust), landmarks=marks)
                tx.photos.save_measurement(
                    filed.id,
                    measurement_to_json(measurement),
                    revision=filed.revision,
                    marks_version=None,
                    catalogue=self.app.catalogue.version,
                )
        if judged:
            self.app.judge_screen(screen.id)
        return screen.id

    def page(self, address: str, status: int = 200) -> str:
        answer = self.client.get(address)
        assert answer.status_code == status, answer.text
        return answer.text

    def post(self, address: str, **fields: Any) -> Any:
        return self.client.post(address, data=fields)

    def limiters(self, screen_id: int) -> list[str]:
        """What the stored findings, which the squad table shows, say."""
        with self.app.records.reading() as tx:
            findings = tx.screens.view(screen_id).findings
        assert findings is not None
        assert findings.up_to_date
        return [one["capacity"] for one in findings.record["limiters"]]


@contextmanager
def open_club(folder: Path) -> Iterator[ClubSite]:
    with opened(folder) as (app, client):
        yield ClubSite(app, client)


def words_of(page: str) -> str:
    """What a page says, without its marks and drawings' names."""
    text = re.sub(r"<(title|desc|style)[^>]*>.*?</\1>", " ", page, flags=re.DOTALL)
    return " ".join(re.sub(r"<[^>]+>", " ", text).replace("\u00a0", " ").split())


def level_faults(page: str) -> list[str]:
    """Headings that skip a level."""
    levels = [int(level) for level in re.findall(r"<h([1-6])\b", page)]
    assert levels.count(1) == 1
    steps = itertools.pairwise(levels)
    return [f"h{a} then h{b}" for a, b in steps if b > a + 1]
