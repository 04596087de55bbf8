"""A video as the JSON interface tells it."""

from datetime import date, datetime
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field

from chordline.application.club.ports import Tx
from chordline.application.club.running_videos import Running
from chordline.application.club.video_records import VideoRecord, VideoRow
from chordline.application.video_json import video_from_json
from chordline.application.video_words import amount_in_words, hold_in_words, sway_in_words
from chordline.catalogue.schema import Catalogue
from chordline.conventions import Front, Side
from chordline.web.api.photo_json import LARGEST_ID, Owner, owner_and_day

_State = Literal["arrived", "waiting", "measured", "needs_look", "refused"]
_WAITS = "waits for its turn"
_BEGUN = "was begun; measuring goes on from there"

Seconds = Annotated[float, Field(ge=0.0, le=1e6, allow_inf_nan=False)]


class HeadwayJson(BaseModel):
    """How far measuring is: share of the work that is done, and what is done now."""

    share: float | None
    said: str


class WhereJson(BaseModel):
    """Which measure left its limit, and to which side."""

    measure: str
    side: Literal["opening", "closing"]


class HoldToldJson(BaseModel):
    """Seconds in shape; `low_s` to `high_s` is a 90 % interval, `high_s` None = at least."""

    seconds: float
    sd: float
    low_s: float
    high_s: float | None
    reached_cap: bool
    began_at_s: float
    broke_at_s: float | None
    where: WhereJson | None
    words: str


class AmountJson(BaseModel):
    """One measure; `told` False = not more than the landmarks' own noise would show."""

    value: float
    sd: float
    unit: str
    told: bool
    words: str


class SwayJson(BaseModel):
    """How quietly she stood on her hands, to the front and back only: one side view shows no more.

    `rms_distance`: root mean square of the distance from the mean place; `mean_speed`: all ways
    over the time; `of`: the point that was followed.
    """

    of: str
    rms_distance: AmountJson
    mean_speed: AmountJson
    range: AmountJson
    duration_s: float
    words: str


class VideoJson(BaseModel):
    """A video, without its file.

    `state`: `arrived` = nobody asked to measure it yet. `day`: of the screen. `from_s`, `to_s`: the
    part that is measured. `keep_file`: whether the file stays once it is measured; `file_kept`:
    whether it is there now. `measures`: of the best moment, as in its record.
    """

    id: int
    name: str
    state: _State
    reason: str | None
    test: str | None
    gymnast: Owner | None
    screen_id: int | None
    day: date | None
    near_side: Side | None
    front: Front | None
    person: int | None
    from_s: float | None
    to_s: float | None
    keep_file: bool
    file_kept: bool
    size_bytes: int
    received_at: datetime
    duration_s: float | None
    width_px: int
    height_px: int
    rate_hz: float
    progress: HeadwayJson | None
    key_photo_id: int | None
    hold: HoldToldJson | None
    sway: SwayJson | None
    key_s: float | None
    arrived_s: float | None
    cautions: list[str]
    measures: dict[str, Any]


class FiledVideoJson(VideoJson):
    """A video that came in, or was there already."""

    already_there: bool


class VideoListJson(BaseModel):
    """Videos, the latest first."""

    videos: list[VideoJson]


class MeasureAsked(BaseModel):
    """What the coach says when a video is to be measured; what is left out stays."""

    model_config = ConfigDict(extra="forbid")

    test: str | None = None
    gymnast_id: Annotated[int, Field(ge=1, le=LARGEST_ID)] | None = None
    day: date | None = None
    near_side: Side | None = None
    front: Front | None = None
    person: Annotated[int, Field(ge=1, le=99)] | None = None
    from_s: Seconds | None = None
    to_s: Seconds | None = None
    keep_file: bool | None = None


class TraceJson(BaseModel):
    """One measure through time; null where she was lost."""

    value: list[float | None]
    sd: list[float | None]
    unit: str
    words: str


class TracesJson(BaseModel):
    """Measures through time, all at the same times `t_s`; `in_shape`: from and to [s]."""

    t_s: list[float]
    traces: dict[str, TraceJson]
    break_s: float | None
    key_s: float
    arrived_s: float | None
    in_shape: list[tuple[float, float]]


class PlacesJson(BaseModel):
    """One landmark in each frame [px of the full upright frame]; null where she was lost."""

    x_px: list[float | None]
    y_px: list[float | None]


class TrackJson(BaseModel):
    """Her near side in each frame that was looked at."""

    width_px: int
    height_px: int
    t_s: list[float]
    near_side: Side
    landmarks: dict[str, PlacesJson]


def video_to_json(
    tx: Tx, video: VideoRecord, *, catalogue: Catalogue, running: Running
) -> VideoJson:
    """Return a video with its owner, how far it is, and what it showed."""
    said, facts = video.said, video.facts
    owner, day = owner_and_day(tx, said.screen_id, said.taken_on)
    return VideoJson(
        id=video.id,
        name=video.name,
        state=video.state,
        reason=video.reason,
        test=said.test,
        gymnast=owner,
        screen_id=said.screen_id,
        day=day,
        near_side=said.near_side,
        front=said.front,
        person=said.person,
        from_s=said.from_s,
        to_s=said.to_s,
        keep_file=said.keep_file,
        file_kept=video.content_key is not None,
        size_bytes=video.size_bytes,
        received_at=video.received_at,
        duration_s=facts.duration_s,
        width_px=facts.width_px,
        height_px=facts.height_px,
        rate_hz=facts.rate_hz,
        progress=_headway(tx, video, running),
        key_photo_id=video.key_photo_id,
        **_shown(tx, video, catalogue),
    )


def row_to_json(tx: Tx, row: VideoRow, *, catalogue: Catalogue, running: Running) -> VideoJson:
    """Return a video of a list."""
    return video_to_json(tx, row.video, catalogue=catalogue, running=running)


def _headway(tx: Tx, video: VideoRecord, running: Running) -> HeadwayJson | None:
    """Return how far measuring is: as it is now in this process, else as far as it is kept."""
    if video.state not in ("arrived", "waiting"):
        return None
    now = running.of(video.id)
    if now is not None and video.state == "waiting":
        return HeadwayJson(share=round(now.share or 0.0, 3), said=now.said)
    until_s = tx.videos.seen_until([video.id]).get(video.id)
    if until_s is None:
        return HeadwayJson(share=0.0, said=_WAITS) if video.state == "waiting" else None
    begin = video.said.from_s or 0.0
    end = video.said.to_s or video.facts.duration_s or until_s
    share = 0.9 * min(1.0, max(0.0, (until_s - begin) / max(end - begin, 1e-6)))
    said = _WAITS if video.state == "waiting" else _BEGUN
    return HeadwayJson(share=round(share, 3), said=said)


def _shown(tx: Tx, video: VideoRecord, catalogue: Catalogue) -> dict[str, Any]:
    """Return what the measurement that counts showed."""
    kept = tx.videos.measurement(video.id)
    if kept is None:
        nothing = dict.fromkeys(("hold", "sway", "key_s", "arrived_s"))
        return {**nothing, "cautions": [], "measures": {}}
    record = kept.record
    measured = video_from_json(dict(record))
    words = "" if measured.hold is None else hold_in_words(measured.hold, catalogue)
    return {
        "hold": _hold(record["hold"], words),
        "sway": _sway(record.get("sway")),
        "key_s": measured.clip.key_s,
        "arrived_s": measured.clip.arrived_s,
        "cautions": list(record["cautions"]),
        "measures": record["measures"],
    }


def _hold(hold: dict[str, Any] | None, words: str) -> HoldToldJson | None:
    if hold is None:
        return None
    names = ("seconds", "sd", "low_s", "high_s", "began_at_s", "broke_at_s", "where")
    told = {name: hold[name] for name in names}
    return HoldToldJson(**told, reached_cap=hold["at_least"], words=words)


def _sway(sway: dict[str, Any] | None) -> SwayJson | None:
    if sway is None:
        return None
    amounts = {
        name: AmountJson(**sway[name], words=amount_in_words(sway[name]))
        for name in ("rms_distance", "mean_speed", "range")
    }
    return SwayJson(
        of=sway["of"], **amounts, duration_s=sway["duration_s"], words=sway_in_words(sway)
    )
