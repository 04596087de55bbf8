"""Which test of which two screens is shown side by side."""

from collections.abc import Sequence
from dataclasses import dataclass

from chordline.application.club.her_screen import counting_photos
from chordline.application.club.ports import Tx
from chordline.application.club.views import PhotoView
from chordline.application.drawn_line import DrawnLine
from chordline.application.make_squad_sheet import draw_line, lines_to_show
from chordline.application.progress.timelines import Counted
from chordline.catalogue.schema import Catalogue
from chordline.core.capacity.observed import HOLD_MEASURE


@dataclass(frozen=True)
class PairChoice:
    """A test in two screens, and what else could be chosen.

    Attributes
    ----------
    test : str
    before, after : Counted
    tests : tuple of str
        Photographed in both of these screens, in the order of the battery.
    """

    test: str
    before: Counted
    after: Counted
    tests: tuple[str, ...]


@dataclass(frozen=True)
class PairedPhoto:
    """A screen's photo of the test, with its line."""

    screen: Counted
    photo: PhotoView
    line: DrawnLine


def choose_pair(
    screens: Sequence[Counted],
    catalogue: Catalogue,
    *,
    test: str | None = None,
    before_id: int | None = None,
    after_id: int | None = None,
) -> PairChoice | None:
    """Return what is shown; None where no two screens share a photographed test.

    Parameters
    ----------
    screens : sequence of Counted
        The oldest first.
    catalogue : Catalogue
    test : str, optional
        Wanted; else the line that stands for her.
    before_id, after_id : int, optional
        Wanted screens; else the latest, and the first that shares a test with it.

    Notes
    -----
    A wish that cannot be met (a screen of somebody else, a test that is not in both) is put
    aside rather than refused: the page says what it shows.
    """
    by_id = {one.screen.id: one for one in screens}
    after = by_id.get(after_id or 0) or (screens[-1] if screens else None)
    if after is None:
        return None
    earlier = [one for one in screens if one.day < after.day]
    wanted = by_id.get(before_id or 0)
    if wanted is not None and wanted.day < after.day:
        earlier = [wanted, *earlier]
    for before in earlier:
        shared = set(photographed(before)) & set(photographed(after))
        tests = tuple(name for name in catalogue.tests if name in shared)
        if tests:
            chosen = test if test in shared else _standing_for_her(tests, catalogue)
            return PairChoice(chosen, before, after, tests)
    return None


def photographed(screen: Counted) -> tuple[str, ...]:
    """Return the tests of a screen that count by a photo."""
    return tuple(
        dict.fromkeys(test for test, measure in screen.at.measured if measure != HOLD_MEASURE)
    )


def read_pair(
    tx: Tx, choice: PairChoice, catalogue: Catalogue
) -> tuple[PairedPhoto, PairedPhoto] | None:
    """Return both photos with their lines; None where one was removed meanwhile."""
    found = []
    for screen in (choice.before, choice.after):
        view = tx.screens.view(screen.screen.id)
        hers = [
            (photo, measurement)
            for photo, measurement in counting_photos(view, catalogue)
            if measurement.test == choice.test
        ]
        hers.sort(key=lambda pair: not pair[1].trust.accepted)
        if not hers:
            return None
        photo, measurement = hers[0]
        found.append(PairedPhoto(screen, photo, draw_line(measurement, catalogue)))
    return found[0], found[1]


def _standing_for_her(tests: Sequence[str], catalogue: Catalogue) -> str:
    ways = [name for group in lines_to_show(catalogue) for name in group]
    return next((name for name in ways if name in tests), tests[0])
