"""What the database refuses, as errors with sentences."""

import re
from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy.exc import DataError, DBAPIError, IntegrityError, StatementError
from sqlalchemy.exc import TimeoutError as NoConnectionFreeError

from chordline.errors import (
    ChordlineError,
    ImpossibleRecordError,
    RecordsBusyError,
    RecordsError,
)

#: Rule or columns → what a person is told.
_SENTENCES = {
    "ck_gymnast_name_length": "a gymnast needs a name of at most 200 letters",
    "ck_gymnast_card": "a card number lies between 0 and 999",
    "ck_gymnast_birth_date": "nobody here was born before 1900; check the birth date",
    "ck_gymnast_growth_reference": "growth is compared with girls or boys, or with nobody yet",
    "uq_gymnast_club_id_card": "this card number is somebody else's",
    "ck_gym_group_name_length": "a group needs a name of at most 200 letters",
    "ck_club_name_length": "a club needs a name of at most 200 letters",
    "ck_body_size_stature_cm": "stature is given in cm, between 50 and 230",
    "ck_body_size_mass_kg": "mass is given in kg, between 5 and 200",
    "ck_body_size_sitting_height_cm": "sitting height is given in cm, between 25 and 130",
    "ck_body_size_sits_lower_than_she_stands": "sitting height is less than stature; check both",
    "ck_body_size_something": "give stature, mass or sitting height",
    "ck_note_flag": "a sign, and only a sign, names which one it is",
    "ck_note_closed_on": "a note cannot end before it was made",
    "ck_note_text_length": "a note has at most 4000 letters",
    "ck_note_author_length": "say who writes this, in at most 200 letters",
    "ck_marks_author_length": "say who marks, in at most 200 letters",
    "ck_hold_author_length": "say who timed this, in at most 200 letters",
    "ck_hold_seconds": "a hold lasts more than 0 s and at most an hour",
    "ck_screen_screened_on": "nobody here was screened before 1900; check the date",
    "ck_photo_name_length": "a photo's name has 1 to 255 letters",
    "ck_photo_size_bytes": "the file is empty",
    "ck_photo_person": "people in a picture are counted from 1",
    "ck_video_name_length": "a video's name has 1 to 255 letters",
    "ck_video_size_bytes": "the file is empty",
    "ck_video_person": "people in a picture are counted from 1",
    "ck_video_from_s": "a part of a video begins at 0 s or later",
    "ck_video_to_s": "a part of a video ends after it begins; choose it anew",
    "ck_group_training_minutes": "a session has 1 to 480 minutes",
    "ck_group_training_coaches": "a session has 0 to 50 coaches who can spot",
    "ck_station_name_length": "a station needs a name of at most 60 letters",
    "ck_station_places": "a station has 1 to 60 places",
    "ck_training_level_level": "the level is 1 (new), 2 (some seasons) or 3 (advanced)",
    "ck_training_plan_author_length": "say who plans, in at most 200 letters",
    "ck_work_done_author_length": "say who writes this, in at most 200 letters",
    "ck_work_done_exercise_length": "say which exercise was done",
    "ck_work_done_share": "of a turn, between nothing (0) and all (1) was done",
    "ck_work_done_minutes": "a turn lasts between 0 and 480 minutes",
    "ck_skill_author_length": "say who saw this, in at most 200 letters",
    "ck_skill_rung_length": "say which skill it is",
    "ck_study_author_length": "say who begins the study, in at most 200 letters",
    "ck_study_task_coach_length": "say who marks, in at most 200 letters",
    "ck_club_noise_author_length": "say who decides, in at most 200 letters",
}

# SQLite: "CHECK constraint failed: NAME"; PostgreSQL tells the name apart from the message.
_SQLITE_CHECK = re.compile(r"CHECK constraint failed: (\w+)")
_SQLITE_UNIQUE = re.compile(r"UNIQUE constraint failed: (\w+)\.")
_BUSY = (
    "database is locked",
    "database table is locked",
    "lock timeout",
    "deadlock detected",
    "could not serialize",
)


def _rule_of(error: IntegrityError) -> str:
    diagnosis = getattr(error.orig, "diag", None)
    if diagnosis is not None:
        return str(diagnosis.constraint_name or diagnosis.column_name or "")
    text = str(error.orig)
    check = _SQLITE_CHECK.search(text)
    if check:
        return check[1]
    if _SQLITE_UNIQUE.search(text) and "gymnast.card" in text:
        return "uq_gymnast_club_id_card"
    return text


def translated(error: StatementError) -> ChordlineError | None:
    """Return what an error of the database means to a person, or None where it is a bug."""
    if isinstance(error, IntegrityError):
        rule = _rule_of(error)
        sentence = _SENTENCES.get(rule, f"this cannot be recorded; it breaks the rule '{rule}'")
        return ImpossibleRecordError(rule, sentence)
    text = str(error.orig)
    if isinstance(error, DataError):
        return ImpossibleRecordError("data", f"this cannot be recorded ({text})")
    if any(word in text for word in _BUSY):
        return RecordsBusyError()
    if isinstance(error, DBAPIError) and _is_of_the_world(error, text):
        return RecordsError(f"the records cannot be used now ({text}); nothing of this was written")
    if not isinstance(error, DBAPIError) and isinstance(error.orig, ValueError):
        return ImpossibleRecordError("json", f"this cannot be recorded ({text})")
    return None


def _is_of_the_world(error: DBAPIError, text: str) -> bool:
    """Return whether disk, rights or connection failed, rather than the program."""
    if error.connection_invalidated:
        return True
    worldly = (
        "disk",
        "readonly",
        "read-only",
        "unable to open",
        "not a database",
        "connection",
        "malformed",
    )
    return any(word in text for word in worldly)


@contextmanager
def sentences() -> Iterator[None]:
    """Raise chordline's errors instead of the database's."""
    try:
        yield
    except NoConnectionFreeError as error:
        raise RecordsBusyError from error
    except StatementError as error:
        meant = translated(error)
        if meant is None:
            raise
        raise meant from error
