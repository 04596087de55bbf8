"""The club's records and pictures as `chordline doctor` and the settings page tell of them."""

from chordline.application.club.ports import Records
from chordline.application.club.views import GymnastQuery
from chordline.application.health import Finding

#: Less room than this on the disk, and the next session's photos may not fit [bytes].
_LITTLE_ROOM = 2_000_000_000


def examine_records(
    records: Records, club_id: int, *, place: str, free_bytes: int
) -> tuple[Finding, ...]:
    """Return what there is to say of the records.

    Parameters
    ----------
    records : Records
    club_id : int
    place : str
        Where they are, in words.
    free_bytes : int
        Room on the disk that holds the pictures.
    """
    with records.reading() as tx:
        total = tx.gymnasts.page(GymnastQuery(club_id, limit=1)).total
        counts = tx.photos.counts(club_id)
        failed = tx.jobs.counts(club_id)["failed"]
    told = f"{total} {'gymnast' if total == 1 else 'gymnasts'}, in {place}"
    looks = counts.needs_look + counts.refused
    waits = f"{counts.waiting} photos wait for measuring, {looks} for a look"
    findings = [Finding("records", "well", told), Finding("photos", "well", waits)]
    if failed:
        findings.append(
            Finding(
                "measuring",
                "limited",
                f"{failed} photos made chordline itself fail; set their marks by hand",
            )
        )
    room = f"{free_bytes / 1e9:.1f} GB free"
    if free_bytes < _LITTLE_ROOM:
        findings.append(Finding("disk", "limited", f"{room}; make room before the next session"))
    else:
        findings.append(Finding("disk", "well", room))
    return tuple(findings)
