"""How a shortfall changes by work that was done since it was measured."""

from collections.abc import Iterable, Mapping

from chordline.core.estimate import Estimate
from chordline.core.planning.gains import count_gains
from chordline.core.planning.problem import Exercise


def drift_of_work(
    exercises: Mapping[str, Exercise], weekly: Iterable[Mapping[str, float]]
) -> dict[str, Estimate]:
    """Return by how much work is expected to have changed each shortfall [its unit].

    Parameters
    ----------
    exercises : mapping of id to Exercise
    weekly : iterable of mapping of exercise to float [min]
        What was really done, one mapping a week. What the catalogue has no more is left out.

    Returns
    -------
    dict of capacity to Estimate
        Never positive: work takes a shortfall away. A capacity that nothing worked on is not in it.

    Notes
    -----
    The same law as in a plan: minutes count in proportion up to the weekly dose.
    """
    known = [
        {name: minutes for name, minutes in week.items() if name in exercises} for week in weekly
    ]
    return {
        name: Estimate(-gain.value, gain.sd) for name, gain in count_gains(exercises, known).items()
    }


def lessen(shortfall: Estimate, drift: Estimate | None) -> Estimate:
    """Return a shortfall after a drift; both errors are in it."""
    if drift is None:
        return shortfall
    return Estimate(shortfall.value + drift.value, (shortfall.sd**2 + drift.sd**2) ** 0.5)
