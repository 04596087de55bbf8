"""Shrout PE, Fleiss JL (1979), Psychol Bull 86:420-428, the example of six targets, four judges.

Ratings and the printed ICC(1,1), (2,1), (3,1) were read in a stored text of the article; tolerance
half of the last printed digit. Mean squares and averaged forms to four digits were computed from
the ratings by the formulas, not read.
"""

import numpy as np
import pytest

from chordline.core.progress.agreement_cases import Fewest
from chordline.core.progress.agreement_icc import Agreement, estimate_agreement

RATINGS = np.array(
    [[9, 2, 5, 8], [6, 1, 3, 2], [8, 4, 6, 8], [7, 1, 2, 6], [10, 5, 6, 9], [6, 2, 4, 7]],
    dtype=float,
)


def agreement() -> Agreement:
    told = estimate_agreement(RATINGS, fewest=Fewest(subjects=6))
    assert isinstance(told, Agreement)
    return told


@pytest.mark.parametrize(
    ("form", "printed"), [("ICC(1,1)", 0.17), ("ICC(2,1)", 0.29), ("ICC(3,1)", 0.71)]
)
def test_the_printed_correlations_of_one_rating_come_out(form: str, printed: float) -> None:
    assert agreement().icc[form].value == pytest.approx(printed, abs=0.005)


@pytest.mark.parametrize(
    ("form", "computed"),
    [
        ("ICC(1,1)", 0.1657),
        ("ICC(2,1)", 0.2898),
        ("ICC(3,1)", 0.7148),
        ("ICC(1,k)", 0.4428),
        ("ICC(2,k)", 0.6201),
        ("ICC(3,k)", 0.9093),
    ],
)
def test_all_six_forms_come_out_to_four_digits(form: str, computed: float) -> None:
    assert agreement().icc[form].value == pytest.approx(computed, abs=0.00005)


@pytest.mark.parametrize(
    ("name", "computed"), [("bms", 11.2417), ("wms", 6.2639), ("jms", 32.4861), ("ems", 1.0194)]
)
def test_the_mean_squares_come_out_to_four_digits(name: str, computed: float) -> None:
    assert getattr(agreement().mean_squares, name) == pytest.approx(computed, abs=0.00005)
