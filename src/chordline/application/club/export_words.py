"""What is in an export, in the family's words."""

from collections.abc import Mapping
from datetime import date
from typing import Final

from chordline.application.club.records import GymnastRecord
from chordline.application.days import day_in_words

#: Table of the records → name of its file.
FILES: Final = {
    "attendance": "attendance",
    "body_size": "sizes",
    "findings": "findings",
    "group_member": "groups",
    "hold": "holds",
    "job": "work-waiting",
    "marks": "marks",
    "measurement": "measurements",
    "note": "notes",
    "photo": "photos",
    "screen": "screens",
    "skill": "skills",
    "study_photo": "study-photos",
    "study_task": "study-marks",
    "trail": "trail",
    "training_level": "level",
    "video": "videos",
    "video_measurement": "video-measurements",
    "video_track": "video-landmarks",
    "work_done": "work-done",
}
#: What each file tells.
_TELLS: Final = {
    "gymnast": "her record: name, card, birth date, and what the family allowed, by whom and when",
    "sizes": "stature, mass and sitting height by day",
    "groups": "the groups that she trains in, by number",
    "screens": "the days on which she was tested",
    "photos": "every photo: its file's name, test, and what came of measuring it",
    "marks": "landmarks that a coach set by hand, every version",
    "measurements": "what was measured in each photo, with its error",
    "findings": "what limits her, as it was found from each screen",
    "holds": "seconds that she held a position",
    "videos": "every video, as the photos",
    "video-measurements": "what was measured in each video",
    "video-landmarks": "her landmarks through each video, as numbers for a program (hexadecimal)",
    "notes": "remarks and reported signs such as pain",
    "attendance": "sessions to which she came or did not come",
    "work-done": "exercises that she did, with minutes",
    "skills": "skills that she has",
    "level": "her training level",
    "study-photos": "her photos that coaches marked to find out how well they agree",
    "study-marks": "what they marked",
    "trail": "who saw, changed or handed out something of hers, and when",
    "work-waiting": "measuring that waits or was done",
}
#: Too long for a table; they stand in gymnast.json.
COLUMNS_LEFT_OUT: Final[Mapping[str, frozenset[str]]] = {"video_track": frozenset({"piece"})}


def readme(her: GymnastRecord, day: date, rows: Mapping[str, int]) -> str:
    """Return the words at the front of an export."""
    files = [(FILES.get(table, table), count) for table, count in sorted(rows.items()) if count]
    width = max(len(name) for name, _ in files) + 4
    lines = [
        f"{f'{name}.csv':{width + 1}} {count:6}  {_TELLS.get(name, '')}".rstrip()
        for name, count in files
    ]
    return "\n".join(
        (
            f"Everything that is kept of {her.name} (number {her.id}), on {day_in_words(day)}",
            "",
            "gymnast.json  everything in one file, for a program",
            "tables/       the same as tables, for Excel or any text program; units stand in the",
            "              names of the columns: _cm, _kg, _deg, _s",
            "pictures/     her photos as JPEG, at most 4096 px long, without place, time or device",
            "videos/       her videos as they came in; one may tell when and where it was taken",
            "sheets/       her sheets as PDF; faces are hidden there, and not in the pictures",
            "missing.txt   what could not be read, where there is such a file",
            "",
            "In tables/, with the number of rows:",
            *lines,
            "",
            "Numbers such as photo_id join the tables. Angles are in degrees: 0 is straight, plus",
            "opens the front of the body, minus closes it. Every measure has an error beside it.",
            "The key that her pictures were encrypted with is not here: the pictures are.",
            "",
            "chordline is not a medical device. It describes shapes and never diagnoses.",
            "",
        )
    )
