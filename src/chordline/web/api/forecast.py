"""The forecast of a gymnast's handstand, and what it would be with more of something."""

from dataclasses import replace
from typing import Annotated, Any

from fastapi import APIRouter, Query
from pydantic import BaseModel, ConfigDict, Field

from chordline.adapters.printing.forecast_view import draw_told, view_forecast
from chordline.application.club.her_screen import counting_photos
from chordline.application.club.ports import Tx
from chordline.application.club.views import ScreenView
from chordline.application.forecast.forecast_json import forecast_to_json
from chordline.application.forecast.forecast_line import MOST_GAIN
from chordline.application.sheet_forecast import (
    forecast_for_sheet,
    gains_in_words,
    handstand_among,
    today_line,
    tried_line,
)
from chordline.errors import NotThereError
from chordline.web.desk import AtDesk
from chordline.web.ids import PathId

router = APIRouter(tags=["screens"])

_REFUSALS: dict[int | str, dict[str, Any]] = {
    404: {"description": "She is not there (any more), or has no screen."},
    422: {"description": "No such gain can be asked about."},
}
Amount = Annotated[float, Field(ge=-MOST_GAIN, le=MOST_GAIN, allow_inf_nan=False)]


class Asked(BaseModel):
    """Which screen, the latest where left out; and what she is thought to have gained."""

    model_config = ConfigDict(extra="forbid")

    screen: int | None = Field(None, ge=1, le=2**31 - 1)
    shoulder_flexion_deg: Amount = 0.0
    shoulder_active_lag_deg: Amount = 0.0
    hip_extension_deg: Amount = 0.0
    pelvic_tuck_deg: Amount = 0.0
    shoulder_push_pct: Amount = 0.0

    @property
    def gains(self) -> dict[str, float]:
        """What is not zero, by capacity."""
        return {
            name: amount for name, amount in self.model_dump(exclude={"screen"}).items() if amount
        }


class EstimateJson(BaseModel):
    """A mean and its standard deviation."""

    mean: float
    sd: float


class PayoffJson(BaseModel):
    """Bow (rms) that one unit takes away [% of chord per unit]."""

    value: float
    sd: float


class GainJson(BaseModel):
    """What one gain would give."""

    capacity: str
    by: float
    straightened_pct: EstimateJson
    bow_max_pct: EstimateJson
    line: list[tuple[float, float]]


class LineForecastJson(BaseModel):
    """The attainable line; docs/records.md describes every key."""

    bow_max_pct: EstimateJson
    lean_deg: EstimateJson
    openings_deg: dict[str, EstimateJson]
    p_within_10deg: float
    p_straight: float
    p_arrived: float
    straight_within_pct: float
    stopped_by: str | None
    stopped_share: float
    payoffs: dict[str, PayoffJson]
    line: list[tuple[float, float]]
    best: GainJson | None
    draws: int
    table: str
    segments: str


class WordsJson(BaseModel):
    """The sentences of the page; `asked`, `posture` and `gain` may be empty."""

    asked: str
    headline: str
    posture: str
    chances: str
    gain: str


class ForecastJson(BaseModel):
    """A forecast, in numbers, words and one drawing."""

    gymnast_id: int
    screen_id: int
    gains: dict[str, float]
    forecast: LineForecastJson | None = Field(description="Null where too little is tested.")
    missing: str = Field(description="What is not tested; empty where there is a forecast.")
    words: WordsJson | None
    drawing: str = Field(description="SVG; empty where there is no forecast.")


def _view(tx: Tx, gymnast_id: int, screen_id: int | None) -> ScreenView:
    screens = tx.gymnasts.view(gymnast_id, screens=1).screens
    if screen_id is not None:
        view = tx.screens.view(screen_id)
        if view.screen.gymnast_id != gymnast_id:
            raise NotThereError("screen", screen_id)
        return view
    if not screens:
        raise NotThereError("screen of gymnast", gymnast_id)
    return screens[0]


@router.get("/gymnasts/{gymnast_id}/forecast", response_model=ForecastJson, responses=_REFUSALS)
def read_forecast(
    desk: AtDesk, gymnast_id: PathId, asked: Annotated[Asked, Query()]
) -> ForecastJson:
    """Return the straightest handstand that her range allows, as if she had gained so much."""
    app, gains = desk.app, asked.gains
    with app.records.reading() as tx:
        view = _view(tx, gymnast_id, asked.screen)
        today = app.judge_screen.find(app.judge_screen.read(tx, view), view)
    handstand = handstand_among(one for _, one in counting_photos(view, app.catalogue))
    found = replace(today, forecast=app.forecast_line(today, gains=gains)) if gains else today
    told = forecast_for_sheet(found, app.catalogue, photo=handstand)
    base = today.forecast
    if told is None or found.forecast is None or base is None:
        return ForecastJson(
            gymnast_id=gymnast_id,
            screen_id=view.screen.id,
            gains=gains,
            forecast=None,
            missing="" if told is None else told.missing,
            words=None,
            drawing="",
        )
    shown = view_forecast(told, handstand)
    if gains:
        tried = tried_line(found.forecast, gains, app.catalogue)
        drawing = draw_told((today_line(base, app.catalogue), tried), handstand)
    else:
        drawing = shown.drawing
    return ForecastJson(
        gymnast_id=gymnast_id,
        screen_id=view.screen.id,
        gains=gains,
        forecast=LineForecastJson.model_validate(forecast_to_json(found.forecast)),
        missing="",
        words=WordsJson(
            asked=gains_in_words(gains, app.catalogue),
            headline=shown.headline,
            posture=shown.posture,
            chances=shown.chances,
            gain=shown.gain,
        ),
        drawing=drawing,
    )
