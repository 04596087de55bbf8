"""Builds a large club and prints what its pages ask of the records, and how long that takes.

    python tools/bench_records.py [--gymnasts 5000] [--photos 100000] [--repeats 200]
                                  [--address sqlite:///FILE | postgresql://…]

Without an address the club is built in a temporary file.
"""

import argparse
import hashlib
import random
import statistics
import tempfile
import time
from collections.abc import Callable, Iterator
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from sqlalchemy import Table, text

from chordline.adapters.db.records import SqlRecords, now_utc, open_records
from chordline.adapters.db.rows import marks_values
from chordline.adapters.db.schema import (
    CLUB,
    FINDINGS,
    GROUP_MEMBER,
    GYM_GROUP,
    GYMNAST,
    MARKS,
    MEASUREMENT,
    PHOTO,
    SCREEN,
)
from chordline.adapters.db.search_keys import name_key
from chordline.application.club.records import NewPhoto, worry_of
from chordline.application.club.views import GymnastQuery
from chordline.application.marks import HandMarks
from chordline.conventions import LANDMARKS
from chordline.core.body.measurement import Mark

FIRST_DAY = date(2024, 9, 1)
TESTS = ("prone-sides", "prone-overhead", "supine-sides", "hold-front", "handstand")
MEASURES = ("shoulder", "hip", "knee", "bow_max", "bow_rms", "trunk_hollow", "rounding", "neck")
SYLLABLES = ("an", "be", "cla", "di", "el", "fi", "ga", "hel", "is", "jo", "ka", "li", "ma", "no")
Work = Callable[[], object]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--gymnasts", type=int, default=5_000)
    parser.add_argument("--photos", type=int, default=100_000)
    parser.add_argument("--repeats", type=int, default=200)
    parser.add_argument("--address")
    said = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "club.db"
        records = open_records(said.address or f"sqlite:///{file}")
        started = time.perf_counter()
        build_club(records, gymnasts=said.gymnasts, photos=said.photos)
        size = f", {file.stat().st_size / 1e6:.0f} MB" if file.exists() else ""
        print(f"built in {time.perf_counter() - started:.0f} s{size}")
        print_table(records, gymnasts=said.gymnasts, repeats=said.repeats)
        records.close()


def hand_marks(chance: random.Random) -> HandMarks:
    marks = {
        name: Mark(chance.uniform(0, 4000), chance.uniform(0, 3000), 4.0, "hand")
        for name in LANDMARKS
    }
    return HandMarks("left", "down", marks)


def measurement_record(chance: random.Random, photo: str, test: str) -> dict[str, Any]:
    """A record of the usual size."""
    accepted = chance.random() > 0.02
    number = lambda: round(chance.uniform(-30, 30), 3)  # noqa: E731
    return {
        "schema": "chordline.measurement/1",
        "photo": photo,
        "test": test,
        "near_side": "left",
        "front": "down",
        "image": {"width_px": 4000, "height_px": 3000, "sha256": "0" * 64},
        "landmarks": marks_values(hand_marks(chance))["landmarks"],
        "measures": {
            f"{name}_deg": {
                "value": number(),
                "sd": 1.5,
                "unit": "deg",
                "systematic": {"yaw": number(), "pitch": number(), "near_side_parallax": number()},
            }
            for name in MEASURES
        },
        "covariance": [[number() for _ in MEASURES] for _ in MEASURES],
        "trust": {
            "accepted": accepted,
            "reasons": []
            if accepted
            else ["which way she faces was guessed"] * chance.randint(1, 4),
        },
        "cautions": ["the phone stood high; put it on the mat's edge"],
        "model": "heavy",
    }


def findings_record(chance: random.Random) -> dict[str, Any]:
    return {
        "schema": "chordline.findings/1",
        "capacities": {
            f"capacity_{i}_deg": {
                "mean": round(chance.uniform(-5, 30), 3),
                "sd": 4.0,
                "p_limiter": round(chance.random(), 4),
                "verdict": "short",
                "words": "short of the line by about a hand's breadth",
            }
            for i in range(10)
        },
        "limiters": [{"capacity": "capacity_1_deg", "p": 0.9, "reasons": ["a sentence " * 8] * 3}],
    }


class Invented:
    """Records of the usual size that nobody could judge."""

    catalogue = "c1"

    def measurement(
        self, chance: random.Random, *, gymnast: int, number: int, photo: str
    ) -> dict[str, Any]:
        """Return a measurement of a gymnast's photo; `number` counts her photos from 0."""
        return measurement_record(chance, photo, chance.choice(TESTS))

    def findings(self, chance: random.Random, *, gymnast: int) -> dict[str, Any]:
        """Return findings of a gymnast."""
        return findings_record(chance)


def build_club(
    records: SqlRecords, *, gymnasts: int, photos: int, invented: Invented | None = None
) -> None:
    """Fill empty records; two screens a gymnast, a group for every 25."""
    invented = invented or Invented()
    chance = random.Random(1)
    each = max(photos // gymnasts, 2)
    writer = records._writing
    with writer.begin() as connection:
        connection.execute(CLUB.insert(), [{"id": 1, "name": "Turnverein"}])
        groups = [
            {"id": i + 1, "club_id": 1, "name": f"Group {i}", "name_key": f" group {i}"}
            for i in range(gymnasts // 25)
        ]
        connection.execute(GYM_GROUP.insert(), groups)
    rows: dict[Table, list[dict[str, Any]]] = {}
    for gymnast in range(1, gymnasts + 1):
        for table, row in rows_of_gymnast(gymnast, each, chance, invented):
            rows.setdefault(table, []).append(row)
        if gymnast % 250 == 0 or gymnast == gymnasts:
            with writer.begin() as connection:
                for table in (GYMNAST, GROUP_MEMBER, SCREEN, PHOTO, MARKS, MEASUREMENT, FINDINGS):
                    connection.execute(table.insert(), rows.pop(table))
    with writer.begin() as connection:
        if connection.dialect.name == "postgresql":
            for table in (CLUB, GYM_GROUP, GYMNAST, SCREEN, PHOTO):
                sequence = f"pg_get_serial_sequence('{table.name}', 'id')"
                highest = f"(SELECT max(id) FROM {table.name})"
                connection.execute(text(f"SELECT setval({sequence}, {highest})"))
        connection.execute(text("ANALYZE"))


def rows_of_gymnast(
    gymnast: int, each: int, chance: random.Random, invented: Invented
) -> Iterator[tuple[Table, dict[str, Any]]]:
    now = now_utc()
    words = ["".join(chance.choices(SYLLABLES, k=3)).capitalize() for _ in range(2)]
    name = " ".join(words)
    yield (
        GYMNAST,
        {
            "id": gymnast,
            "club_id": 1,
            "name": name,
            "name_key": name_key(name),
            "card": gymnast if gymnast < 1000 else None,
            "birth_date": date(2008, 1, 1) + timedelta(days=chance.randrange(3650)),
            "may_measure": True,
            "may_keep_pictures": True,
            "may_show_to_squad": True,
            "version": 1,
            "created_at": now,
        },
    )
    group = (gymnast - 1) // 25 + 1
    yield GROUP_MEMBER, {"gym_group_id": group, "gymnast_id": gymnast}
    first_day = FIRST_DAY + timedelta(days=chance.randrange(300))
    for i in (0, 1):
        screen = {
            "id": 2 * gymnast - 1 + i,
            "gymnast_id": gymnast,
            "screened_on": first_day + timedelta(days=40 * i),
            "revision": 3,
        }
        yield SCREEN, screen
        yield (
            FINDINGS,
            {
                "screen_id": screen["id"],
                "screen_revision": 3,
                "record": invented.findings(chance, gymnast=gymnast),
                "catalogue": invented.catalogue,
                "models": ["heavy"],
                "judged_at": now,
            },
        )
    for i in range(each):
        photo = (gymnast - 1) * each + i + 1
        record = invented.measurement(chance, gymnast=gymnast, number=i, photo=f"{photo}.jpg")
        yield from rows_of_photo(photo, 2 * gymnast - 1 + i % 2, record, chance)


def rows_of_photo(
    photo: int, screen: int, record: dict[str, Any], chance: random.Random
) -> Iterator[tuple[Table, dict[str, Any]]]:
    now = now_utc()
    name = f"{photo}.jpg"
    digest = hashlib.sha256(name.encode()).hexdigest()
    worry = worry_of(record)
    marked = photo % 5 == 0
    yield (
        PHOTO,
        {
            "id": photo,
            "club_id": 1,
            "screen_id": screen,
            "name": name,
            "sha256": digest,
            "size_bytes": 3_000_000,
            "content_key": f"plain-{digest}",
            "test": record["test"],
            "state": "measured" if worry is None else "needs_look",
            "reason": None if worry is None else "; ".join(record["trust"]["reasons"]),
            "worry": worry,
            "revision": 1,
            "marks_version": int(marked),
            "received_at": now,
        },
    )
    if marked:
        marks = {"photo_id": photo, "version": 1, "base_version": 0, "author": "Kim"}
        kept = {"made_at": now, "set_aside": False, **marks_values(hand_marks(chance))}
        yield MARKS, {**marks, **kept}
    yield (
        MEASUREMENT,
        {
            "photo_id": photo,
            "photo_revision": 1,
            "marks_version": 1 if marked else None,
            "record": record,
            "model": "heavy",
            "catalogue": "c1",
            "measured_at": now,
        },
    )


def pages(records: SqlRecords, gymnasts: int, chance: random.Random) -> dict[str, Work]:
    """Return what each page asks."""

    def reading(ask: Callable[[Any], object]) -> Work:
        def work() -> object:
            with records.reading() as tx:
                return ask(tx)

        return work

    def writing(do: Callable[[Any], object]) -> Work:
        def work() -> object:
            with records.transaction() as tx:
                return do(tx)

        return work

    def of(**said: Any) -> GymnastQuery:
        return GymnastQuery(1, **said)

    with records.reading() as tx:
        deep = tx.gymnasts.page(of(limit=500))
        for _ in range(5):
            deep = tx.gymnasts.page(of(limit=500, after=deep.next)) if deep.next else deep
    anybody = lambda: chance.randint(1, gymnasts)  # noqa: E731

    def file_one(tx: Any) -> object:
        digest = hashlib.sha256(chance.randbytes(16)).hexdigest()
        screen = tx.screens.on(anybody(), FIRST_DAY)
        new = NewPhoto("new.jpg", digest, 1, f"plain-{digest}", screen.id, "handstand")
        photo = tx.photos.file(1, new).photo
        return tx.jobs.add(1, "measure", photo_id=photo.id)

    def mark_one(tx: Any) -> object:
        photo = tx.photos.get(anybody())
        base = photo.marks_version
        return tx.photos.save_marks(photo.id, hand_marks(chance), base_version=base, author="Kim")

    def measure_one(tx: Any) -> object:
        photo = tx.photos.get(anybody())
        record = measurement_record(chance, photo.name, "handstand")
        return tx.photos.save_measurement(
            photo.id, record, revision=photo.revision, marks_version=None, catalogue="c1"
        )

    return {
        "today: queue of 50, counts, jobs": reading(
            lambda tx: (tx.photos.queue(1), tx.photos.counts(1), tx.jobs.counts(1))
        ),
        "today: longest not screened": reading(
            lambda tx: tx.gymnasts.page(of(sort="last_screened", limit=20))
        ),
        "squad table of a group (25)": reading(
            lambda tx: tx.gymnasts.squad(of(group_id=chance.randint(1, max(gymnasts // 25, 1))))
        ),
        "squad table, 50 of all": reading(lambda tx: tx.gymnasts.squad(of())),
        "gymnasts by name, first page": reading(lambda tx: tx.gymnasts.page(of())),
        "gymnasts by name, deep page": reading(lambda tx: tx.gymnasts.page(of(after=deep.next))),
        "gymnasts by card": reading(lambda tx: tx.gymnasts.page(of(sort="card"))),
        "search 'an' in names": reading(lambda tx: tx.gymnasts.page(of(text="an"))),
        "search a card": reading(lambda tx: tx.gymnasts.page(of(text=str(anybody() % 1000)))),
        "groups with sizes": reading(lambda tx: tx.clubs.groups(1)),
        "gymnast with everything": reading(lambda tx: tx.gymnasts.view(anybody())),
        "photo with marks": reading(lambda tx: tx.photos.view(anybody())),
        "write: file a photo and queue it": writing(file_one),
        "write: save marks": writing(mark_one),
        "write: save a measurement": writing(measure_one),
    }


def print_table(records: SqlRecords, *, gymnasts: int, repeats: int) -> None:
    print(f"{'page':36s}{'p50 ms':>8s}{'p95 ms':>8s}")
    for name, work in pages(records, gymnasts, random.Random(2)).items():
        work()
        times = []
        for _ in range(repeats):
            started = time.perf_counter()
            work()
            times.append(1000 * (time.perf_counter() - started))
        p95 = statistics.quantiles(times, n=20)[-1]
        print(f"{name:36s}{statistics.median(times):8.1f}{p95:8.1f}")


if __name__ == "__main__":
    main()
