"""Rows of the database as records, and back."""

from typing import Any

from sqlalchemy import Row

from chordline.application.club.records import (
    BodySize,
    Club,
    Consent,
    FindingsRecord,
    Group,
    GymnastRecord,
    HoldRecord,
    JobRecord,
    MarksRecord,
    MeasurementRecord,
    NoteRecord,
    PhotoRecord,
    ScreenRecord,
)
from chordline.application.marks import HandMarks
from chordline.core.body.measurement import Mark

AnyRow = Row[Any]


def club_of(row: AnyRow) -> Club:
    """Return a club."""
    return Club(row.id, row.name)


def group_of(row: AnyRow) -> Group:
    """Return a group with its size."""
    return Group(row.id, row.club_id, row.name, row.size)


def gymnast_of(row: AnyRow) -> GymnastRecord:
    """Return a gymnast."""
    return GymnastRecord(
        id=row.id,
        club_id=row.club_id,
        name=row.name,
        card=row.card,
        birth_date=row.birth_date,
        consent=Consent(
            measure=row.may_measure,
            keep_pictures=row.may_keep_pictures,
            show_to_squad=row.may_show_to_squad,
            until=row.consent_until,
            said_on=row.consent_said_on,
            said_by=row.consent_said_by or "",
            note=row.consent_note or "",
        ),
        archived_at=row.archived_at,
        version=row.version,
        growth_reference=row.growth_reference,
    )


def consent_values(consent: Consent) -> dict[str, Any]:
    """Return consent as columns."""
    return {
        "may_measure": consent.measure,
        "may_keep_pictures": consent.keep_pictures,
        "may_show_to_squad": consent.show_to_squad,
        "consent_until": consent.until,
        "consent_said_on": consent.said_on,
        "consent_said_by": " ".join(consent.said_by.split())[:200] or None,
        "consent_note": consent.note.strip()[:2000] or None,
    }


def size_of(row: AnyRow) -> BodySize:
    """Return a body size."""
    return BodySize(row.taken_on, row.stature_cm, row.mass_kg, row.sitting_height_cm)


def note_of(row: AnyRow) -> NoteRecord:
    """Return a note."""
    return NoteRecord(**row._mapping)


def screen_of(row: AnyRow) -> ScreenRecord:
    """Return a screen."""
    return ScreenRecord(row.id, row.gymnast_id, row.screened_on, row.revision)


def hold_of(row: AnyRow) -> HoldRecord:
    """Return a hold."""
    return HoldRecord(**{name: getattr(row, name) for name in HoldRecord.__dataclass_fields__})


def findings_of(row: AnyRow) -> FindingsRecord:
    """Return findings from a row with the screen's day and revision beside them."""
    return FindingsRecord(
        id=row.id,
        screen_id=row.screen_id,
        screened_on=row.screened_on,
        record=row.record,
        catalogue=row.catalogue,
        models=tuple(row.models),
        judged_at=row.judged_at,
        up_to_date=row.screen_revision == row.revision,
    )


def photo_of(row: AnyRow) -> PhotoRecord:
    """Return a photo from a row that may hold more."""
    return PhotoRecord(**{name: getattr(row, name) for name in PhotoRecord.__dataclass_fields__})


def marks_of(row: AnyRow) -> MarksRecord:
    """Return one version of marks."""
    landmarks = {name: Mark(**mark) for name, mark in row.landmarks.items()}
    return MarksRecord(
        photo_id=row.photo_id,
        version=row.version,
        base_version=row.base_version,
        author=row.author,
        made_at=row.made_at,
        marks=HandMarks(row.near_side, row.front, landmarks),
        set_aside=row.set_aside,
    )


def marks_values(marks: HandMarks) -> dict[str, Any]:
    """Return hand marks as columns."""
    return {
        "near_side": marks.near_side,
        "front": marks.front,
        "landmarks": {
            name: {
                "x_px": mark.x_px,
                "y_px": mark.y_px,
                "sd_px": mark.sd_px,
                "origin": mark.origin,
            }
            for name, mark in marks.landmarks.items()
        },
    }


def measurement_of(row: AnyRow) -> MeasurementRecord:
    """Return a measurement."""
    return MeasurementRecord(
        **{name: getattr(row, name) for name in MeasurementRecord.__dataclass_fields__}
    )


def job_of(row: AnyRow) -> JobRecord:
    """Return a job."""
    return JobRecord(**{name: getattr(row, name) for name in JobRecord.__dataclass_fields__})
