"""Screens, holds, notes and findings as JSON; docs/records.md describes the findings' keys."""

from datetime import date, datetime
from typing import Any

from pydantic import BaseModel, ConfigDict, Field

from chordline.application.club.records import HoldRecord, NoteRecord
from chordline.application.club.views import ScreenView


class CapacityJson(BaseModel):
    """One capacity: its shortfall in the unit that its name ends with."""

    mean: float
    sd: float
    p_limiter: float
    tested: bool
    verdict: str
    words: str


class ReasonJson(BaseModel):
    """One measure that moved a capacity by `shift`, in the capacity's unit."""

    sentence: str
    source: str
    test: str
    measure: str
    shift: float


class LimiterJson(BaseModel):
    """What limits her."""

    capacity: str
    p: float
    straightening_deg: float
    work: str
    reasons: list[ReasonJson]


class UndecidedJson(BaseModel):
    """What cannot be told yet, and the test that would decide it."""

    capacities: list[str]
    sentence: str
    ask_test: str | None


class OfferJson(BaseModel):
    """The test worth doing next."""

    test: str
    minutes: float
    gain_bits: float
    sentence: str


class CompensationJson(BaseModel):
    """What changed between a base test and a test, in the unit of the measure."""

    test: str
    base: str
    measure: str
    change: float
    sd: float
    sentence: str


class AsideJson(BaseModel):
    """What was put aside, and why."""

    source: str
    test: str
    measure: str
    why: str


class StopJson(BaseModel):
    """A reported sign: what to do, and which tests are not to be done."""

    flag: str
    advice: str
    tests: list[str]


class FindingsJson(BaseModel):
    """`chordline.findings/1`."""

    model_config = ConfigDict(extra="allow")

    schema_: str = Field(alias="schema")
    gymnast: str
    card: int | None
    screen: str
    capacities: dict[str, CapacityJson]
    limiters: list[LimiterJson]
    undecided: list[UndecidedJson]
    next_test: OfferJson | None
    compensations: list[CompensationJson]
    put_aside: list[AsideJson]
    not_used: list[str]
    stops: list[StopJson]
    cautions: list[str]
    minutes_spent: float
    catalogue: str
    models: list[str]


class HoldJson(BaseModel):
    """Seconds that she held a test's shape; `reached_cap`: she was stopped, she did not break."""

    id: int
    screen_id: int
    test: str
    seconds: float
    reached_cap: bool
    author: str
    entered_at: datetime


class NoteJson(BaseModel):
    """A remark or a sign; open while `closed_on` is null."""

    id: int
    gymnast_id: int
    noted_on: date
    kind: str
    flag: str | None
    text: str
    author: str
    closed_on: date | None


class ScreenPhotoJson(BaseModel):
    """A photo of a screen; `/api/photos/{id}` has its marks."""

    id: int
    name: str
    test: str | None
    state: str
    reason: str | None
    checked_by: str | None
    measurement: dict[str, Any] | None = Field(description="`chordline.measurement/1`.")


class ScreenJson(BaseModel):
    """A screen with everything in it."""

    id: int
    gymnast_id: int
    screened_on: date
    photos: list[ScreenPhotoJson]
    holds: list[HoldJson]
    findings: FindingsJson


class ShortScreenJson(BaseModel):
    """A screen by day."""

    id: int
    screened_on: date
    photos: int
    holds: int
    limiters: list[str] | None = Field(description="Capacities; null where it is not judged yet.")


class ScreensJson(BaseModel):
    """A gymnast's screens, the latest first."""

    gymnast_id: int
    screens: list[ShortScreenJson]


def hold_to_json(hold: HoldRecord) -> HoldJson:
    """Return a hold."""
    return HoldJson.model_validate(hold, from_attributes=True)


def note_to_json(note: NoteRecord) -> NoteJson:
    """Return a note."""
    return NoteJson.model_validate(note, from_attributes=True)


def short_to_json(view: ScreenView) -> ShortScreenJson:
    """Return a screen without what is in it."""
    findings = view.findings
    return ShortScreenJson(
        id=view.screen.id,
        screened_on=view.screen.screened_on,
        photos=len(view.photos),
        holds=len(view.holds),
        limiters=None
        if findings is None
        else [limiter["capacity"] for limiter in findings.record["limiters"]],
    )


def screen_to_json(view: ScreenView, findings: dict[str, Any]) -> ScreenJson:
    """Return a screen with its findings."""
    return ScreenJson(
        id=view.screen.id,
        gymnast_id=view.screen.gymnast_id,
        screened_on=view.screen.screened_on,
        photos=[
            ScreenPhotoJson(
                id=one.photo.id,
                name=one.photo.name,
                test=one.photo.test,
                state=one.photo.state,
                reason=one.photo.reason,
                checked_by=one.photo.checked_by,
                measurement=None if one.measurement is None else dict(one.measurement.record),
            )
            for one in view.photos
        ],
        holds=[hold_to_json(hold) for hold in view.holds],
        findings=FindingsJson.model_validate(findings),
    )
