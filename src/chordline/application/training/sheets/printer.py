"""The press of training as a protocol."""

from typing import Protocol

from chordline.application.training.sheets.coach_plan import CoachPlanSheet
from chordline.application.training.sheets.family import FamilySheet
from chordline.application.training.sheets.plan_overview import PlanOverview
from chordline.application.training.sheets.referral import ReferralNote
from chordline.application.training.sheets.stations import StationsSheet


class TrainingPrinter(Protocol):
    """Turns sheets of training into paper."""

    def family_to_pdf(self, sheet: FamilySheet) -> bytes:
        """Return one A4 page."""
        ...

    def coach_plan_to_pdf(self, sheet: CoachPlanSheet) -> bytes:
        """Return one or two A4 pages."""
        ...

    def stations_to_pdf(self, sheet: StationsSheet) -> bytes:
        """Return A4 across."""
        ...

    def plan_to_pdf(self, sheet: PlanOverview) -> bytes:
        """Return A4 across."""
        ...

    def referral_to_pdf(self, note: ReferralNote) -> bytes:
        """Return one A4 page."""
        ...
