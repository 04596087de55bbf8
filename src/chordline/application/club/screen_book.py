"""Screens in the records, as a protocol."""

from collections.abc import Sequence
from datetime import date
from typing import Protocol

from chordline.application.club.records import FindingsRecord, HoldRecord, Json, ScreenRecord
from chordline.application.club.views import ScreenView


class ScreenBook(Protocol):
    """Screens with their holds and findings."""

    def on(self, gymnast_id: int, day: date) -> ScreenRecord:
        """Return her screen of a day; begin it where there is none."""
        ...

    def get(self, screen_id: int) -> ScreenRecord:
        """Return a screen or raise `NotThereError`."""
        ...

    def of_gymnasts(self, gymnast_ids: Sequence[int]) -> tuple[ScreenRecord, ...]:
        """Return the screens of gymnasts, the first day first, without what is in them."""
        ...

    def view(self, screen_id: int) -> ScreenView:
        """Return a screen with everything in it."""
        ...

    def add_hold(
        self,
        screen_id: int,
        *,
        test: str,
        seconds: float,
        reached_cap: bool,
        author: str,
        video_id: int | None = None,
        rel_sd: float | None = None,
    ) -> HoldRecord:
        """Keep a hold, with a watch or of a video."""
        ...

    def remove_hold(self, hold_id: int) -> int:
        """Remove a hold that was entered by mistake; return the id of its screen."""
        ...

    def save_findings(
        self,
        screen: ScreenRecord,
        record: Json,
        *,
        catalogue: str,
        models: Sequence[str],
    ) -> FindingsRecord:
        """Keep findings of a screen as it was read."""
        ...

    def findings(self, screen_id: int) -> tuple[FindingsRecord, ...]:
        """Return all findings of a screen, the latest first."""
        ...
