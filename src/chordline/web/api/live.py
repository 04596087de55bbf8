"""The live line: a frame in, the line and its angles back. Nothing of it is kept."""

from typing import Annotated, Any, Literal

from fastapi import APIRouter, Path, Query, Request
from pydantic import BaseModel
from starlette.concurrency import run_in_threadpool
from starlette.requests import ClientDisconnect
from starlette.responses import Response

from chordline.application.findings_words import upper_first
from chordline.application.live.session import LiveAsk
from chordline.application.live.sessions import LiveEndedError
from chordline.application.live.told import LiveTold, Reason
from chordline.conventions import Front, Side
from chordline.core.motion.live import Tone
from chordline.errors import PictureError
from chordline.web.desk import AtDesk
from chordline.web.problems import tell_problem
from chordline.web.uploads import read_body

router = APIRouter(tags=["live"])

_RAW_BODY = {
    "requestBody": {
        "required": True,
        "description": "One frame as JPEG.",
        "content": {"image/jpeg": {"schema": {"type": "string", "format": "binary"}}},
    }
}
_REFUSALS: dict[int | str, dict[str, Any]] = {
    400: {"description": "There is no such test."},
    404: {"description": "This live line has ended."},
    413: {"description": "Too large."},
    422: {"description": "No frame; the reason is told."},
}
SessionName = Annotated[str, Path(min_length=1, max_length=64)]


class LiveOpened(BaseModel):
    """A session's name; it ends by itself soon after its last frame."""

    session: str


class LiveMeasureJson(BaseModel):
    """One angle: words first."""

    name: str
    label: str
    words: str
    value: float
    plus_minus: float
    unit: str
    tone: Tone | None


class LiveJson(BaseModel):
    """The answer to one frame; landmarks are shares of the frame's width and height.

    `late` = a later frame had come already: nothing was looked at.
    """

    late: Literal[False] = False
    headline: str
    look_at: str
    tone: Tone
    reason: Reason | None
    landmarks: dict[str, tuple[float, float]]
    chord: tuple[str, ...]
    near_side: Side | None
    front: Front | None
    side_origin: str
    measures: list[LiveMeasureJson]


class LateJson(BaseModel):
    """A frame that was left out."""

    late: Literal[True] = True


@router.post("/live", status_code=201)
def open_live(desk: AtDesk) -> LiveOpened:
    """Begin a live line on one device."""
    return LiveOpened(session=desk.app.live.open())


@router.post(
    "/live/{session}",
    response_model=LiveJson | LateJson,
    openapi_extra=_RAW_BODY,
    responses=_REFUSALS,
)
async def look_at_frame(
    request: Request,
    session: SessionName,
    desk: AtDesk,
    *,
    at_ms: Annotated[float, Query(ge=0, le=1e13, description="The camera's own clock.")],
    test: Annotated[str, Query(max_length=100)],
    near: Annotated[Side | None, Query(description="Near side, where the coach said it.")] = None,
) -> LiveJson | LateJson | Response:
    """Look at one frame and forget it."""
    most_bytes = int(desk.app.live_catalogue.setting("most_bytes"))
    try:
        content = await read_body(request, most_bytes=most_bytes)
    except ClientDisconnect:  # nobody is there to be answered
        return tell_problem(request, 400, "The picture arrived only in part; send the next one.")
    ask = LiveAsk(at_s=at_ms / 1000.0, test=test, near_side=near)
    try:
        told = await run_in_threadpool(desk.app.live.take, session, content, ask)
    except LiveEndedError as error:
        return tell_problem(request, 404, f"{upper_first(str(error))}.")
    except PictureError as error:
        return tell_problem(request, 422, f"This picture {error.reason}.")
    return LateJson() if told is None else _to_json(told)


@router.delete("/live/{session}", status_code=204)
def end_live(session: SessionName, desk: AtDesk) -> Response:
    """End a live line; what is known of it is forgotten."""
    desk.app.live.end(session)
    return Response(status_code=204)


def _to_json(told: LiveTold) -> LiveJson:
    return LiveJson(
        headline=told.headline,
        look_at=told.look_at,
        tone=told.tone,
        reason=told.reason,
        landmarks=dict(told.landmarks),
        chord=told.chord,
        near_side=told.near_side,
        front=told.front,
        side_origin=told.side_origin,
        measures=[
            LiveMeasureJson(
                name=one.name,
                label=one.label,
                words=one.words,
                value=one.value,
                plus_minus=one.plus_minus,
                unit=one.unit,
                tone=one.tone,
            )
            for one in told.measures
        ],
    )
