"""How straight a handstand she can reach, as words and one drawing: for page and paper."""

from collections.abc import Sequence
from dataclasses import dataclass

from chordline.adapters.printing.forecast_lines import Figure, draw_handstands, figure_of_photo
from chordline.adapters.printing.svg import clean
from chordline.application.forecast.told import LINE_POINTS
from chordline.application.sheet_forecast import SheetForecast, ToldLine
from chordline.core.body.measurement import Measurement

TITLE = "On the hands: how straight today"
_FRONT = "The front of the body is to the right"
_DOT = "a large dot marks what stops the line"
_DRAWING_TITLE = "Handstands side by side to the same scale, the front of the body to the right"


@dataclass(frozen=True)
class LeverView:
    """A slider: the capacity that it moves, in words, and how far."""

    capacity: str
    label: str
    sign: str
    spoken: str
    most: int


@dataclass(frozen=True)
class ForecastView:
    """The forecast as it is shown; `missing` alone where there is none.

    Attributes
    ----------
    title, missing, headline, posture, chances, gain, gap, range_only : str
    stance : tuple of str
        What the photo shows of balance and load; stands under the gap.
    payoffs : tuple of str
    drawing : str
        SVG of the lines side by side.
    key : str
        How to read it.
    figures : int
        How many of them.
    levers : tuple of LeverView
        What the page lets her coach try.
    """

    title: str
    missing: str
    headline: str
    posture: str
    chances: str
    gain: str
    gap: str
    stance: tuple[str, ...]
    payoffs: tuple[str, ...]
    range_only: str
    drawing: str
    key: str
    figures: int
    levers: tuple[LeverView, ...]


def view_forecast(told: SheetForecast, photo: Measurement | None) -> ForecastView:
    """Return what page and paper show of a forecast.

    Parameters
    ----------
    told : SheetForecast
    photo : Measurement or None
        Of her handstand.
    """
    figures = _figures(told.lines, photo)
    return ForecastView(
        title=TITLE,
        missing=clean(told.missing),
        headline=_kept_together(told.headline),
        posture=_kept_together(told.posture),
        chances=_kept_together(told.chances),
        gain=_kept_together(told.gain),
        gap=_kept_together(told.gap),
        stance=tuple(map(_kept_together, told.stance)),
        payoffs=tuple(map(_kept_together, told.payoffs)),
        range_only=told.range_only,
        drawing=draw_handstands(figures, title=_DRAWING_TITLE) if told.lines else "",
        key=f"{_FRONT}; {_DOT}."
        if told.levers or any(one.stopped_at for one in told.lines)
        else f"{_FRONT}.",
        figures=len(figures),
        levers=tuple(
            LeverView(
                one.capacity,
                clean(one.label),
                "°" if one.unit == "deg" else "\u00a0%",
                "degrees" if one.unit == "deg" else "per cent",
                one.most,
            )
            for one in told.levers
        ),
    )


def _kept_together(sentence: str) -> str:
    """Return a sentence in which no number is parted from its ± or its unit."""
    return clean(sentence).replace(" ± ", "\u00a0±\u00a0").replace(" %", "\u00a0%")


def draw_told(lines: Sequence[ToldLine], photo: Measurement | None) -> str:
    """Return lines beside her photo as SVG."""
    return draw_handstands(_figures(lines, photo), title=_DRAWING_TITLE)


def _figures(lines: Sequence[ToldLine], photo: Measurement | None) -> list[Figure]:
    hers = None if photo is None else figure_of_photo(photo)
    told = [
        Figure(
            one.caption,
            dict(zip(LINE_POINTS, one.outline, strict=True)),
            one.bow_max_pct,
            one.stopped_at,
        )
        for one in lines
    ]
    return ([] if hers is None else [hers]) + told
