"""A gymnast's screens, day by day: words, and small drawings of the same tests."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from chordline.adapters.printing.body_line import TABLE
from chordline.application.club.her_screen import counting_photos
from chordline.application.club.records import ScreenRecord
from chordline.application.club.told import tell_findings, tell_in_a_line
from chordline.application.club.views import ScreenView
from chordline.application.make_squad_sheet import draw_line
from chordline.catalogue.schema import Catalogue
from chordline.web.drawings import draw_glyph

#: So many tests are drawn beside each other.
_COLUMNS = 3


@dataclass(frozen=True)
class PastScreen:
    """One screen: its words, a drawing for each column (empty where not done)."""

    screen: ScreenRecord
    photos: int
    said: str
    glyphs: tuple[str, ...]


@dataclass(frozen=True)
class History:
    """All screens, the latest first, with the titles of the tests that are drawn."""

    columns: tuple[str, ...]
    screens: tuple[PastScreen, ...]


def read_history(screens: Sequence[ScreenView], catalogue: Catalogue) -> History:
    """Return what the screens tell; whether anything changed is not judged here."""
    done = [
        {measurement.test: (photo, measurement) for photo, measurement in counting}
        for counting in (counting_photos(one, catalogue) for one in screens)
    ]
    often = Counter(test for tests in done for test in tests)
    overhead = [name for name, test in catalogue.tests.items() if test.arms == "overhead"]
    chosen = sorted(
        (test for test in overhead if often[test]),
        key=lambda test: (test != "handstand", -often[test], overhead.index(test)),
    )[:_COLUMNS]
    return History(
        columns=tuple(catalogue.tests[test].title for test in chosen),
        screens=tuple(
            PastScreen(
                screen=one.screen,
                photos=len(one.photos),
                said="Not judged yet."
                if one.findings is None
                else tell_in_a_line(tell_findings(one.findings.record, catalogue)),
                glyphs=tuple(
                    draw_glyph(tests[test][0], draw_line(tests[test][1], catalogue), TABLE)
                    if test in tests
                    else ""
                    for test in chosen
                ),
            )
            for one, tests in zip(screens, done, strict=True)
        ),
    )
