"""Everything of one gymnast's as a file."""

from fastapi import APIRouter
from starlette.responses import Response, StreamingResponse

from chordline.application.club.export_her import export_name
from chordline.errors import VaultLockedError
from chordline.web.desk import AtDesk
from chordline.web.ids import PathId

router = APIRouter()


@router.get("/gymnasts/{gymnast_id}/export.zip")
def export_everything(desk: AtDesk, gymnast_id: PathId) -> Response:
    """Hand out everything of a gymnast's, made while it is sent."""
    if desk.locked:
        raise VaultLockedError
    today = desk.today()
    with desk.app.records.reading() as tx:
        name = export_name(tx.gymnasts.get(gymnast_id), today)
    return StreamingResponse(
        desk.app.export_her().pieces(gymnast_id, today=today),
        media_type="application/zip",
        headers={
            "Content-Disposition": f'attachment; filename="{name}"',
            # Packed already: nothing is gained by packing it once more on the way.
            "Content-Encoding": "identity",
        },
    )
