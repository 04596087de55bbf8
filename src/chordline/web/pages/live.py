"""The live line: a mirror beside the mat."""

from fastapi import APIRouter, Request
from starlette.exceptions import HTTPException
from starlette.responses import Response

from chordline.adapters.media.photo_reader import MAX_FILE_BYTES
from chordline.web.desk import AtDesk
from chordline.web.ids import QueryId
from chordline.web.photo_page import label_of
from chordline.web.rendering import render

router = APIRouter()


@router.get("/live")
def show_live(request: Request, desk: AtDesk, test: str = "", gymnast: QueryId = None) -> Response:
    """Show the mirror for one test."""
    tests = desk.app.catalogue.tests
    if test and test not in tests:
        raise HTTPException(422, f"no test is called '{test}'; go back and choose one")
    her = ""
    if gymnast is not None:
        with desk.app.records.reading() as tx:
            her = label_of(tx.gymnasts.get(gymnast))
    setting = desk.app.live_catalogue.setting
    data = {
        "framePx": setting("frame_px"),
        "frameQuality": setting("frame_quality"),
        "leastGapMs": 1000.0 * setting("least_gap_s"),
        "lagMs": 1000.0 * setting("lag_s"),
        "holdMs": 1000.0 * setting("forget_s"),
        "mostBytes": MAX_FILE_BYTES,
        "tests": [{"id": id, "how": one.how, "care": one.care} for id, one in tests.items()],
    }
    return render(
        request,
        "live.html",
        here="screening",
        chosen={"test": test or next(iter(tests)), "gymnast": her},
        tests=tests,
        data=data,
    )
