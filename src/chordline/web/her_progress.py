"""A gymnast's progress as her page shows it: words first, a quiet curve, the pictures in pairs."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from chordline.adapters.printing.before_after import BeforeAfter, Shown, draw_before_after
from chordline.adapters.printing.body_line import CARD, pair
from chordline.adapters.printing.line_shape import read_shape
from chordline.adapters.printing.progress_curve import CurveShape, draw_curve
from chordline.adapters.printing.svg import clean
from chordline.application.days import day_in_words
from chordline.application.findings_words import amount, amount_sd
from chordline.application.progress.pair import PairChoice, PairedPhoto
from chordline.application.progress.progress_words import (
    change_in_words,
    decider_in_words,
    leaning_in_words,
    now_in_words,
    size_in_words,
    standing_in_words,
    told_in_words,
)
from chordline.application.progress.told import CapacityProgress, CurvePoint, Since, Standing
from chordline.catalogue.schema import Catalogue
from chordline.web.drawings import PICTURES_PX

#: What makes both pictures the same scale, in words.
SCALES = {
    "metres": "at one scale, from the cards or her stature",
    "body": "at one length of body, ankle to shoulder",
    "chord": "at one length of the line from end to end",
}


@dataclass(frozen=True)
class SinceShown:
    """A change in words; what has nothing to say is empty.

    Attributes
    ----------
    day : date
    standing : Standing
    answer, change, leaning, decider, done : str
    worth : str
        The smallest change worth knowing.
    """

    day: date
    standing: Standing
    answer: str
    change: str
    leaning: str
    decider: str
    done: str
    worth: str

    @property
    def real(self) -> bool:
        """Whether the change is real."""
        return self.standing in (Standing.BETTER, Standing.WORSE)


@dataclass(frozen=True)
class CapacityShown:
    """One capacity.

    Attributes
    ----------
    name, label, now : str
    last, first : SinceShown or None
        `first` is None where it is the same screen as `last`.
    drawing : str
        SVG.
    rows : tuple of (day, what was missing, ±, whether it was measured then)
        What the drawing shows, the latest first.
    """

    name: str
    label: str
    now: str
    last: SinceShown | None
    first: SinceShown | None
    drawing: str
    rows: tuple[tuple[str, str, str, bool], ...]

    @property
    def real(self) -> tuple[SinceShown, ...]:
        """The changes that are real: since the screen before, since the first one."""
        return tuple(one for one in (self.last, self.first) if one is not None and one.real)

    @property
    def moved(self) -> bool:
        """Whether any change of it is real."""
        return bool(self.real)

    @property
    def is_same(self) -> bool:
        """Whether nothing worth knowing changed since the screen before."""
        return not self.moved and self.last is not None and self.last.standing is Standing.NO

    @property
    def is_open(self) -> bool:
        """Whether it is not yet known what changed."""
        return (
            not self.moved
            and self.last is not None
            and self.last.standing is Standing.NOT_YET_KNOWN
        )


@dataclass(frozen=True)
class PairShown:
    """The same test in two screens.

    Attributes
    ----------
    choice : PairChoice
    title : str
        Of the test.
    drawn : BeforeAfter or None
        None where a line was not found.
    glyph : str
        Both lines over each other as SVG; may be empty.
    kept : tuple of bool
        Whether each picture is kept, and may be seen.
    pages : tuple of str
        Addresses of both photos.
    notes : tuple of str
        How they are made comparable.
    """

    choice: PairChoice
    title: str
    drawn: BeforeAfter | None
    glyph: str
    kept: tuple[bool, bool]
    pages: tuple[str, str]
    notes: tuple[str, ...]


def show_capacity(one: CapacityProgress, catalogue: Catalogue) -> CapacityShown:
    """Return one capacity as the page shows it."""
    same = one.since_first is not None and one.since_first == one.since_last
    last = None if one.since_last is None else _since(one.since_last, catalogue)
    first = None if one.since_first is None or same else _since(one.since_first, catalogue)
    return CapacityShown(
        name=one.name,
        label=one.label,
        now=now_in_words(one, catalogue),
        last=last,
        first=first,
        drawing=draw_capacity(one, catalogue),
        rows=tuple(
            (
                day_in_words(at.day),
                missing_in_figures(one.name, at),
                f"± {amount_sd(one.name, at.mean, at.sd)}",
                bool(at.measured),
            )
            for at in reversed(one.at_screens)
        ),
    )


def missing_in_figures(name: str, at: CurvePoint) -> str:
    """Return what was missing, or how much more there was than needed."""
    said = amount(name, at.mean)
    if name.endswith("_s"):
        return f"{said} of the target"
    return f"{said} missing" if at.mean > 0.0 else f"{said} to spare"


def draw_capacity(one: CapacityProgress, catalogue: Catalogue) -> str:
    """Return the curve as SVG."""
    shape = CurveShape(
        days=tuple(at.day.toordinal() for at in one.curve),
        mean=np.array([at.mean for at in one.curve]),
        sd=np.array([at.sd for at in one.curve]),
        screens=tuple(at.measured for at in one.curve),
        limit=catalogue.capacities[one.name].threshold,
    )
    told = "; ".join(
        f"{day_in_words(at.day)}: {missing_in_figures(one.name, at)} "
        f"± {amount_sd(one.name, at.mean, at.sd)}"
        for at in one.at_screens
    )
    return draw_curve(
        shape,
        title=f"{one.label} through her screens",
        desc=f"{told}.",
        aligned="target" if one.name.endswith("_s") else "straight",
        label=lambda size: amount(one.name, size),
        day_label=day_in_words,
    )


def _since(since: Since, catalogue: Catalogue) -> SinceShown:
    name = since.change.capacity
    told = told_in_words("", since).removeprefix(": ").partition(" – ")[0]
    return SinceShown(
        day=since.day,
        standing=since.standing,
        answer=standing_in_words(since),
        change=change_in_words(since)
        if since.standing is not Standing.NO and since.change.told
        else told,
        leaning=leaning_in_words(since),
        decider=decider_in_words(since, catalogue),
        done=f"{since.done_min:.0f} min of work on it between" if since.done_min >= 0.5 else "",
        worth=size_in_words(name, since.worth),
    )


def show_pair(
    choice: PairChoice,
    photos: tuple[PairedPhoto, PairedPhoto],
    catalogue: Catalogue,
    *,
    with_pictures: bool = True,
) -> PairShown:
    """Return the same test in two screens, as the page shows it; without pictures, lines alone."""
    title = catalogue.tests[choice.test].title
    days = [day_in_words(one.screen.day) for one in photos]
    kept = tuple(with_pictures and one.photo.photo.content_key is not None for one in photos)
    pages = [f"/photos/{one.photo.photo.id}" for one in photos]
    shown = [
        Shown(one.line, f"{page}/picture?px={PICTURES_PX[1]}" if there else "")
        for one, page, there in zip(photos, pages, kept, strict=True)
    ]
    drawn = draw_before_after(
        shown[0],
        shown[1],
        titles=(f"{clean(title)}, {days[0]}", f"{clean(title)}, {days[1]}"),
    )
    return PairShown(
        choice=choice,
        title=title,
        drawn=drawn,
        glyph=_glyph(photos, clean(title)),
        kept=(kept[0], kept[1]),
        pages=(pages[0], pages[1]),
        notes=_notes(drawn, photos, days),
    )


def _glyph(photos: Sequence[PairedPhoto], title: str) -> str:
    before, after = (read_shape(one.line.measurement, one.line.chord) for one in photos)
    if before is None or after is None:
        return ""
    shared = [name for name in after.names if name in before.names]
    if len(shared) < 2 or shared[0] != after.names[0] or shared[0] != before.names[0]:
        return ""
    return pair(before, after, title=f"{title}: both lines", size=CARD)


def _notes(
    drawn: BeforeAfter | None, photos: Sequence[PairedPhoto], days: Sequence[str]
) -> tuple[str, ...]:
    if drawn is None:
        return ("In one of these pictures no line was found.",)
    notes = [f"Both are shown {SCALES[drawn.scale_by]}."]
    notes += [
        f"The picture of {day} is not kept."
        for one, day in zip(photos, days, strict=True)
        if one.photo.photo.content_key is None
    ]
    if drawn.mirrored:
        sides = [one.line.measurement.near_side for one in photos]
        notes.append(
            f"The picture of {days[0]} is mirrored: her {sides[0]} side was near then, "
            f"her {sides[1]} side on {days[1]}."
        )
    marks = {one.screen.by_hand for one in photos}
    if len(marks) > 1:
        by = (
            ("by hand", "by the networks")
            if photos[0].screen.by_hand
            else ("by the networks", "by hand")
        )
        notes.append(
            f"The marks of {days[0]} were set {by[0]}, those of {days[1]} {by[1]}: "
            "a change is harder to see then, and the ± above knows."
        )
    doubtful = [
        day
        for one, day in zip(photos, days, strict=True)
        if not one.line.measurement.trust.accepted
    ]
    notes += [f"The picture of {day} needs a look before it is believed." for day in doubtful]
    return tuple(notes)
