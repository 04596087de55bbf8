"""A screen as pages show it: every photo with its drawing and words, and what was found."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from chordline.adapters.printing.findings_view import ChangeView, FindingsView, view_findings
from chordline.adapters.printing.forecast_view import ForecastView, view_forecast
from chordline.adapters.printing.sheet_view import NEEDS_A_LOOK, NO_FINDING, LineView, view_line
from chordline.adapters.printing.svg import clean
from chordline.application.club.her_screen import HerScreen, counting_photos
from chordline.application.club.ports import Tx
from chordline.application.club.records import GymnastRecord, PhotoRecord
from chordline.application.club.views import PhotoView, ScreenView
from chordline.application.findings import Findings
from chordline.application.make_sheet import describe_photo
from chordline.application.sheet import SheetPhoto
from chordline.application.sheet_findings import SheetFindings, findings_for_sheet
from chordline.application.sheet_forecast import forecast_for_sheet, handstand_among
from chordline.catalogue.schema import Catalogue
from chordline.core.body.measurement import Measurement
from chordline.errors import RecordsBusyError
from chordline.web.desk import Desk
from chordline.web.drawings import Shot, shoot, whole_shot


@dataclass(frozen=True)
class TestShown:
    """One photo of a screen.

    Attributes
    ----------
    number : int
        Its place among the photos that count, from 1; 0 where it does not.
    photo : PhotoRecord
    title, reads, care, headline : str
    state : str
        What stands beside the headline: ``needs a look``, ``being measured``; may be empty.
    doubts, notes : tuple of str
    shot : Shot
    judged, described : tuple of LineView
    """

    __test__ = False

    number: int
    photo: PhotoRecord
    title: str
    reads: str
    care: str
    headline: str
    state: str
    doubts: tuple[str, ...]
    notes: tuple[str, ...]
    shot: Shot
    judged: tuple[LineView, ...] = ()
    described: tuple[LineView, ...] = ()


@dataclass(frozen=True)
class PairShown:
    """A test beside its base test; `base` is None where that is not in the screen.

    `base_title` names the base test that was not done; it may be empty.
    """

    base: TestShown | None
    test: TestShown
    base_title: str
    changes: tuple[ChangeView, ...]


@dataclass(frozen=True)
class ScreenShown:
    """A screen as it is now.

    Attributes
    ----------
    view : ScreenView
    hers : HerScreen
    found : Findings
    told : SheetFindings
    findings : FindingsView
    tests : tuple of TestShown
        Photos that count, in the order of the battery.
    others : tuple of TestShown
        Photos that do not count (yet).
    pairs : tuple of PairShown
    forecast : ForecastView or None
    """

    view: ScreenView
    hers: HerScreen
    found: Findings
    told: SheetFindings
    findings: FindingsView
    tests: tuple[TestShown, ...]
    others: tuple[TestShown, ...]
    pairs: tuple[PairShown, ...]
    forecast: ForecastView | None

    @property
    def counts(self) -> bool:
        """Whether anything of it counts."""
        return bool(self.tests or self.hers.screen.held)


def read_shown(desk: Desk, tx: Tx, view: ScreenView, gymnast: GymnastRecord) -> ScreenShown:
    """Return a screen as it is now, judged from its records."""
    judge, catalogue = desk.app.judge_screen, desk.app.catalogue
    hers = judge.read(tx, view, gymnast)
    found = judge.find(hers, view)
    told = findings_for_sheet(found, catalogue)
    counting = counting_photos(view, catalogue)
    sheet_photos = [describe_photo(measurement, catalogue) for _, measurement in counting]
    findings = view_findings(told, sheet_photos)
    tests = tuple(
        _counted(number, photo, measurement, said)
        for number, ((photo, measurement), said) in enumerate(
            zip(counting, sheet_photos, strict=True), start=1
        )
    )
    handstand = handstand_among(measurement for _, measurement in counting)
    forecast = forecast_for_sheet(found, catalogue, photo=handstand)
    counted = {photo.photo.id for photo, _ in counting}
    return ScreenShown(
        view=view,
        hers=hers,
        found=found,
        told=told,
        findings=findings,
        tests=tests,
        others=tuple(
            _uncounted(one, catalogue) for one in view.photos if one.photo.id not in counted
        ),
        pairs=_pairs(tests, sheet_photos, findings.changes, catalogue),
        forecast=None if forecast is None else view_forecast(forecast, handstand),
    )


def bring_up_to_date(desk: Desk, shown: ScreenShown) -> None:
    """Keep what was found where the stored findings are older than the screen."""
    stored = shown.view.findings
    current = stored is not None and stored.up_to_date
    if not shown.counts or (current and stored.catalogue == desk.app.catalogue.version):  # type: ignore[union-attr]
        return
    try:
        desk.app.judge_screen(shown.view.screen.id)
    except RecordsBusyError:
        return  # the next page that is opened does it


def _counted(number: int, view: PhotoView, measurement: Measurement, said: SheetPhoto) -> TestShown:
    trusted = measurement.trust.accepted
    return TestShown(
        number=number,
        photo=view.photo,
        title=clean(said.title),
        reads=clean(said.reads),
        care=clean(said.caution),
        headline=clean(said.headline) if trusted else NO_FINDING,
        state="being measured again"
        if view.photo.state == "waiting"
        else ""
        if trusted
        else NEEDS_A_LOOK,
        doubts=() if trusted else tuple(map(clean, measurement.trust.reasons)),
        notes=tuple(map(clean, measurement.cautions)),
        shot=shoot(view, said.line).named(f"line-{number}"),
        judged=tuple(
            view_line(line, line.verdict, trusted=trusted)
            for line in said.lines
            if line.verdict is not None
        ),
        described=tuple(
            view_line(line, None, trusted=trusted) for line in said.lines if line.verdict is None
        ),
    )


_STATES = {
    "waiting": "being measured",
    "measured": "not counted",
    "needs_look": NEEDS_A_LOOK,
    "refused": "could not be measured",
}


def _uncounted(view: PhotoView, catalogue: Catalogue) -> TestShown:
    photo = view.photo
    entry = catalogue.tests.get(photo.test or "")
    return TestShown(
        number=0,
        photo=photo,
        title="Which test?" if entry is None else entry.title,
        reads="" if entry is None else entry.reads,
        care="" if entry is None else entry.care,
        headline=photo.reason or "",
        state=_STATES[photo.state],
        doubts=(),
        notes=(),
        shot=whole_shot(photo),
    )


def _again(shown: TestShown) -> TestShown:
    return replace(shown, shot=shown.shot.again(f"line-{shown.number}"))


def _pairs(
    tests: Sequence[TestShown],
    sheet_photos: Sequence[SheetPhoto],
    changes: Sequence[ChangeView],
    catalogue: Catalogue,
) -> tuple[PairShown, ...]:
    """Return every counted photo beside the photo that it is compared with."""
    pairs = []
    latest: dict[str, TestShown] = {}
    for shown, said in zip(tests, sheet_photos, strict=True):
        base = catalogue.tests[said.measurement.test].base
        hers = tuple(one for one in changes if one.now and one.shown[-1:] == (shown.number,))
        compared = {one.shown[0] for one in hers if len(one.shown) == 2}
        before = tests[min(compared) - 1] if compared else latest.get(base or "")
        missing = base is not None and before is None
        pairs.append(
            PairShown(
                base=None if before is None else _again(before),
                test=shown,
                base_title=catalogue.tests[base].title if missing and base else "",
                changes=hers,
            )
        )
        latest[said.measurement.test] = shown
    return tuple(pairs)
