"""The catalogue's exercise drawings as SVG, drawn when first asked for."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from chordline.adapters.printing.exercise_drawing import draw_scene, view_of
from chordline.adapters.printing.palette import LIGHT, Palette
from chordline.catalogue.drawings import DrawnExercise, load_drawings
from chordline.catalogue.segments_schema import SegmentCatalogue
from chordline.catalogue.training_schema import TrainingCatalogue
from chordline.core.figure.pose import build_of


@dataclass(frozen=True)
class PicturePair:
    """The right picture of an exercise and the fault's, as SVG of one size."""

    right: str
    fault: str


@dataclass(frozen=True)
class ExercisePictures:
    """The pictures of every exercise.

    They carry colours for paper as attributes and classes that a page's theme recolours: the same
    text stands in a page and in a printed sheet.
    """

    training: TrainingCatalogue
    drawn: Mapping[str, DrawnExercise]
    palette: Palette = LIGHT
    _kept: dict[str, PicturePair] = field(default_factory=dict, repr=False)

    def pair(self, name: str) -> PicturePair | None:
        """Return an exercise's pictures; None where the catalogue has no such exercise."""
        if name not in self.drawn:
            return None
        if name not in self._kept:
            self._kept[name] = self._draw(name)
        return self._kept[name]

    def _draw(self, name: str) -> PicturePair:
        entry, drawn = self.training.exercises[name], self.drawn[name]
        view = view_of((drawn.right, drawn.fault))
        return PicturePair(
            draw_scene(
                drawn.right,
                view,
                title=f"{entry.title}: like this",
                desc=f"{entry.position} {entry.how}",
                palette=self.palette,
            ),
            draw_scene(
                drawn.fault,
                view,
                title=f"{entry.title}: the fault",
                desc=entry.fault,
                palette=self.palette,
            ),
        )


def load_pictures(
    training: TrainingCatalogue, segments: SegmentCatalogue, club: Path | None = None
) -> ExercisePictures:
    """Return the pictures, with a club's own drawings laid over ours.

    Raises
    ------
    CatalogueError
        With every fault and its path.
    """
    build = build_of({name: one.value for name, one in segments.lengths.items()})
    return ExercisePictures(training, load_drawings(training.exercises, build, club))
