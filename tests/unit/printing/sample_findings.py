"""Findings and squads of invented gymnasts, for tests of printing."""

from dataclasses import replace
from functools import cache

from sample_sheets import CARE, photo_of, sheet_of

from chordline.application.find_limits import FindLimits
from chordline.application.findings import (
    CapacityFinding,
    Findings,
    LimiterFinding,
    Reason,
    Stop,
    TestOffer,
    UndecidedFinding,
)
from chordline.application.sheet import GymnastSheet
from chordline.application.sheet_findings import findings_for_sheet
from chordline.application.squad_sheet import (
    NextTest,
    Planned,
    SquadCell,
    SquadRow,
    SquadSheet,
)
from chordline.catalogue.loader import load_catalogue
from chordline.catalogue.segments import our_segments
from chordline.core.body.verdict import Verdict
from chordline.core.capacity.compensation import Compensation
from chordline.core.capacity.observed import Fault

CATALOGUE = load_catalogue()


@cache
def _model() -> FindLimits:
    return FindLimits(CATALOGUE, our_segments())


def capacity_of(name: str, verdict: Verdict | None, words: str) -> CapacityFinding:
    return CapacityFinding(
        name=name,
        label=CATALOGUE.capacities[name].label,
        mean=15.0,
        sd=4.0,
        p_limiter=0.5,
        tested=verdict is not None,
        verdict=verdict or Verdict.CANNOT_TELL,
        words=words,
    )


BRACED = TestOffer(
    test="supine-braced",
    title=CATALOGUE.tests["supine-braced"].title,
    how=CATALOGUE.tests["supine-braced"].how,
    minutes=0.5,
    gain_bits=0.6,
    sentence="not printed",
)

LIMITER = LimiterFinding(
    capacity="shoulder_active_lag_deg",
    label="Shoulders, active",
    what="what she opens by herself of the range she has",
    p=0.994,
    straightening_deg=9.0,
    words="17° less by herself than when lifted",
    work="Lifts in contraction at the end of the range.",
    reasons=(
        Reason(
            "She lifts the arms herself: shoulders closed by 25° (adds 8° to the estimate).",
            "14_prone-active.jpg",
            "prone-active",
            "shoulder_opening_deg",
            8.0,
        ),
        Reason(
            "Hold face down: 14 s in shape (shorter than expected).",
            "holds.csv",
            "hold-front",
            "hold_log_s",
            0.4,
        ),
    ),
)

COMPENSATION = Compensation(
    test="prone-active",
    base="prone-raised",
    measure="hip_opening_deg",
    change=9.0,
    sd=3.0,
    test_source="14_prone-active.jpg",
    base_source="14_prone-raised.jpg",
)


def findings(**changed: object) -> Findings:
    """Gymnast 14: one limiter, one open question, one compensation."""
    found = Findings(
        gymnast="Mira Example",
        card=14,
        screen="story",
        belief=_model().model.prior(by_hand=False),
        capacities=tuple(
            {
                "shoulder_active_lag_deg": capacity_of(
                    name, Verdict.SHORT, "17° less by herself than when lifted"
                ),
                "shoulder_flexion_deg": capacity_of(name, Verdict.ON_THE_LINE, "open"),
                "hip_extension_deg": capacity_of(name, Verdict.CANNOT_TELL, "short by 12°"),
                "pelvic_tuck_deg": capacity_of(name, Verdict.CANNOT_TELL, "10° short of tucked"),
            }.get(name, capacity_of(name, None, "not tested yet"))
            for name in CATALOGUE.capacities
        ),
        limiters=(LIMITER,),
        undecided=(
            UndecidedFinding(
                ("hip_extension_deg", "pelvic_tuck_deg"), "not printed", "supine-braced"
            ),
        ),
        next_test=BRACED,
        more_tests=(BRACED,),
        compensations=((COMPENSATION, "The hips open by 9° ± 6° as she lifts."),),
        faults=(),
        not_used=(),
        stops=(),
        cautions=(),
        minutes_spent=4.0,
        catalogue_version=CATALOGUE.version,
        models=("invented",),
    )
    return replace(found, **changed)  # type: ignore[arg-type]


NOTHING = {
    "limiters": (),
    "undecided": (),
    "next_test": None,
    "more_tests": (),
    "compensations": (),
}
STOPPED = {
    "stops": (
        Stop(
            "wrist_pain", "Wrist pain", "No weight on the hands. Ask a clinician.", ("handstand",)
        ),
    ),
    "cautions": ("Hips differ between the left and the right side by 14°",),
}
DOUBTED = {
    "not_used": ("14_handstand.jpg: which way she faces was guessed",),
    "faults": (
        Fault("a.jpg", "prone-sides", "hip_opening_deg", "a.jpg and b.jpg say 3 and 40"),
        Fault("b.jpg", "prone-sides", "hip_opening_deg", "a.jpg and b.jpg say 3 and 40"),
    ),
}


def judged_sheet(**changed: object) -> GymnastSheet:
    return replace(sheet_of(14), findings=findings_for_sheet(findings(**changed), CATALOGUE))


def row_of(number: int, name: str) -> SquadRow:
    line = photo_of(f"{11 + number % 6}_handstand.jpg").line
    cells = tuple(
        (
            SquadCell(Verdict.SHORT, "closed 22°", "± 7°"),
            SquadCell(Verdict.CANNOT_TELL, "cannot tell yet", "± 19°"),
            SquadCell(Verdict.ON_THE_LINE, "as lifted", "± 8°"),
            SquadCell(None, "not tested yet", ""),
        )[(number + k) % 4]
        for k in range(len(CATALOGUE.capacities))
    )
    return SquadRow(
        gymnast=name,
        called=name,
        card=number,
        page=f"{number:03d} girl.html",
        line=line,
        cells=cells,
        limits=("Shoulders, passive: closed by 22° (almost certain)",),
        open=("Hip flexors or pelvic control",),
        next="On the back, stomach drawn in",
        stops=(),
        looks=(),
    )


def squad_of(names: list[str], **changed: object) -> SquadSheet:
    sheet = SquadSheet(
        squad="Thursday group",
        screened_on="14 March 2025",
        columns=tuple(entry.label for entry in CATALOGUE.capacities.values()),
        rows=tuple(row_of(number, name) for number, name in enumerate(names, start=1)),
        next_tests=(
            NextTest(
                "On the back, stomach drawn in",
                "She draws the stomach in.",
                "Stop at back pain.",
                "half a minute each, 12 minutes in all",
                (Planned("first, to decide hip flexors or pelvic control", tuple(names)),),
            ),
        ),
        left_out=("IMG_0412.jpg: no body was found",),
        care=CARE,
    )
    return replace(sheet, **changed)  # type: ignore[arg-type]
