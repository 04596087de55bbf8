"""Erasing a gymnast: what would be lost, and the receipt for her family."""

from typing import Annotated

from fastapi import APIRouter, Form, Request
from starlette.responses import HTMLResponse, Response

from chordline.application.club.erase_her import receipt_name, what_is_lost_in_words
from chordline.web.desk import AtDesk
from chordline.web.forms import go_to
from chordline.web.ids import PathId
from chordline.web.pages.sheets import disposition
from chordline.web.problems import tell_problem
from chordline.web.receipts import Receipts
from chordline.web.rendering import render

router = APIRouter()

Token = Annotated[str, Form(max_length=64)]


@router.get("/gymnasts/{gymnast_id}/erase")
def confirm_erasing(request: Request, desk: AtDesk, gymnast_id: PathId) -> HTMLResponse:
    """Say what would be lost."""
    with desk.app.records.reading() as tx:
        her = tx.gymnasts.get(gymnast_id)
    counts = what_is_lost_in_words(desk.app.keep_her().what_is_lost(gymnast_id))
    return render(request, "gymnast_erase.html", here="squad", her=her, counts=counts)


@router.post("/gymnasts/{gymnast_id}/erase")
def erase(
    request: Request,
    desk: AtDesk,
    gymnast_id: PathId,
    sure: Annotated[str, Form(max_length=8)] = "",
    token: Token = "",
) -> Response:
    """Remove her with everything of hers, and show the receipt."""
    if sure != "yes":
        return confirm_erasing(request, desk, gymnast_id)
    receipt = desk.app.erase_her()(gymnast_id, token=token or None)
    if receipt is None:
        return go_to("/squad", "Erased.")
    receipts: Receipts = request.app.state.receipts
    paper = receipts.keep(receipt_name(receipt, desk.today()), desk.app.print_receipt(receipt))
    return render(request, "gymnast_erased.html", here="squad", receipt=receipt, paper=paper)


@router.get("/receipts/{token}.pdf")
def print_receipt(request: Request, token: str) -> Response:
    """Print a receipt of erasing, within minutes of it."""
    receipts: Receipts = request.app.state.receipts
    found = receipts.get(token)
    if found is None:
        return tell_problem(request, 404, "This receipt is kept no more; receipts are not stored.")
    name, pdf = found
    return Response(
        pdf, media_type="application/pdf", headers={"Content-Disposition": disposition(name)}
    )
