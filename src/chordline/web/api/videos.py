"""Videos: in, measured, looked at, out."""

import math
from datetime import date
from typing import Annotated, Any

import numpy as np
from fastapi import APIRouter, Body, Query, Request
from starlette.concurrency import run_in_threadpool
from starlette.requests import ClientDisconnect
from starlette.responses import Response

from chordline.adapters.media.video_kind import HEAD_BYTES, media_type_of
from chordline.application.club.keep_videos import AskedOfVideo
from chordline.application.club.ports import Tx
from chordline.application.club.take_in_video import IncomingVideo
from chordline.application.club.video_records import (
    FiledVideo,
    VideoQuery,
    VideoRecord,
    VideoState,
)
from chordline.application.video_line import line_of
from chordline.application.video_ports import VideoSource
from chordline.conventions import LANDMARKS
from chordline.core.body.measures import unit_of
from chordline.core.geometry.angles import Floats
from chordline.errors import PhotoStoreError, PictureError, RefusedInputError
from chordline.web.api.video_json import (
    FiledVideoJson,
    MeasureAsked,
    PlacesJson,
    TraceJson,
    TracesJson,
    TrackJson,
    VideoJson,
    VideoListJson,
    row_to_json,
    video_to_json,
)
from chordline.web.desk import AtDesk, Desk
from chordline.web.ids import PathId, QueryId
from chordline.web.problems import tell_problem
from chordline.web.uploads import photo_name
from chordline.web.video_stream import Arriving, as_file, serve_part

router = APIRouter(tags=["videos"])

_NOT_THERE: dict[int | str, dict[str, Any]] = {404: {"description": "There is no such video."}}
_RAW_BODY = {
    "requestBody": {
        "required": True,
        "description": "The video's bytes: MP4, MOV, WebM or MKV.",
        "content": {"video/*": {"schema": {"type": "string", "format": "binary"}}},
    }
}
_BYTES: dict[int | str, dict[str, Any]] = {
    200: {"content": {"video/*": {}}, "description": "All of the file."},
    206: {"content": {"video/*": {}}, "description": "The part that `Range` asks for."},
    416: {"description": "The part lies beyond the file's end."},
}


@router.post(
    "/videos",
    status_code=201,
    response_model=FiledVideoJson,
    openapi_extra=_RAW_BODY,
    responses={
        200: {"model": FiledVideoJson, "description": "It was there already; nothing changed."},
        413: {"description": "Too large."},
        422: {"description": "No video, no such test or an impossible day; the reason is told."},
    },
)
async def take_in_video(
    request: Request,
    response: Response,
    desk: AtDesk,
    *,
    name: Annotated[str, Query(max_length=1000, description="The file's own name.")] = "",
    day: Annotated[date | None, Query(description="Day of the screen; today.")] = None,
    test: Annotated[str | None, Query(description="Told by the name where left out.")] = None,
    gymnast_id: QueryId = None,
    keep_file: Annotated[
        bool, Query(description="Whether the file stays once it is measured.")
    ] = True,
) -> FiledVideoJson | Response:
    """Keep one video; one that is cut off leaves nothing behind. Measuring is asked for apart."""
    incoming = IncomingVideo(
        name=photo_name(request, name),
        content=as_file(Arriving(request)),
        day=day or desk.today(),
        gymnast_id=gymnast_id,
        test=test or None,
        keep_file=keep_file,
    )
    try:
        filed = await run_in_threadpool(_take_in, desk, incoming)
    except ClientDisconnect:  # nobody is there to be answered, and nothing was kept
        return tell_problem(request, 400, "The video arrived only in part; send it again.")
    except PictureError as error:  # its name stands beside the answer already
        return tell_problem(request, 422, f"This file {error.reason}.")
    response.status_code = 200 if filed.already_there else 201
    return filed


def _take_in(desk: Desk, incoming: IncomingVideo) -> FiledVideoJson:
    filed: FiledVideo = desk.app.take_in_video()(desk.club.id, incoming, today=desk.today())
    told = _tell(desk, filed.video)
    return FiledVideoJson(**told.model_dump(), already_there=filed.already_there)


@router.get("/videos")
def list_videos(
    desk: AtDesk,
    *,
    screen_id: QueryId = None,
    gymnast_id: QueryId = None,
    state: VideoState | None = None,
) -> VideoListJson:
    """Return the videos of a screen, of a gymnast, or in a state, the latest first."""
    query = VideoQuery(desk.club.id, screen_id=screen_id, gymnast_id=gymnast_id, state=state)
    catalogue, running = desk.app.catalogue, desk.app.running_videos
    with desk.app.records.reading() as tx:
        rows = tx.videos.find(query)
        told = [row_to_json(tx, row, catalogue=catalogue, running=running) for row in rows]
    return VideoListJson(videos=told)


@router.get("/videos/{video_id}", responses=_NOT_THERE)
def tell_video(video_id: PathId, desk: AtDesk) -> VideoJson:
    """Return a video: how far measuring is, and what it showed."""
    with desk.app.records.reading() as tx:
        return video_json(desk, tx, tx.videos.get(video_id))


def video_json(desk: Desk, tx: Tx, video: VideoRecord) -> VideoJson:
    """Return a video as this site tells it."""
    return video_to_json(tx, video, catalogue=desk.app.catalogue, running=desk.app.running_videos)


@router.post("/videos/{video_id}/measure", responses=_NOT_THERE)
def measure_video(
    video_id: PathId, desk: AtDesk, asked: Annotated[MeasureAsked | None, Body()] = None
) -> VideoJson:
    """Queue a video for measuring, with what is said of it; what is left out stays."""
    asked = asked or MeasureAsked()
    given = frozenset(asked.model_fields_set)
    said = AskedOfVideo(given=given, **asked.model_dump())
    video = desk.app.keep_videos().ask(video_id, said, today=desk.today())
    desk.measuring.wake()
    return _tell(desk, video)


@router.post("/videos/{video_id}/cancel", responses=_NOT_THERE)
def stop_measuring(video_id: PathId, desk: AtDesk) -> VideoJson:
    """Stop measuring a video; what was read so far is kept, and asked again it goes on there."""
    return _tell(desk, desk.app.keep_videos().call_off(video_id))


@router.delete("/videos/{video_id}", status_code=204, responses=_NOT_THERE)
def take_out_video(video_id: PathId, desk: AtDesk) -> Response:
    """Remove a video for good, with its file, landmarks, hold and the photo it became."""
    desk.app.keep_videos().take_out(video_id)
    desk.app.pictures.forget()
    return Response(status_code=204)


@router.delete("/videos/{video_id}/file", responses=_NOT_THERE)
def drop_video_file(video_id: PathId, desk: AtDesk) -> VideoJson:
    """Delete a video's file; landmarks, record and the photo of its best moment stay."""
    return _tell(desk, desk.app.keep_videos().drop_file(video_id))


@router.get("/videos/{video_id}/file", responses=_NOT_THERE | _BYTES, response_class=Response)
def give_video_file(request: Request, video_id: PathId, desk: AtDesk) -> Response:
    """Return the file, or the part of it that `Range` asks for."""
    with desk.app.records.reading() as tx:
        video = tx.videos.get(video_id)
    content = desk.app.photo_store.open_file(_key_of(video))
    try:
        media_type = media_type_of(content.read(HEAD_BYTES))
    except BaseException:
        content.close()
        raise
    return serve_part(
        content,
        size_bytes=video.size_bytes,
        media_type=media_type,
        asked=request.headers.get("range"),
    )


@router.get(
    "/videos/{video_id}/frame",
    responses={**_NOT_THERE, 200: {"content": {"image/jpeg": {}}, "description": "The frame."}},
    response_class=Response,
)
def give_frame(
    video_id: PathId,
    desk: AtDesk,
    *,
    t_s: Annotated[float, Query(ge=0.0, le=1e6, description="Time in the video.")] = 0.0,
    px: Annotated[int, Query(ge=64, le=4096, description="Its longest side.")] = 960,
) -> Response:
    """Return one frame as a JPEG without metadata, for browsers that cannot play the video."""
    with desk.app.records.reading() as tx:
        video = tx.videos.get(video_id)
    key = _key_of(video)
    source = VideoSource(video.name, lambda: desk.app.photo_store.open_file(key), video.sha256)
    whole = video.facts.duration_s
    rate_hz = video.facts.rate_hz or 30.0
    at = t_s if whole is None else max(0.0, min(t_s, whole - 1.0 / rate_hz))
    picture = desk.app.read_frame(source, at)
    jpeg = desk.app.photos.clean_jpeg(picture, max_px=px)
    return Response(jpeg, media_type="image/jpeg")


@router.get("/videos/{video_id}/traces", responses=_NOT_THERE)
def tell_traces(video_id: PathId, desk: AtDesk) -> TracesJson:
    """Return the measures through time, and where the hold was."""
    with desk.app.records.reading() as tx:
        tx.videos.get(video_id)
        kept = tx.videos.measurement(video_id)
    if kept is None:
        raise RefusedInputError("this video is not measured (yet); measure it first")
    record, clip = kept.record, kept.record["video"]
    hold = record["hold"]
    traces: dict[str, Any] = record["traces"]
    times: list[float] = next((trace["t_s"] for trace in traces.values()), [])
    measures = desk.app.catalogue.measures
    return TracesJson(
        t_s=times,
        traces={
            name: TraceJson(
                value=trace["value"],
                sd=trace["sd"],
                unit=unit_of(name) or "",
                words=measures[name].label if name in measures else name,
            )
            for name, trace in traces.items()
        },
        break_s=None if hold is None else hold["broke_at_s"],
        key_s=clip["key_s"],
        arrived_s=clip["arrived_s"],
        in_shape=[] if hold is None else [_in_shape(hold)],
    )


@router.get("/videos/{video_id}/track", responses=_NOT_THERE)
def tell_track(video_id: PathId, desk: AtDesk) -> TrackJson:
    """Return her landmarks in every frame that was looked at; also after the file was deleted."""
    with desk.app.records.reading() as tx:
        video = tx.videos.get(video_id)
        kept = tx.videos.measurement(video_id)
        pieces = tx.videos.pieces(video_id)
    facts = video.facts
    line = line_of(
        pieces,
        scale=facts.width_px / facts.working_width_px,
        near_side=None if kept is None else kept.record["near_side"],
    )
    if line is None:
        raise RefusedInputError("nothing of this video was followed (yet); measure it first")
    return TrackJson(
        width_px=facts.width_px,
        height_px=facts.height_px,
        t_s=[round(t, 3) for t in line.t_s.tolist()],
        near_side=line.near_side,
        landmarks={
            name: PlacesJson(x_px=_numbers(line.xy_px[:, i, 0]), y_px=_numbers(line.xy_px[:, i, 1]))
            for i, name in enumerate(LANDMARKS)
        },
    )


def _tell(desk: Desk, video: VideoRecord) -> VideoJson:
    with desk.app.records.reading() as tx:
        return video_json(desk, tx, tx.videos.get(video.id))


def _key_of(video: VideoRecord) -> str:
    if video.content_key is None:
        raise PhotoStoreError("", f"{video.name}: this video's file is not kept any more")
    return video.content_key


def _in_shape(hold: dict[str, Any]) -> tuple[float, float]:
    begin = float(hold["began_at_s"])
    end = hold["broke_at_s"]
    return begin, float(begin + hold["seconds"] if end is None else end)


def _numbers(values: Floats) -> list[float | None]:
    rounded = np.round(values, 1).tolist()
    return [one if math.isfinite(one) else None for one in rounded]
