"""The printed sheets' drawings on pages: glyphs, and body lines over photos."""

import threading
from collections import OrderedDict
from collections.abc import Callable, Hashable, Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType

from chordline.adapters.printing.body_line import GlyphSize
from chordline.adapters.printing.crop import body_view
from chordline.adapters.printing.line_glyph import certainty_of, line_glyph, look_at_of
from chordline.adapters.printing.line_shape import read_shape
from chordline.adapters.printing.marks import doubt_mark, untested_mark, verdict_mark
from chordline.adapters.printing.overlay import overlay
from chordline.adapters.printing.svg import clean, element, number, text
from chordline.application.club.records import PhotoRecord
from chordline.application.club.views import PhotoView
from chordline.application.drawn_line import DrawnLine
from chordline.core.body.verdict import Verdict

#: Long sides in which a photo's picture is served [px].
PICTURES_PX = (480, 960, 1600)


def _marks() -> dict[str, str]:
    drawn = {f"mark-{verdict.name.lower()}": verdict_mark(verdict) for verdict in Verdict}
    return {**drawn, "mark-doubt": doubt_mark(), UNTESTED_MARK: untested_mark()}


UNTESTED_MARK = "mark-untested"
#: The small shapes before words, by id: a page carries each once and refers to it.
MARKS: Mapping[str, str] = MappingProxyType(_marks())
_MARK_IDS = {drawing: id_ for id_, drawing in MARKS.items()}


def mark_of(verdict: Verdict) -> str:
    """Return the id of a verdict's mark."""
    return f"mark-{verdict.name.lower()}"


def mark_use(drawing: str) -> str:
    """Return a reference to a mark instead of the mark; the words beside it say what it means."""
    id_ = _MARK_IDS.get(drawing)
    if id_ is None:
        return drawing
    return f'<svg class="cl-mark" aria-hidden="true"><use href="#{id_}"/></svg>'


class _Kept:
    """The drawings made last; a page that is opened again draws nothing."""

    def __init__(self, most: int) -> None:
        self._most = most
        self._drawn: OrderedDict[Hashable, str] = OrderedDict()
        self._lock = threading.Lock()

    def get(self, key: Hashable, draw: Callable[[], str]) -> str:
        with self._lock:
            if key in self._drawn:
                self._drawn.move_to_end(key)
                return self._drawn[key]
        drawing = draw()
        with self._lock:
            self._drawn[key] = drawing
            if len(self._drawn) > self._most:
                self._drawn.popitem(last=False)
        return drawing


#: About 4 MB each.
_GLYPHS = _Kept(3000)
_OVERLAYS = _Kept(1000)


@dataclass(frozen=True)
class Shot:
    """A photo as a page shows it: cut to the body, the body line over it.

    Attributes
    ----------
    page : str
        Address of the photo's own page.
    pictures : tuple of (str, int)
        Addresses of the whole photo with their widths [px]; empty where it is not kept.
    drawing : str
        The body line, as SVG; empty where nothing was measured.
    aspect : float
        Width by height of the part that is shown.
    left_pct, top_pct, width_pct : float
        Where the whole photo lies behind that part, and how wide: in % of the part's width,
        height and width.
    title, view_box : str
        What the drawing shows, and its box in the photo's pixels.
    """

    page: str
    pictures: tuple[tuple[str, int], ...]
    drawing: str
    aspect: float
    left_pct: float = 0.0
    top_pct: float = 0.0
    width_pct: float = 100.0
    title: str = ""
    view_box: str = ""

    def named(self, id_: str) -> "Shot":
        """Return it with a name by which the page's other pictures may refer to its drawing."""
        return replace(self, drawing=self.drawing.replace("<g ", f'<g id="{id_}" ', 1))

    def again(self, id_: str) -> "Shot":
        """Return it with a reference to the drawing of that name instead of a second one."""
        drawing = element(
            "svg",
            element("title", text(self.title)),
            element("use", href=f"#{id_}"),
            viewBox=self.view_box,
            role="img",
        )
        return replace(self, drawing=drawing)

    @property
    def standing(self) -> bool:
        """Whether it is taller than wide."""
        return self.aspect < 1.0


def shoot(view: PhotoView, line: DrawnLine) -> Shot:
    """Return a measured photo as a page shows it."""
    measurement = line.measurement
    title = f"{clean(line.title)}: photo with the body line"
    frame = body_view(measurement)
    width, height = frame.right - frame.left, frame.bottom - frame.top

    def draw() -> str:
        shape = read_shape(measurement, line.chord)
        return overlay(
            measurement,
            shape,
            title=title,
            view=frame,
            certainty=certainty_of(line),
            look_at=look_at_of(line, shape),
        )

    return Shot(
        page=f"/photos/{view.photo.id}",
        pictures=_pictures(view.photo, measurement.width_px, measurement.height_px),
        drawing=_OVERLAYS.get(_key(view, line), draw),
        aspect=width / height,
        left_pct=-100.0 * frame.left / width,
        top_pct=-100.0 * frame.top / height,
        width_pct=100.0 * measurement.width_px / width,
        title=title,
        view_box=" ".join(map(number, (frame.left, frame.top, width, height))),
    )


def whole_shot(photo: PhotoRecord) -> Shot:
    """Return a photo that has no measurement; how large it is nobody has told."""
    return Shot(f"/photos/{photo.id}", _pictures(photo, 4, 3), "", 4.0 / 3.0)


def draw_glyph(view: PhotoView, line: DrawnLine, size: GlyphSize) -> str:
    """Return the glyph of a measured photo's line as SVG."""
    return _GLYPHS.get((*_key(view, line), size), lambda: line_glyph(line, size))


def _key(view: PhotoView, line: DrawnLine) -> tuple[Hashable, ...]:
    """Return what a drawing of a photo's line depends on."""
    record = view.measurement
    made = () if record is None else (record.id, record.measured_at)
    return (*made, view.photo.sha256, line.title, line.bow, line.measurement.trust.accepted)


def _pictures(photo: PhotoRecord, width_px: int, height_px: int) -> tuple[tuple[str, int], ...]:
    if photo.content_key is None:
        return ()
    long_side = max(width_px, height_px)
    return tuple(
        (f"/photos/{photo.id}/picture?px={px}", max(1, round(px * width_px / long_side)))
        for px in PICTURES_PX
    )
