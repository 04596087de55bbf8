"""From a screened folder and its findings to the squad's sheet."""

from collections import Counter
from collections.abc import Sequence

from chordline.application.drawn_line import DrawnLine
from chordline.application.findings import Findings
from chordline.application.findings_words import amount, amount_sd, lower_first
from chordline.application.folder import Gymnast
from chordline.application.make_sheet import CARE
from chordline.application.screen_folder import FolderScreen, GymnastScreen, LeftOut
from chordline.application.sheet_findings import SheetFindings, findings_for_sheet
from chordline.application.squad_sheet import (
    NextTest,
    Planned,
    SquadCell,
    SquadRow,
    SquadSheet,
)
from chordline.application.summary import (
    NO_LIMITER,
    limits_in_words,
    minutes_in_words,
    open_names,
)
from chordline.application.wording import describe_measure
from chordline.catalogue.schema import Catalogue
from chordline.core.body.measurement import Measurement
from chordline.core.body.verdict import Verdict

#: The group of tests whose line stands for her, the first that she has.
_SHOWN_FIRST = ("hands", "hold", "lying", "dish")
NOT_TESTED = "not tested yet"


class MakeSquadSheet:
    """Use case: put a whole folder onto one sheet."""

    def __init__(self, catalogue: Catalogue) -> None:
        self._catalogue = catalogue

    def __call__(
        self,
        result: FolderScreen,
        all_found: Sequence[Findings],
        *,
        squad: str,
        pages: Sequence[str],
        screened_on: str = "",
    ) -> SquadSheet:
        """Return the sheet.

        Parameters
        ----------
        result : FolderScreen
        all_found : sequence of Findings
        squad : str
        pages : sequence of str
            File names of the gymnasts' pages; these and the findings are one a gymnast, in the
            order of `result.gymnasts`.
        screened_on : str
        """
        called = _names([one.gymnast for one in result.gymnasts])
        rows = [
            self._row(one, findings_for_sheet(found, self._catalogue), called=name, page=page)
            for one, found, name, page in zip(
                result.gymnasts, all_found, called, pages, strict=True
            )
        ]
        there = {one.gymnast.name for one in result.gymnasts}
        missing = dict.fromkeys(
            left.owner for left in result.left_out if left.owner and left.owner not in there
        )
        return SquadSheet(
            squad=squad,
            screened_on=screened_on,
            columns=tuple(entry.label for entry in self._catalogue.capacities.values()),
            rows=(*rows, *(self._without_pictures(name) for name in missing)),
            next_tests=self._next_tests(called, all_found),
            left_out=_left_out(result.left_out),
            care=CARE,
        )

    def _row(self, one: GymnastScreen, told: SheetFindings, *, called: str, page: str) -> SquadRow:
        found = told.found
        cells = {
            one.name: cell_in_words(
                one.name,
                mean=one.mean,
                sd=one.sd,
                verdict=one.verdict if one.tested else None,
                catalogue=self._catalogue,
            )
            for one in found.capacities
        }
        return SquadRow(
            gymnast=one.gymnast.name,
            called=called,
            card=one.gymnast.card,
            page=page,
            line=self._line([filed.measurement for filed in one.filed]),
            cells=tuple(cells[name] for name in self._catalogue.capacities),
            limits=limits_in_words(found) or (NO_LIMITER,),
            open=open_names(found),
            next="" if found.next_test is None else found.next_test.title,
            stops=told.stops,
            looks=tuple(
                f"{called}: {look}" for look in (*found.cautions, *found.not_used, *told.put_aside)
            ),
        )

    def _without_pictures(self, name: str) -> SquadRow:
        cells = (SquadCell(None, NOT_TESTED, ""),) * len(self._catalogue.capacities)
        limits = ("None of her pictures could be used.",)
        return SquadRow(name, name, None, "", None, cells, limits, (), "", (), ())

    def _line(self, measurements: Sequence[Measurement]) -> DrawnLine | None:
        by_test = {one.test: one for one in measurements}
        shown = next(
            (t for group in lines_to_show(self._catalogue) for t in group if t in by_test), None
        )
        return None if shown is None else draw_line(by_test[shown], self._catalogue)

    def _next_tests(
        self, called: Sequence[str], all_found: Sequence[Findings]
    ) -> tuple[NextTest, ...]:
        planned: dict[str, dict[str, list[str]]] = {}
        for name, found in zip(called, all_found, strict=True):
            for test, why in _wanted(found):
                planned.setdefault(test, {}).setdefault(why, []).append(name)
        return tuple(
            NextTest(
                title=test.title,
                how=test.how,
                care=test.care,
                takes=_takes(test.minutes, len({name for of in whys.values() for name in of})),
                planned=tuple(Planned(why, tuple(names)) for why, names in whys.items()),
            )
            for id_, test in self._catalogue.tests.items()
            if (whys := planned.get(id_))
        )


def cell_in_words(
    name: str, *, mean: float, sd: float, verdict: Verdict | None, catalogue: Catalogue
) -> SquadCell:
    """Return one capacity of one gymnast in the words of a table; None = not tested yet."""
    if verdict is None:
        return SquadCell(None, NOT_TESTED, "")
    entry = catalogue.capacities[name]
    if verdict is Verdict.CANNOT_TELL:
        words = verdict.value
    elif verdict is Verdict.ON_THE_LINE:
        words = entry.brief_enough or entry.enough
    else:
        missing = entry.brief_missing or entry.missing
        words = missing.format(value=amount(name, max(mean, 0.0)))
    return SquadCell(verdict, words, f"± {amount_sd(name, mean, sd)}")


def lines_to_show(catalogue: Catalogue) -> tuple[tuple[str, ...], ...]:
    """Return the tests whose line may stand for a gymnast, group by group.

    The first that she has stands for her: a handstand before a hold before one lying; within a
    group the latest of the battery.
    """
    return tuple(
        tuple(
            name
            for name, test in reversed(catalogue.tests.items())
            if test.group == group and test.arms == "overhead"
        )
        for group in _SHOWN_FIRST
    )


def draw_line(measurement: Measurement, catalogue: Catalogue) -> DrawnLine:
    """Return what a drawing of a measured photo needs."""
    test = catalogue.tests[measurement.test]
    bow = measurement.measures.get("bow_max_pct")
    verdict = None
    if bow is not None:
        verdict = describe_measure("bow_max_pct", bow, test=test, catalogue=catalogue).verdict
    return DrawnLine(test.title, measurement, test.chord_among(measurement.landmarks), verdict)


def _names(gymnasts: Sequence[Gymnast]) -> list[str]:
    """Return what the gymnasts are called: two of one name by their cards as well."""
    often = Counter(one.name for one in gymnasts)
    return [
        one.name if often[one.name] == 1 or one.card is None else f"{one.name} ({one.card})"
        for one in gymnasts
    ]


def _wanted(found: Findings) -> list[tuple[str, str]]:
    """Return every (test, why) that a gymnast should do next time."""
    first = None if found.next_test is None else found.next_test.test
    wanted: dict[str, list[str]] = {} if first is None else {first: ["first"]}
    for one, rivals in zip(found.undecided, open_names(found), strict=True):
        if one.ask_test is not None:
            wanted.setdefault(one.ask_test, []).append(f"to decide {lower_first(rivals)}")
    return [(test, ", ".join(whys)) for test, whys in wanted.items()]


def _takes(minutes: float, gymnasts: int) -> str:
    each = minutes_in_words(minutes)
    return each if gymnasts == 1 else f"{each} each, {minutes_in_words(minutes * gymnasts)} in all"


def _left_out(left_out: Sequence[LeftOut]) -> tuple[str, ...]:
    """Return every reason once, behind the files that it holds for."""
    files: dict[str, list[str]] = {}
    for one in left_out:
        files.setdefault(one.reason, []).append(one.file)
    return tuple(f"{', '.join(dict.fromkeys(names))}: {reason}" for reason, names in files.items())
