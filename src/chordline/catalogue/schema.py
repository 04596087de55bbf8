"""The shape of every catalogue record. Loading checks each field; nothing is mended silently."""

from collections.abc import Collection
from typing import Annotated, Literal

from pydantic import AfterValidator, BaseModel, ConfigDict, Field

from chordline.conventions import Front
from chordline.core.body.measures import ALL_MEASURES
from chordline.core.body.points import CHORD_TO_SHOULDER
from chordline.core.body.verdict import Sense

#: Instead of a source id: what the trade does, or our own guess with its reason beside it.
UNPUBLISHED = ("common practice", "assumption")


class Record(BaseModel):
    """A catalogue entry: immutable, with no unknown fields."""

    model_config = ConfigDict(frozen=True, extra="forbid")


class Sourced(Record):
    """An entry that says where it comes from.

    Attributes
    ----------
    source : str
        A source id, ``common practice`` or ``assumption``.
    reason : str
        Why it is so; required for an assumption.
    """

    source: str
    reason: str = ""


class Source(Record):
    """Something outside the project that a number rests on."""

    citation: str
    reading: Literal["read", "second hand", "memory"]


def _is_measure(name: str) -> str:
    if name not in ALL_MEASURES:
        raise ValueError(f"no measure is called '{name}'")
    return name


MeasureName = Annotated[str, AfterValidator(_is_measure)]


class MeasureEntry(Sourced):
    """What a coach calls a measure, and when its shape is on the line.

    Attributes
    ----------
    zero, positive, negative : str
        How the sign reads in words; ``{value}`` stands for the magnitude with its unit.
    on_line, close : float
        Largest distance from the aligned shape that counts as on the line, and as close.
    """

    label: str
    zero: str
    positive: str
    negative: str
    on_line: Annotated[float, Field(gt=0)]
    close: Annotated[float, Field(gt=0)]


class TestEntry(Sourced):
    """One test of the battery.

    Attributes
    ----------
    arms : {'sides', 'out', 'overhead'}
    chord_end : {'shoulder', 'wrist', 'hand'}
        Where the chord ends: at the hand with the arms overhead, at the wrist where the hand is
        flexed to carry weight, at the shoulder otherwise.
    front : Front or None
        To where the belly faces against gravity; None where the test leaves it open.
    base : str or None
        The test it is compared with in the same screen.
    minutes : float
        Gym time, getting into position included [min].
    measures : tuple of str
    judged : mapping of measure to Sense
        For which measures a word is said.
    watch : tuple of str
        Measures that should stay as in the base test; a change beyond error is a compensation.
    care : str
        The sentence that stands wherever the test is shown.
    """

    __test__ = False

    title: str
    reads: str
    how: str
    group: Literal["lying", "hold", "hands", "dish"]
    arms: Literal["sides", "out", "overhead"]
    chord_end: Literal["shoulder", "wrist", "hand"]
    front: Front | None = None
    base: str | None = None
    minutes: Annotated[float, Field(gt=0)]
    measures: tuple[MeasureName, ...]
    judged: dict[MeasureName, Sense]
    watch: tuple[MeasureName, ...] = ()
    care: str

    @property
    def chord(self) -> tuple[str, ...]:
        """Landmarks along the body from the chord's first end to its last."""
        if self.chord_end == "shoulder":
            return CHORD_TO_SHOULDER
        return (*CHORD_TO_SHOULDER, self.chord_end)

    def chord_among(self, marked: Collection[str]) -> tuple[str, ...]:
        """Return the chord for the landmarks there are: wrist and hand stand in for each other."""
        end = self.chord_end
        other = {"wrist": "hand", "hand": "wrist"}.get(end, end)
        return (*self.chord[:-1], other) if end not in marked and other in marked else self.chord


class Setting(Sourced):
    """A number that the measuring rests on."""

    value: float
    unit: str


class LimitEntry(Sourced):
    """What her capacities let her reach on the hands, beside what an aligned gymnast has.

    Attributes
    ----------
    loads : mapping of capacity to float
        Change of the limit for one unit more of shortfall.
    """

    loads: dict[str, float]


class CapacityEntry(Sourced):
    """A capacity: what is believed of it beforehand, and from where on it limits her.

    Attributes
    ----------
    what : str
        What it is, to follow 'This is …'.
    missing, enough : str
        How a shortfall, and none, read in words.
    brief_missing, brief_enough : str
        The same in the two or three words that the cell of a table holds; where empty, as above.
    work : str
        What the trade does about it; work, not cues only.
    """

    label: str
    what: str
    missing: str
    enough: str
    brief_missing: str = ""
    brief_enough: str = ""
    prior_mean: float
    prior_sd: Annotated[float, Field(gt=0)]
    threshold: Annotated[float, Field(gt=0)]
    straightening: Annotated[float, Field(gt=0)]
    work: str


class NuisanceEntry(Sourced):
    """An offset that every photo of a screen shares."""

    sd: Annotated[float, Field(gt=0)]
    hand_sd: Annotated[float, Field(gt=0)]


class RowEntry(Sourced):
    """What one measure of one test says of the capacities.

    `instead_of` names a measure of the same test that is not used where this one can be read.
    """

    loads: Annotated[dict[str, float], Field(min_length=1)]
    intercept: float
    model_sd: Annotated[float, Field(gt=0)]
    repeat_sd: Annotated[float, Field(ge=0)]
    typical_sd: Annotated[float, Field(gt=0)]
    instead_of: str = ""


class Referral(Sourced):
    """A sign at which work stops and a licensed clinician is asked. Nothing is diagnosed.

    Attributes
    ----------
    label : str
        What was said or seen.
    advice : str
        What to do.
    stops : tuple of str
        Tests that are not to be done.
    stops_groups : tuple of str
        Groups of tests that are not to be done.
    """

    label: str
    advice: str
    stops: tuple[str, ...] = ()
    stops_groups: tuple[Literal["lying", "hold", "hands", "dish"], ...] = ()


class Catalogue(Record):
    """Everything that the trade knows, as data.

    Attributes
    ----------
    version : str
        Changes with every changed byte of the files, a club's own included; stored with results.
    half_breadth : mapping of landmark to Setting
        How far each landmark stands out of the mid-plane, as a fraction of stature.
    capacities, nuisances, model
        The capacity model; `model` is by test, then by measure.
    referrals : mapping of flag to Referral
    limits : mapping of limit to LimitEntry
        Of the handstand: what the forecast rests on.
    """

    version: str
    sources: dict[str, Source]
    measures: dict[MeasureName, MeasureEntry]
    tests: dict[str, TestEntry]
    settings: dict[str, Setting]
    half_breadth: dict[str, Setting]
    capacities: dict[str, CapacityEntry]
    nuisances: dict[str, NuisanceEntry]
    model: dict[str, dict[str, RowEntry]]
    referrals: dict[str, Referral]
    limits: dict[str, LimitEntry]

    def setting(self, name: str) -> float:
        """Return the value of one setting."""
        return self.settings[name].value
