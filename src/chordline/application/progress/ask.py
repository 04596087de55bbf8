"""Which test tells most of one capacity's change."""

from collections.abc import Sequence

from chordline.core.capacity.model import CapacityModel


def repeat_worth_most(
    capacity: str, model: CapacityModel, *, done: Sequence[str], blocked: Sequence[str]
) -> str | None:
    """Return the test that is worth repeating for a capacity; None where none may be.

    Parameters
    ----------
    capacity : str
    model : CapacityModel
    done : sequence of str
        Tests of the earlier screen: what lasts of their errors cancels, so they come first.
    blocked : sequence of str
        Tests that a reported sign stops.

    Notes
    -----
    Most information in one take: the sum of load² by variance over the test's measures, each with
    the model's own error, the take's and a photo's usual one.
    """
    told: dict[str, float] = {}
    for test, rows in model.by_test.items():
        if test in blocked:
            continue
        precision = sum(
            model.rows[i].loads.get(capacity, 0.0) ** 2
            / (float(model.extra_variances[i]) + model.rows[i].typical_sd ** 2)
            for i in rows
        )
        if precision > 0.0:
            told[test] = precision
    again = [test for test in told if test in done]
    return max(again or told, key=lambda test: told[test], default=None)
