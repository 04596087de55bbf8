"""An exercise as line drawing: her body with the body line in it, the floor, what she uses.

The same language as the body-line glyph: ink for the line malleolus – knee – hip – shoulder –
hand, the light wash for her body, hairlines for what stands around, the accent for what to look at.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from chordline.adapters.printing.figure_path import path_of_rows
from chordline.adapters.printing.palette import LIGHT, Palette
from chordline.adapters.printing.svg import element, path_of, picture
from chordline.core.figure.flesh import Row
from chordline.core.figure.scene import Scene, Shape
from chordline.core.figure.stand import Figure

#: The frame that every drawing fits into, and the room kept at its edges.
WIDTH: Final = 240.0
HEIGHT: Final = 162.0
_EDGE: Final = 11.0
#: No figure is drawn larger, so that a crouched child is no giant beside a stretched one.
_LARGEST: Final = 172.0

_FAR: Final = ("far_thigh", "far_shank", "far_foot")
_FAR_ARM: Final = ("far_arm", "far_hand")
_BODY: Final = ("neck", "head", "nose", "trunk", "thigh", "shank", "foot")
_ARM: Final = ("arm", "hand")


@dataclass(frozen=True)
class View:
    """From statures to the frame: the same for the right drawing and the fault's.

    Attributes
    ----------
    scale : float
        Frame units a stature.
    origin : complex
        Where (0, 0) of the floor stands in the frame.
    """

    scale: float
    origin: complex

    def place(self, at: complex) -> complex:
        """Return a point of the frame, y down."""
        return self.origin + self.scale * at.conjugate()


def view_of(scenes: Sequence[Scene]) -> View:
    """Return the view in which all scenes fit into the frame."""
    left, right, low, high = np.inf, -np.inf, np.inf, -np.inf
    for x, y, r in (one for scene in scenes for one in _extent(scene)):
        left, right = min(left, x - r), max(right, x + r)
        low, high = min(low, y - r), max(high, y + r)
    if any(scene.floor for scene in scenes):
        low = min(low, 0.0)
    width, height = right - left, high - low
    scale = min((WIDTH - 2 * _EDGE) / width, (HEIGHT - 2 * _EDGE) / height, _LARGEST)
    middle = (left + right) / 2.0
    # Small figures stand at the bottom of the frame, on one floor with their neighbours.
    ground = HEIGHT - _EDGE + scale * low
    if not any(scene.floor for scene in scenes):
        ground = HEIGHT / 2.0 + scale * (low + high) / 2.0
    return View(scale, complex(WIDTH / 2.0 - scale * middle, ground))


def _extent(scene: Scene) -> list[tuple[float, float, float]]:
    figures = [scene.figure] if scene.start is None else [scene.figure, scene.start]
    found = [(d.at.real, d.at.imag, d.r) for figure in figures for d in figure.discs]
    for shape in (*scene.behind, *scene.before):
        if shape.kind in ("wall", "bars"):
            # A wall is cut by the frame; only its face must be seen.
            found += [(p.real, 0.0, 0.0) for p in shape.points]
        else:
            found += [(p.real, p.imag, shape.r) for p in shape.points]
    return found + [(p.real, p.imag, 0.0) for way in scene.ways for p in way]


def draw_scene(scene: Scene, view: View, *, title: str, desc: str, palette: Palette = LIGHT) -> str:
    """Return one drawing as SVG.

    Parameters
    ----------
    scene : Scene
    view : View
        From `view_of` over both scenes of the exercise.
    title, desc : str
        Accessible name and description.
    palette : Palette
        Colours as attributes, for paper; the classes of ``exercises.css`` recolour them on a page.
    """
    pen = _Pen(view, palette)
    layers = [*(pen.shape(one) for one in scene.behind)]
    if scene.floor:
        layers.insert(0, pen.floor())
    if scene.start is not None:
        layers.append(pen.ghost(scene.start))
    layers += pen.figure(scene.figure)
    layers += [pen.shape(one) for one in scene.before]
    layers += [pen.arrow(way) for way in scene.ways]
    if scene.look is not None:
        layers.append(pen.look(scene.look))
    return picture(
        *layers,
        view_box=(0.0, 0.0, WIDTH, HEIGHT),
        title=title,
        desc=desc,
        class_="cl-exercise",
    )


@dataclass(frozen=True)
class _Pen:
    view: View
    palette: Palette

    def floor(self) -> str:
        """Return the floor line."""
        y = self.view.origin.imag
        return self._line([complex(2.0, y), complex(WIDTH - 2.0, y)], 1.1, placed=True)

    def shape(self, shape: Shape) -> str:
        """Return something beside her."""
        ink = self.palette
        if shape.form == "ring":
            at = self.view.place(shape.points[0])
            held = shape.kind in ("bar", "stick_end")
            return element(
                "circle",
                cx=at.real,
                cy=at.imag,
                r=max(shape.r * self.view.scale, 1.4),
                fill=ink.panel,
                stroke=ink.ink if held else ink.hairline,
                stroke_width=1.3 if held else 0.9,
                class_="cl-held" if held else "cl-thing",
            )
        if shape.form == "line":
            weight, name = (2.0, "cl-held-line") if shape.kind == "stick" else (1.3, "cl-band-line")
            dashes = {} if shape.kind == "stick" else {"stroke_dasharray": "3 1.6"}
            return element(
                "path",
                d=path_of(self._points(shape.points)),
                fill="none",
                stroke=ink.ink_soft,
                stroke_width=weight,
                stroke_linecap="round",
                class_=name,
                **dashes,
            )
        return element(
            "path",
            d=path_of(self._points(shape.points), closed=True),
            fill=ink.panel,
            stroke=ink.hairline,
            stroke_width=0.9,
            stroke_linejoin="round",
            class_="cl-thing",
        )

    def ghost(self, figure: Figure) -> str:
        """Return where the movement begins: the line alone, broken."""
        lines = [_body_line(figure, ""), *([_leg(figure, "far_")] if _own_leg(figure) else [])]
        lines += [_arm(figure, "far_")] if _own_arm(figure) else []
        head = figure.parts["head"][0]
        at = self.view.place(head.at)
        return "".join(self._broken(line) for line in lines) + element(
            "circle",
            cx=at.real,
            cy=at.imag,
            r=head.r * self.view.scale,
            fill="none",
            stroke=self.palette.hairline,
            stroke_width=0.9,
            stroke_dasharray="2.4 2.2",
            class_="cl-start",
        )

    def figure(self, figure: Figure) -> list[str]:
        """Return her body, far limbs first, and the body line in it."""
        drawn = []
        if _own_leg(figure):
            drawn += [self._flesh(figure, _FAR, far=True), self._line(_leg(figure, "far_"), 1.1)]
        if _own_arm(figure):
            arm = _arm(figure, "far_")
            drawn += [self._flesh(figure, _FAR_ARM, far=True), self._line(arm, 1.1)]
        drawn.append(self._flesh(figure, _BODY, far=False))
        drawn.append(self._flesh(figure, _ARM, far=False))
        drawn.append(
            element(
                "path",
                d=path_of(self._points(_body_line(figure, ""))),
                fill="none",
                stroke=self.palette.ink,
                stroke_width=2.1,
                stroke_linejoin="round",
                stroke_linecap="round",
                class_="cl-stroke",
            )
        )
        ear = self.view.place(figure.joints["ear"])
        drawn.append(
            element(
                "circle",
                cx=ear.real,
                cy=ear.imag,
                r=1.7,
                fill=self.palette.ink,
                class_="cl-dot",
            )
        )
        return drawn

    def arrow(self, way: Sequence[complex]) -> str:
        """Return a way with its head."""
        points = [self.view.place(at) for at in way]
        tip, before = points[-1], points[-2]
        back = (before - tip) / abs(before - tip)
        wings = [tip + 6.0 * back * turn for turn in (0.85 + 0.5j, 0.85 - 0.5j)]
        lines = (points, [wings[0], tip, wings[1]])
        return "".join(
            element(
                "path",
                d=path_of(_xy(line)),
                fill="none",
                stroke=self.palette.ink_soft,
                stroke_width=1.3,
                stroke_linejoin="round",
                stroke_linecap="round",
                class_="cl-stroke-soft",
            )
            for line in lines
        )

    def look(self, at: complex) -> str:
        """Return the mark of what to look at: a dot in a ring."""
        placed = self.view.place(at)
        rings = ((9.0, "none", 1.5, "cl-look-ring"), (2.4, self.palette.accent, 0.0, "cl-spot"))
        return "".join(
            element(
                "circle",
                cx=placed.real,
                cy=placed.imag,
                r=r,
                fill=fill,
                stroke=self.palette.accent,
                stroke_width=weight,
                class_=name,
            )
            for r, fill, weight, name in rings
        )

    def _flesh(self, figure: Figure, parts: Sequence[str], *, far: bool) -> str:
        rows = [self._placed(figure.parts[part]) for part in parts]
        # The stroke is painted first, then the fill: only the outline of all pieces together stays.
        return element(
            "path",
            d=path_of_rows(rows),
            fill=self.palette.panel if far else self.palette.wash,
            stroke=self.palette.hairline,
            stroke_width=1.5 if far else 1.9,
            paint_order="stroke",
            class_="cl-body-far" if far else "cl-body",
        )

    def _placed(self, row: Row) -> list[tuple[complex, float]]:
        return [(self.view.place(disc.at), disc.r * self.view.scale) for disc in row]

    def _points(self, points: Sequence[complex]) -> "np.ndarray":
        return _xy([self.view.place(at) for at in points])

    def _line(self, points: Sequence[complex], weight: float, *, placed: bool = False) -> str:
        return element(
            "path",
            d=path_of(_xy(points) if placed else self._points(points)),
            fill="none",
            stroke=self.palette.hairline,
            stroke_width=weight,
            stroke_linejoin="round",
            stroke_linecap="round",
            class_="cl-chord",
        )

    def _broken(self, points: Sequence[complex]) -> str:
        return element(
            "path",
            d=path_of(self._points(points)),
            fill="none",
            stroke=self.palette.hairline,
            stroke_width=1.2,
            stroke_dasharray="3 2.6",
            stroke_linejoin="round",
            class_="cl-start",
        )


def _xy(points: Sequence[complex]) -> "np.ndarray":
    return np.array([[one.real, one.imag] for one in points])


def _leg(figure: Figure, mark: str) -> list[complex]:
    return [figure.joints[f"{mark}{name}"] for name in ("malleolus", "knee", "hip")]


def _arm(figure: Figure, mark: str) -> list[complex]:
    return [figure.joints[f"{mark}{name}"] for name in ("shoulder", "elbow", "wrist", "hand")]


def _body_line(figure: Figure, mark: str) -> list[complex]:
    return [*_leg(figure, mark), *figure.spine[1:], *_arm(figure, mark)]


def _own_leg(figure: Figure) -> bool:
    return figure.pose.far_differs("hip")


def _own_arm(figure: Figure) -> bool:
    return figure.pose.far_differs("shoulder")
