"""The press of training: one sheet in, paper out."""

from typing import Final

from chordline.adapters.printing.exercise_pictures import ExercisePictures
from chordline.adapters.printing.paper import set_paper
from chordline.adapters.printing.training.views import (
    view_coach_plan,
    view_family,
    view_plan,
    view_referral,
    view_stations,
)
from chordline.application.training.sheets.coach_plan import CoachPlanSheet
from chordline.application.training.sheets.family import FamilySheet
from chordline.application.training.sheets.plan_overview import PlanOverview
from chordline.application.training.sheets.referral import ReferralNote
from chordline.application.training.sheets.stations import StationsSheet

_SHARED: Final = ("common.typ", "training_common.typ")


class TrainingPress:
    """Prints sheets of training; implements `application.training.sheets.printer.TrainingPrinter`.

    Parameters
    ----------
    pictures : ExercisePictures, optional
        Drawings of the exercises; without them, and for an exercise that they do not have, the
        words take their place.
    """

    def __init__(self, pictures: ExercisePictures | None = None) -> None:
        self._pictures = pictures

    def family_to_pdf(self, sheet: FamilySheet) -> bytes:
        """Return one A4 page; the same sheet gives the same bytes, as of every sheet here."""
        view = view_family(sheet, self._draw)
        return set_paper(view, title=view.told.title, templates=(*_SHARED, "training_family.typ"))

    def coach_plan_to_pdf(self, sheet: CoachPlanSheet) -> bytes:
        """Return one or two A4 pages."""
        view = view_coach_plan(sheet, self._draw)
        return set_paper(view, title=view.told.title, templates=(*_SHARED, "training_coach.typ"))

    def stations_to_pdf(self, sheet: StationsSheet) -> bytes:
        """Return A4 across: the rotation on one page, then the exercises."""
        view = view_stations(sheet, self._draw)
        return set_paper(view, title=view.told.title, templates=(*_SHARED, "training_stations.typ"))

    def plan_to_pdf(self, sheet: PlanOverview) -> bytes:
        """Return A4 across: who works on what on one page, then the dates."""
        view = view_plan(sheet)
        return set_paper(view, title=view.told.title, templates=(*_SHARED, "training_plan.typ"))

    def referral_to_pdf(self, note: ReferralNote) -> bytes:
        """Return one A4 page."""
        view = view_referral(note)
        return set_paper(view, title=view.told.title, templates=(*_SHARED, "training_referral.typ"))

    def _draw(self, exercise: str) -> str:
        pair = None if self._pictures is None else self._pictures.pair(exercise)
        return "" if pair is None else pair.right
