"""Numbers in words."""

import math

import pytest

from chordline.adapters.printing.words import bow_in_pct, with_error


@pytest.mark.parametrize(
    ("value", "plus_minus", "unit", "shown"),
    [
        (-18.2, 4.1, "deg", "−18° ± 4°"),
        (3.6, 4.1, "deg", "+4° ± 4°"),
        (-0.3, 4.1, "deg", "0° ± 4°"),
        (-0.34, 0.42, "deg", "−0.3° ± 0.4°"),
        (9.44, 1.2, "cm", "9.4 cm ± 1.2 cm"),
        (-7.36, 1.76, "pct", "−7.4 % ± 1.8 %"),
        (22.0, 0.5, "s", "22.0 s ± 0.5 s"),
        (math.nan, 1.0, "deg", "–"),
        (1.0, math.inf, "deg", "–"),
    ],
)
def test_a_number_carries_its_sign_its_unit_and_its_error(
    value: float, plus_minus: float, unit: str, shown: str
) -> None:
    assert with_error(value, plus_minus, unit) == shown


def test_a_bow_is_signed_unless_it_is_nothing() -> None:
    assert [bow_in_pct(v) for v in (3.14, -0.26, -0.01, 0.0)] == [
        "+3.1 %",
        "−0.3 %",
        "0.0 %",
        "0.0 %",
    ]
