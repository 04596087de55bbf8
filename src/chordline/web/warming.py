"""Reads the gymnasts' progress before somebody asks for it, so that its pages open at once."""

import logging
import time
from collections.abc import Callable
from datetime import date

from chordline.application.club.ports import Records
from chordline.application.club.views import GymnastQuery
from chordline.application.progress.her_progress import HerProgress
from chordline.errors import ChordlineError, NotThereError
from chordline.web.in_background import InBackground

_log = logging.getLogger(__name__)

#: Those screened last; progress keeps no more of them ready.
_GYMNASTS = 400
_A_PAGE = 50
#: Rest after each gymnast, in times of the work: whoever opens a page meanwhile comes first.
_REST = 3.0
#: The first pages after the start come before it [s].
_LATER_S = 2.0


class Warming(InBackground):
    """Reads in a thread of its own, once, until told to stop; what fails is left to its page."""

    def __init__(
        self,
        records: Records,
        hers: Callable[[], HerProgress],
        *,
        club_id: Callable[[], int],
        later_s: float = _LATER_S,
    ) -> None:
        super().__init__("warming")
        self._records = records
        self._hers = hers
        self._club_id = club_id
        self._later_s = later_s

    def _run(self) -> None:
        if self._ended.wait(self._later_s):
            return
        try:
            for gymnast_id in self._latest():
                began = time.perf_counter()
                self._read(gymnast_id)
                if self._ended.wait(_REST * (time.perf_counter() - began)):
                    return
        except ChordlineError as error:
            _log.warning("reading ahead: %s", error)

    def _read(self, gymnast_id: int) -> None:
        try:
            self._hers()(gymnast_id, today=date.today())
        except NotThereError:
            pass  # erased meanwhile
        except ChordlineError as error:
            _log.warning("reading ahead: %s", error)

    def _latest(self) -> list[int]:
        """Return those who were screened, the latest first."""
        found: list[int] = []
        after: str | None = None
        while len(found) < _GYMNASTS:
            query = GymnastQuery(
                self._club_id(), sort="last_screened", descending=True, after=after, limit=_A_PAGE
            )
            with self._records.reading() as tx:
                page = tx.gymnasts.page(query)
            screened = [one.gymnast.id for one in page.rows if one.last_screened_on is not None]
            found += screened
            after = page.next
            if after is None or len(screened) < len(page.rows):
                break
        return found[:_GYMNASTS]
