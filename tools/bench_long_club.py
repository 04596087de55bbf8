"""Fills empty records with gymnasts who have been screened four times a year for ten years."""

import random
from datetime import date, timedelta
from typing import Any

from sqlalchemy import Table, text

from bench_records import SYLLABLES, Invented, rows_of_photo
from chordline.adapters.db.records import SqlRecords, now_utc
from chordline.adapters.db.schema import (
    CLUB,
    GROUP_MEMBER,
    GYM_GROUP,
    GYMNAST,
    MARKS,
    MEASUREMENT,
    PHOTO,
    SCREEN,
)
from chordline.adapters.db.search_keys import name_key

GYMNASTS, SCREENS, PHOTOS, IN_A_GROUP = 200, 40, 5, 20
FIRST_DAY = date(2015, 9, 1)
_ORDER = (GYMNAST, GROUP_MEMBER, SCREEN, PHOTO, MARKS, MEASUREMENT)


def build_long_club(records: SqlRecords, invented: Invented) -> None:
    """Fill empty records: 200 gymnasts in groups of 20, 40 screens each, five photos a screen."""
    chance = random.Random(2)
    writer = records._writing
    with writer.begin() as connection:
        connection.execute(CLUB.insert(), [{"id": 1, "name": "Turnverein"}])
        groups = [
            {"id": i + 1, "club_id": 1, "name": f"Group {i}", "name_key": f" group {i}"}
            for i in range(GYMNASTS // IN_A_GROUP)
        ]
        connection.execute(GYM_GROUP.insert(), groups)
    for gymnast in range(1, GYMNASTS + 1):
        rows: dict[Table, list[dict[str, Any]]] = {table: [] for table in _ORDER}
        name = " ".join("".join(chance.choices(SYLLABLES, k=3)).capitalize() for _ in range(2))
        rows[GYMNAST].append(
            {
                "id": gymnast,
                "club_id": 1,
                "name": name,
                "name_key": name_key(name),
                "card": gymnast,
                "birth_date": date(2008, 1, 1),
                "may_measure": True,
                "may_keep_pictures": True,
                "may_show_to_squad": True,
                "version": 1,
                "created_at": now_utc(),
            }
        )
        group = (gymnast - 1) // IN_A_GROUP + 1
        rows[GROUP_MEMBER].append({"gym_group_id": group, "gymnast_id": gymnast})
        for i in range(SCREENS):
            screen = (gymnast - 1) * SCREENS + i + 1
            day = FIRST_DAY + timedelta(days=91 * i + chance.randrange(20))
            rows[SCREEN].append(
                {"id": screen, "gymnast_id": gymnast, "screened_on": day, "revision": 3}
            )
            for k in range(PHOTOS):
                photo = (screen - 1) * PHOTOS + k + 1
                record = invented.measurement(
                    chance, gymnast=gymnast, number=2 * k, photo=f"{photo}.jpg"
                )
                for table, row in rows_of_photo(photo, screen, record, chance):
                    rows[table].append(row)
        with writer.begin() as connection:
            for table in _ORDER:
                if rows[table]:
                    connection.execute(table.insert(), rows[table])
    with writer.begin() as connection:
        connection.execute(text("ANALYZE"))
