"""The sheet about what changed on paper: implements `ProgressPrinter`."""

import base64
from dataclasses import dataclass, replace

from chordline.adapters.printing.before_after import BeforeAfter, Shown, draw_before_after
from chordline.adapters.printing.faces import hide_in_jpeg
from chordline.adapters.printing.paper import set_paper
from chordline.adapters.printing.svg import clean
from chordline.adapters.printing.training.cleaned import cleaned
from chordline.application.progress.gather_sheet import ProgressContent, SheetPhoto
from chordline.application.tongue import Tongue
from chordline.application.training.sheets.progress_sheet import (
    PairTold,
    ProgressSheet,
    SheetPicture,
    make_progress_sheet,
)
from chordline.catalogue.schema import Catalogue

_TEMPLATES = ("common.typ", "training_common.typ", "training_progress.typ")


@dataclass(frozen=True)
class DrawnPicture:
    """A drawing with its caption."""

    drawing: str
    caption: str


@dataclass(frozen=True)
class ProgressView:
    """What the paper shows: the words, and both drawings or none."""

    told: ProgressSheet
    pictures: tuple[DrawnPicture, ...]


class ProgressPress:
    """Prints the sheet about what changed."""

    def progress_to_pdf(
        self, content: ProgressContent, *, sure: float, catalogue: Catalogue, tongue: Tongue
    ) -> bytes:
        """Return one A4 page."""
        pair = None if content.pair is None else _without_faces(content.pair)
        drawn = None if pair is None else _draw(pair)
        told = make_progress_sheet(
            content.progress,
            None if drawn is None or pair is None else _told(pair, drawn),
            club=content.club,
            sure=sure,
            catalogue=catalogue,
            tongue=tongue,
        )
        pictures: tuple[DrawnPicture, ...] = ()
        if drawn is not None:
            captions = (clean(told.before_caption), clean(told.after_caption))
            pictures = tuple(map(DrawnPicture, (drawn.before, drawn.after), captions))
        view = ProgressView(cleaned(told), pictures)
        return set_paper(view, title=view.told.title, templates=_TEMPLATES)


def _draw(pair: tuple[SheetPhoto, SheetPhoto]) -> BeforeAfter | None:
    before, after = (Shown(one.line, _href(one.jpeg)) for one in pair)
    return draw_before_after(before, after, titles=("Before", "After"))


def _without_faces(pair: tuple[SheetPhoto, SheetPhoto]) -> tuple[SheetPhoto, SheetPhoto]:
    before, after = (replace(one, jpeg=_without_face(one)) for one in pair)
    return before, after


def _without_face(one: SheetPhoto) -> bytes | None:
    """Return a picture for paper; None where there is none, or where no face can be hidden."""
    if one.jpeg is None or one.faces == "shown":
        return one.jpeg
    return hide_in_jpeg(one.jpeg, one.line.measurement)


def _href(jpeg: bytes | None) -> str:
    if jpeg is None:
        return ""
    return "data:image/jpeg;base64," + base64.b64encode(jpeg).decode("ascii")


def _told(pair: tuple[SheetPhoto, SheetPhoto], drawn: BeforeAfter) -> PairTold:
    before, after = (SheetPicture(one.day, one.jpeg is not None) for one in pair)
    return PairTold(
        test=pair[1].line.measurement.test,
        before=before,
        after=after,
        mirrored=drawn.mirrored,
        standing=drawn.standing,
    )
