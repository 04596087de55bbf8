"""What the sheets of one gymnast are made from."""

from dataclasses import dataclass
from datetime import date

from chordline.application.club.her_screen import PAIN
from chordline.application.club.records import NoteRecord
from chordline.application.days import age_on
from chordline.application.drawn_line import DrawnLine
from chordline.application.findings import Findings
from chordline.application.training.planned import Evening, HerPlan, ReadPlan
from chordline.application.training.signs import barred_loads
from chordline.catalogue.training_schema import TrainingCatalogue
from chordline.core.body.measurement import Measurement
from chordline.core.planning.problem import Level


@dataclass(frozen=True)
class Her:
    """One gymnast, her latest screen and her plan.

    Attributes
    ----------
    id : int
    name, club : str
    birth_date : date or None
    level : Level
    day : date
        On which the sheet is made.
    open_notes : tuple of NoteRecord
        Reported signs that hold on that day, the first first.
    screened_on : date or None
        None = never screened.
    seen : tuple of str
        Signs that its photos show and that nobody has noted.
    found : Findings or None
        Of that screen.
    measurements : tuple of Measurement
        Of that screen, in the order of the battery.
    line : DrawnLine or None
        The line that stands for her.
    plan : ReadPlan or None
        Which holds on the day, or the next one.
    hers : HerPlan or None
        Her part of it.
    evenings : tuple of Evening
        Her next ones, the day included, as they are changed by then.
    """

    id: int
    name: str
    club: str
    birth_date: date | None
    level: Level
    day: date
    open_notes: tuple[NoteRecord, ...] = ()
    screened_on: date | None = None
    seen: tuple[str, ...] = ()
    found: Findings | None = None
    measurements: tuple[Measurement, ...] = ()
    line: DrawnLine | None = None
    plan: ReadPlan | None = None
    hers: HerPlan | None = None
    evenings: tuple[Evening, ...] = ()

    @property
    def age_y(self) -> int | None:
        """Age in whole years on the day; None where nobody said it."""
        return None if self.birth_date is None else age_on(self.day, self.birth_date)

    @property
    def flags(self) -> tuple[str, ...]:
        """Every open reported sign once."""
        return tuple(dict.fromkeys(flag_of(note) for note in self.open_notes))

    def barred(self, training: TrainingCatalogue) -> frozenset[str]:
        """Return the loads that open signs bar, today's and those the plan was made with."""
        planned = () if self.hers is None else self.hers.barred
        return barred_loads((*self.flags, *self.seen), training).union(planned)


def holds_on(note: NoteRecord, day: date) -> bool:
    """Return whether a note is a reported sign that is open on a day."""
    return note.kind != "remark" and (note.closed_on is None or note.closed_on > day)


def flag_of(note: NoteRecord) -> str:
    """Return the catalogue's key of a reported sign."""
    return note.flag if note.kind == "flag" and note.flag is not None else PAIN
