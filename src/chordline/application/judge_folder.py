"""From a screened folder to every gymnast's findings."""

from collections.abc import Sequence
from dataclasses import replace

from chordline.application.find_limits import FindLimits, ScreenInput
from chordline.application.findings import Findings
from chordline.application.forecast.forecast_line import ForecastLine
from chordline.application.screen_folder import FolderScreen, GymnastScreen
from chordline.errors import WrongUseError


def judge_gymnast(
    one: GymnastScreen, *, screen: str, find: FindLimits, forecast: ForecastLine | None = None
) -> Findings:
    """Return the findings of one gymnast of a folder, with her forecast where it is asked for."""
    found = find(
        ScreenInput(
            gymnast=one.gymnast.name,
            card=one.gymnast.card,
            screen=screen,
            measurements=tuple(filed.measurement for filed in one.filed),
            held=one.held,
            flags=one.flags,
        )
    )
    return found if forecast is None else replace(found, forecast=forecast(found))


def judge_folder(
    result: FolderScreen, *, screen: str, find: FindLimits, forecast: ForecastLine | None = None
) -> tuple[Findings, ...]:
    """Return the findings of every gymnast, in the order of the folder's screen."""
    return tuple(
        judge_gymnast(one, screen=screen, find=find, forecast=forecast) for one in result.gymnasts
    )


def pick_gymnast(gymnasts: Sequence[GymnastScreen], wanted: str) -> GymnastScreen:
    """Return the gymnast of a card number, a name, or the beginning of a name.

    Raises
    ------
    WrongUseError
        With nobody or several by that name; says who there is.
    """
    text = wanted.strip().casefold()
    by_card = [one for one in gymnasts if text.isdigit() and one.gymnast.card == int(text)]
    exact = [one for one in gymnasts if one.gymnast.name.casefold() == text]
    begins = [one for one in gymnasts if text and one.gymnast.name.casefold().startswith(text)]
    for candidates in (by_card, exact, begins):
        if len(candidates) == 1:
            return candidates[0]
    there = ", ".join(
        one.gymnast.name + ("" if one.gymnast.card is None else f" ({one.gymnast.card})")
        for one in gymnasts
    )
    several = "several gymnasts are" if begins else "nobody is"
    raise WrongUseError(f"{several} called '{wanted}' here; there are {there or 'none'}")
