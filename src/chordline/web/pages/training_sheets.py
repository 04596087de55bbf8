"""Sheets of training to print, in the reader's language."""

from datetime import date
from typing import Annotated

from fastapi import APIRouter, Query
from starlette.responses import Response

from chordline.application.tongue import tongue_of
from chordline.catalogue.tongues import Language
from chordline.web.desk import AtDesk
from chordline.web.ids import PathId
from chordline.web.pages.sheets import disposition

router = APIRouter()

Spoken = Annotated[Language, Query()]


def _paper(content: bytes, name: str) -> Response:
    return Response(
        content,
        media_type="application/pdf",
        headers={"Content-Disposition": disposition(f"{name}.pdf")},
    )


@router.get("/gymnasts/{gymnast_id}/family.pdf")
def print_family(desk: AtDesk, gymnast_id: PathId, language: Spoken = "en") -> Response:
    """Print the sheet for a gymnast and her family."""
    today = desk.today()
    told = desk.app.gather_sheets().family(gymnast_id, day=today, tongue=tongue_of(language))
    return _paper(desk.app.training_press.family_to_pdf(told), f"{told.gymnast} {today}")


@router.get("/gymnasts/{gymnast_id}/coach-plan.pdf")
def print_coach_plan(desk: AtDesk, gymnast_id: PathId, language: Spoken = "en") -> Response:
    """Print a gymnast's findings and plan for her coach."""
    today = desk.today()
    told = desk.app.gather_sheets().coach_plan(gymnast_id, day=today, tongue=tongue_of(language))
    return _paper(desk.app.training_press.coach_plan_to_pdf(told), f"{told.gymnast} plan {today}")


@router.get("/gymnasts/{gymnast_id}/referral/{note_id}.pdf")
def print_referral(
    desk: AtDesk, gymnast_id: PathId, note_id: PathId, language: Spoken = "en"
) -> Response:
    """Print a note to a licensed clinician for a sign."""
    today = desk.today()
    told = desk.app.gather_sheets().referral(
        gymnast_id, note_id, day=today, tongue=tongue_of(language)
    )
    return _paper(desk.app.training_press.referral_to_pdf(told), f"{told.gymnast} note {today}")


@router.get("/groups/{group_id}/stations/{day}.pdf")
def print_stations(desk: AtDesk, group_id: PathId, day: date, language: Spoken = "en") -> Response:
    """Print a group's stations of a day."""
    told = desk.app.gather_sheets().stations(group_id, day=day, tongue=tongue_of(language))
    return _paper(desk.app.training_press.stations_to_pdf(told), f"{told.group} {day}")


@router.get("/groups/{group_id}/plan.pdf")
def print_plan(desk: AtDesk, group_id: PathId, language: Spoken = "en") -> Response:
    """Print a group's plan."""
    today = desk.today()
    told = desk.app.gather_sheets().plan(group_id, day=today, tongue=tongue_of(language))
    return _paper(desk.app.training_press.plan_to_pdf(told), f"{told.group} plan {today}")
