"""The form of a gymnast's own record; two coaches at once do not overwrite each other."""

import json
from collections.abc import Mapping
from datetime import date
from typing import Annotated

from fastapi import APIRouter, Form, Request
from starlette.responses import HTMLResponse, Response

from chordline.application.club.growth_reference import GROWTH_REFERENCES, GrowthReference
from chordline.application.club.her_record import HerChange
from chordline.application.club.records import (
    BodySize,
    Consent,
    GymnastRecord,
    StaleGymnastError,
)
from chordline.application.days import day_in_words
from chordline.errors import NotThereError, RefusedInputError
from chordline.web.desk import AtDesk, Desk
from chordline.web.forms import go_to, read_card, read_day, read_number
from chordline.web.ids import PathId
from chordline.web.rendering import render

router = APIRouter()

Field = Annotated[str, Form(max_length=220)]

_LABELS = {
    "name": "Name",
    "card": "Card",
    "birth_date": "Birth date",
    "growth_reference": "Growth is compared with",
    "measure": "Measuring allowed",
    "keep_pictures": "Pictures may be kept",
    "show_to_squad": "Her line may be shown to the squad",
    "until": "Consent until",
    "said_on": "Said on",
    "said_by": "Said by",
    "consent_note": "How it was said",
}


@router.get("/gymnasts/{gymnast_id}/edit")
def show_form(request: Request, desk: AtDesk, gymnast_id: PathId) -> HTMLResponse:
    """Show the form."""
    with desk.app.records.reading() as tx:
        her = tx.gymnasts.get(gymnast_id)
    return _form(request, her, {**fields_of(her), **_no_size(desk.today())})


@router.post("/gymnasts/{gymnast_id}/edit")
def save_form(
    request: Request,
    desk: AtDesk,
    gymnast_id: PathId,
    *,
    version: Annotated[int, Form()],
    token: Annotated[str, Form(max_length=64)] = "",
    before: Annotated[str, Form(max_length=4000)] = "",
    name: Field = "",
    card: Field = "",
    birth_date: Field = "",
    growth_reference: Field = "",
    measure: Field = "",
    keep_pictures: Field = "",
    show_to_squad: Field = "",
    until: Field = "",
    said_on: Field = "",
    said_by: Field = "",
    consent_note: Annotated[str, Form(max_length=2000)] = "",
    taken_on: Field = "",
    stature_cm: Field = "",
    mass_kg: Field = "",
    sitting_height_cm: Field = "",
) -> Response:
    """Save the form, or show it again with what was entered and why it was not saved."""
    entered = {
        "name": name,
        "card": card,
        "birth_date": birth_date,
        "growth_reference": growth_reference,
        "measure": measure,
        "keep_pictures": keep_pictures,
        "show_to_squad": show_to_squad,
        "until": until,
        "said_on": said_on,
        "said_by": said_by,
        "consent_note": consent_note,
        "taken_on": taken_on,
        "stature_cm": stature_cm,
        "mass_kg": mass_kg,
        "sitting_height_cm": sitting_height_cm,
    }
    try:
        change = _change(entered, version, desk.today())
        saved = desk.app.keep_her().save(
            gymnast_id, change, today=desk.today(), token=token or None
        )
        # Photos that waited for the family's word are measured where it allows that now.
        if desk.app.apply_consent().take_up(saved.club_id, desk.today()):
            desk.measuring.wake()
    except NotThereError:
        raise
    except StaleGymnastError as error:
        merged = _merge(entered, before, fields_of(error.current))
        return _form(request, error.current, merged, status=409, stale=True)
    except RefusedInputError as error:
        with desk.app.records.reading() as tx:
            her = tx.gymnasts.get(gymnast_id)
        return _form(
            request, her, entered, version=version, before=before, status=422, problem=str(error)
        )
    return go_to(f"/gymnasts/{gymnast_id}", f"The record of {saved.name} is saved.")


def fields_of(her: GymnastRecord) -> dict[str, str]:
    """Return a record as its form's fields."""
    consent = her.consent
    return {
        "name": her.name,
        "card": "" if her.card is None else str(her.card),
        "birth_date": "" if her.birth_date is None else her.birth_date.isoformat(),
        "growth_reference": her.growth_reference or "",
        "measure": "yes" if consent.measure else "",
        "keep_pictures": "yes" if consent.keep_pictures else "",
        "show_to_squad": "yes" if consent.show_to_squad else "",
        "until": "" if consent.until is None else consent.until.isoformat(),
        "said_on": "" if consent.said_on is None else consent.said_on.isoformat(),
        "said_by": consent.said_by,
        "consent_note": consent.note,
    }


def _no_size(today: date) -> dict[str, str]:
    sizes = {"stature_cm": "", "mass_kg": "", "sitting_height_cm": ""}
    return {"taken_on": today.isoformat(), **sizes}


def _change(entered: Mapping[str, str], version: int, today: date) -> HerChange:
    size = BodySize(
        taken_on=read_day(entered["taken_on"], of="measured on") or today,
        stature_cm=read_number(entered["stature_cm"], of="stature"),
        mass_kg=read_number(entered["mass_kg"], of="mass"),
        sitting_height_cm=read_number(entered["sitting_height_cm"], of="sitting height"),
    )
    measured = (size.stature_cm, size.mass_kg, size.sitting_height_cm) != (None, None, None)
    return HerChange(
        version=version,
        name=entered["name"],
        card=read_card(entered["card"]),
        birth_date=read_day(entered["birth_date"], of="birth date"),
        growth_reference=_read_reference(entered["growth_reference"]),
        consent=Consent(
            measure=bool(entered["measure"]),
            keep_pictures=bool(entered["keep_pictures"]),
            show_to_squad=bool(entered["show_to_squad"]),
            until=read_day(entered["until"], of="consent until"),
            said_on=_read_said_on(entered["said_on"], today),
            said_by=entered["said_by"],
            note=entered["consent_note"],
        ),
        size=size if measured else None,
    )


def _read_said_on(text: str, today: date) -> date | None:
    day = read_day(text, of="said on")
    if day is not None and day > today:
        raise RefusedInputError("said on: the day lies in the future")
    return day


def _read_reference(text: str) -> GrowthReference | None:
    if not text.strip():
        return None
    for reference in GROWTH_REFERENCES:
        if reference == text.strip():
            return reference
    raise RefusedInputError(f"growth: '{text[:40]}' is no reference; choose girls or boys")


def _merge(entered: Mapping[str, str], before: str, stands: Mapping[str, str]) -> dict[str, str]:
    """Return what was entered, and what stands now wherever nothing was changed in the form."""
    try:
        began = json.loads(before)
    except ValueError:
        began = None
    if not isinstance(began, dict):
        return dict(entered)
    untouched = {name for name in stands if began.get(name) == entered[name]}
    return {name: stands[name] if name in untouched else entered[name] for name in entered}


def _form(
    request: Request,
    her: GymnastRecord,
    entered: Mapping[str, str],
    *,
    version: int | None = None,
    before: str | None = None,
    status: int = 200,
    problem: str = "",
    stale: bool = False,
) -> HTMLResponse:
    """Return the form; where somebody was quicker it saves over the record as it stands now."""
    stands = fields_of(her)
    desk: Desk = request.app.state.desk
    return render(
        request,
        "gymnast_edit.html",
        here="squad",
        status=status,
        her=her,
        entered=entered,
        correct_days=desk.app.consent_rules.correct_days,
        version=her.version if version is None else version,
        before=json.dumps(stands) if before is None else before,
        problem=problem,
        stale=stale,
        differs=[
            (_LABELS[field], _spoken(field, stands[field]), _spoken(field, entered[field].strip()))
            for field in _LABELS
            if stale and stands[field] != entered[field].strip()
        ],
    )


def _spoken(field: str, value: str) -> str:
    if field in {"measure", "keep_pictures", "show_to_squad"}:
        return "yes" if value else "no"
    if field in {"birth_date", "until", "said_on"} and value:
        try:
            return day_in_words(date.fromisoformat(value))
        except ValueError:
            return value
    if field == "growth_reference":
        return value or "not said"
    return value or "nothing"
