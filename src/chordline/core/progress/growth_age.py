"""Age between two days, and the bounds within which growth figures are told."""

from typing import Literal

from chordline.core.progress.abstained import Abstained

#: As the growth references tell them apart.
Sex = Literal["girl", "boy"]

#: Mean length of a year and of a month in the Gregorian count that growth programs use [days].
DAYS_PER_YEAR = 365.25
DAYS_PER_MONTH = 30.4375
MONTHS_PER_YEAR = 12.0


def measure_age(*, born: int, day: int) -> float | Abstained:
    """Return an age [years].

    Parameters
    ----------
    born, day : int
        Day numbers of one calendar count (`date.toordinal()`).

    Returns
    -------
    float or Abstained
        `born-after-the-day` where the day lies before the birth; 0 on the day of birth itself.

    Examples
    --------
    >>> measure_age(born=0, day=3653)
    10.001368925393566
    """
    if born > day:
        return Abstained("born-after-the-day", have=float(day - born), need=0.0)
    return (day - born) / DAYS_PER_YEAR
