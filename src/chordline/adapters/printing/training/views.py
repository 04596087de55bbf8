"""Sheets of training with their drawings: what the templates show."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace

from chordline.adapters.printing.training.cleaned import cleaned
from chordline.adapters.printing.training.her_lines import draw_hers, draw_other
from chordline.application.training.sheets.coach_plan import CoachPlanSheet
from chordline.application.training.sheets.family import FamilySheet
from chordline.application.training.sheets.plan_overview import PlanOverview
from chordline.application.training.sheets.referral import ReferralNote
from chordline.application.training.sheets.stations import StationsSheet

#: Gives the drawing of an exercise as SVG, empty where there is none.
DrawExercise = Callable[[str], str]


@dataclass(frozen=True)
class ExerciseDrawing:
    """The drawing of an exercise; empty where there is none."""

    id: str
    drawing: str


@dataclass(frozen=True)
class FamilyView:
    """The family's sheet.

    `drawing` holds `figures` handstands side by side, or one line that lies where that is 0.
    """

    told: FamilySheet
    drawing: str
    figures: int
    caption: str
    key: str
    spoken: str
    exercises: tuple[ExerciseDrawing, ...]


@dataclass(frozen=True)
class CoachPlanView:
    """The coach's sheet; its drawing as in `FamilyView`."""

    told: CoachPlanSheet
    drawing: str
    figures: int
    caption: str
    spoken: str
    exercises: tuple[ExerciseDrawing, ...]


@dataclass(frozen=True)
class StationsView:
    """Tonight's stations."""

    told: StationsSheet
    exercises: tuple[ExerciseDrawing, ...]


@dataclass(frozen=True)
class PlanView:
    """A group's plan."""

    told: PlanOverview


@dataclass(frozen=True)
class ReferralView:
    """A referral note."""

    told: ReferralNote


def view_family(sheet: FamilySheet, draw: DrawExercise) -> FamilyView:
    """Return what the paper shows of a family's sheet."""
    line = sheet.line
    drawing, figures = "", 0
    if line is not None:
        reachable = [(line.reachable_caption, line.reachable, None)] if line.reachable else []
        drawing, figures = draw_hers(line.photo, line.photo_caption, reachable, title=line.spoken)
        drawing = drawing or draw_other(line.lying)
    return FamilyView(
        told=cleaned(replace(sheet, line=None)),
        drawing=drawing,
        figures=figures,
        caption="" if line is None or figures else line.lying_caption,
        key="" if line is None or not drawing else line.key,
        spoken="" if line is None else line.spoken,
        exercises=_drawings((one.told.id for one in sheet.home), draw),
    )


def view_coach_plan(sheet: CoachPlanSheet, draw: DrawExercise) -> CoachPlanView:
    """Return what the paper shows of a coach's sheet."""
    lines = sheet.lines
    drawing, figures = "", 0
    if lines is not None:
        told = [
            (caption, one.outline, one.stopped_at)
            for caption, one in zip(lines.captions, lines.told, strict=True)
        ]
        drawing, figures = draw_hers(lines.photo, lines.photo_caption, told, title=lines.spoken)
        drawing = drawing or draw_other(lines.other)
    return CoachPlanView(
        told=cleaned(replace(sheet, lines=None)),
        drawing=drawing,
        figures=figures,
        caption="" if lines is None or figures else lines.other_caption,
        spoken="" if lines is None else lines.spoken,
        exercises=_drawings((one.told.id for one in sheet.exercises), draw),
    )


def view_stations(sheet: StationsSheet, draw: DrawExercise) -> StationsView:
    """Return what the paper shows of an evening."""
    ids = (one.id for station in sheet.stations for one in station.exercises)
    return StationsView(cleaned(sheet), _drawings(ids, draw))


def view_plan(sheet: PlanOverview) -> PlanView:
    """Return what the paper shows of a plan."""
    return PlanView(cleaned(sheet))


def view_referral(sheet: ReferralNote) -> ReferralView:
    """Return what the paper shows of a referral note."""
    return ReferralView(cleaned(sheet))


def _drawings(ids: Iterable[str], draw: DrawExercise) -> tuple[ExerciseDrawing, ...]:
    return tuple(ExerciseDrawing(id_, draw(id_)) for id_ in dict.fromkeys(ids))
