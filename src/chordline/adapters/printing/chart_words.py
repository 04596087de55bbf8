"""Words beside the marks of a chart."""

from chordline.adapters.printing.palette import LIGHT
from chordline.adapters.printing.svg import element, number, text
from chordline.core.geometry.angles import Floats


def words_at(
    said: str, at: Floats, *, letters_px: float, anchor: str = "start", name: str = ""
) -> str:
    """Return words that begin, stand in the middle, or end at a place.

    Parameters
    ----------
    said : str
    at : (2,) float array [px]
        On the line of the letters.
    letters_px : float
    anchor : {'start', 'middle', 'end'}
    name : str
        What the words are, for whoever points at them.
    """
    told = [element("title", text(name)), text(said)] if name else [text(said)]
    return element(
        "text",
        *told,
        x=number(float(at[0])),
        y=number(float(at[1])),
        font_size=letters_px,
        text_anchor=anchor,
        fill=LIGHT.ink_soft,
        class_="cl-word-soft cl-label",
    )
