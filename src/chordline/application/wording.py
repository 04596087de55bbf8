"""Words for measures: what a sheet, a table and a page say, from one place."""

from chordline.application.measure_line import MeasureLine
from chordline.catalogue.schema import Catalogue, MeasureEntry, TestEntry
from chordline.core.body.measurement import Measure, Measurement
from chordline.core.body.verdict import Verdict, judge

#: Half the width of a 95 % interval in standard deviations.
SD_95 = 1.96

_SIGNS = {"deg": "°", "pct": " %", "cm": " cm", "s": " s"}
_DECIMALS = {"deg": 0, "pct": 1, "cm": 0, "s": 0}
_TERMS = {
    "yaw": "the phone's squareness to her",
    "pitch": "the phone's height",
    "near_side_parallax": "the near side being nearer to the phone",
    "landmark_definition": "where exactly a joint is",
}
_BRIEF_TERMS = {
    "yaw": "squareness",
    "pitch": "phone's height",
    "near_side_parallax": "near side",
    "landmark_definition": "joint",
}
#: Sorted from the one to speak of first.
_URGENCY = (Verdict.SHORT, Verdict.CLOSE, Verdict.CANNOT_TELL, Verdict.ON_THE_LINE)


def with_unit(value: float, unit: str) -> str:
    """Return a magnitude as a coach reads it, e.g. ``24°`` or ``6.1 %``."""
    return f"{abs(value):.{_DECIMALS[unit]}f}{_SIGNS[unit]}"


def describe_measure(
    name: str, measure: Measure, *, test: TestEntry, catalogue: Catalogue
) -> MeasureLine:
    """Return one measure in words first."""
    entry = catalogue.measures[name]
    sense = test.judged.get(name)
    verdict = None
    if sense is not None:
        verdict = judge(
            measure.value,
            sd=max(measure.total_sd, 1e-9),
            sense=sense,
            on_line=entry.on_line,
            close=entry.close,
            certainty=catalogue.setting("certainty"),
        )
    return MeasureLine(
        name=name,
        label=entry.label,
        verdict=verdict,
        words=_shape_in_words(entry, measure),
        value=measure.value,
        plus_minus=SD_95 * measure.total_sd,
        unit=measure.unit,
        reason=_reason(measure),
        brief=_brief_reason(measure),
    )


def _shape_in_words(entry: MeasureEntry, measure: Measure) -> str:
    said = with_unit(measure.value, measure.unit)
    if said == with_unit(0.0, measure.unit) or abs(measure.value) <= entry.on_line / 2.0:
        return entry.zero
    template = entry.positive if measure.value > 0 else entry.negative
    return template.format(value=said)


def _reason(measure: Measure) -> str:
    parts = [f"± {_half_width(measure.sd, measure.unit)} from setting the landmarks"]
    parts += [f"± {size} from {_TERMS[term]}" for term, size in _told_terms(measure)]
    return "; ".join(parts) + " (95 %)."


def _brief_reason(measure: Measure) -> str:
    parts = [f"{_half_width(measure.sd, measure.unit)} marks"]
    parts += [f"{size} {_BRIEF_TERMS[term]}" for term, size in _told_terms(measure)]
    return ", ".join(parts)


def _told_terms(measure: Measure) -> list[tuple[str, str]]:
    """Return (systematic error, half-width in words) for those that do not round to nothing."""
    unit = measure.unit
    return [
        (term, _half_width(sd, unit))
        for term, sd in sorted(measure.systematic.items(), key=lambda item: -item[1])
        if _half_width(sd, unit) != with_unit(0.0, unit)
    ]


def _half_width(sd: float, unit: str) -> str:
    return with_unit(SD_95 * sd, unit)


def describe_measurement(
    measurement: Measurement, *, test: TestEntry, catalogue: Catalogue
) -> tuple[MeasureLine, ...]:
    """Return every measure of a test in words, in the order of the test."""
    return tuple(
        describe_measure(name, measurement.measures[name], test=test, catalogue=catalogue)
        for name in test.measures
        if name in measurement.measures
    )


def headline_of(lines: tuple[MeasureLine, ...], *, accepted: bool) -> str:
    """Return the most important thing that a test showed, in words."""
    if not accepted:
        return "Needs a look before it is used"
    judged = [line for line in lines if line.verdict is not None]
    if not judged:
        return "Measured; this shape has no straight line to be compared with"
    joints = [line for line in judged if line.unit == "deg"] or judged
    first = min(joints, key=lambda line: (_URGENCY.index(line.verdict), -abs(line.value)))
    if first.verdict is Verdict.ON_THE_LINE:
        return "On the line"
    assert first.verdict is not None
    return f"{first.label} {first.words}: {first.verdict.value}"
