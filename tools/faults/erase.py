"""Erased means erased: her pictures open with nothing that is left, here or in a backup.

Uses what the tests of erasing use: every byte of every file is tried as a wrapped key.
"""

import sys
import tempfile
import time
from contextlib import closing
from pathlib import Path

from chordline.adapters.backup.container import open_container
from chordline.adapters.backup.keys import reading_keys
from chordline.adapters.backup.ring_file import read_ring
from chordline.application.backup.make_backup import RECORDS_PART
from chordline.bootstrap.backup import open_folder
from faults.attempt import keep, peak_mb
from faults.opening import count_opening
from faults.row import Budget, Row
from faults.samples import TESTS

#: Clubs in which somebody is erased, at a share of 1: each with other keys.
CLUBS = 6


def run(budget: Budget) -> Row:
    """Erase, and try to open."""
    row = Row("erase")
    budget.findings.mkdir(parents=True, exist_ok=True)
    sys.path.insert(0, str(TESTS))
    clubs = budget.cases(CLUBS)
    for number in range(clubs):
        start = time.perf_counter()
        with tempfile.TemporaryDirectory() as name:
            _erase_one(row, budget, Path(name), photos=1 + number % 4)
        row.worst_s = max(row.worst_s, time.perf_counter() - start)
    row.peak_mb = peak_mb()
    row.notes.append(
        f"{clubs} gymnasts erased: pictures copied before do not open with the club key and any "
        "key in the data folder (database, WAL, vault), nor from a backup made before with its "
        "present ring"
    )
    return row


def _erase_one(row: Row, budget: Budget, place: Path, *, photos: int) -> None:
    from backup_stories import backed_up_club  # noqa: PLC0415
    from contracts.test_erased_pictures import every_key, opens  # noqa: PLC0415

    club = backed_up_club(place)
    her = club.add("Cleo", photos=photos)
    data = place / "club"
    with club.app.records.reading() as tx:
        # Her own key, and those of who stays.
        ids = [one.id for one in tx.keys.all(club.app.club().id)]
        hers = tx.keys.of(club.app.club().id, her)
    assert hers is not None
    keys = [key for key in club.pictures if f"-{hers.id}-" in key]
    sealed = {key: next(data.rglob(key)).read_bytes() for key in keys}
    club_key = bytes(club.app.vault._key)  # type: ignore[attr-defined]
    made = club.back_up()

    def count(folder: Path) -> int:
        found = every_key(folder, club_key, ids)
        return sum(any(opens(one, key) for key in found) for one in sealed.values())

    # The search finds what is there: else its silence afterwards would say nothing.
    _expect(row, budget, "the search finds nothing before erasing", count(data) == photos)
    copies = club.app.erase_her()(her)
    _expect(row, budget, "a copy of the ring is left", copies is not None and not copies.copies)
    _expect(row, budget, "a picture opens with what the data folder holds", count(data) == 0)
    inside = place / "inside"
    inside.mkdir()
    keys_of_backup = reading_keys(club.app.vault)
    with closing(open_container(club.folder / made.name, keys_of_backup)) as backup:
        backup.part(RECORDS_PART, inside / "records.sqlite")
    _expect(row, budget, "a picture opens with the records of a backup", count(inside) == 0)
    ring = read_ring(open_folder(str(club.folder)).read_beside("ring"), club.app.vault) or ()
    left = {one["id"] for one in ring}
    _expect(row, budget, "the ring in the backups' place is empty", bool(left))
    _expect(row, budget, "the ring in the backups' place has her key", hers.id not in left)
    _expect(row, budget, "her file is there", not any(list(data.rglob(key)) for key in keys))
    # The backup of before, restored with its ring of now.
    done = club.restore(made.name, place / "again")
    _expect(row, budget, "restoring does not erase her again", done.erased_again == 1)
    again = club.open_restored(place / "again")
    _expect(row, budget, "a picture comes back from a backup", count_opening(again, keys) == 0)
    rest = [key for key in club.pictures if key not in keys]
    _expect(row, budget, "who stays is lost", count_opening(again, rest) == len(rest))
    again.records.close()
    club.close()


def _expect(row: Row, budget: Budget, broken: str, holds: bool) -> None:
    row.cases += 1
    if not holds:
        keep(row, budget, broken.encode(), broken)
