"""WHO growth reference 5-19 years (2007): WHO's own test values and its whole example survey.

Two heights with z-scores to three digits from the tests of WHO's reference package
(tests/testthat/test-zscores.R); the survey and its z-scores to two digits as that package writes
them (survey_z.csv). Rows of the table as read; two z-scores computed by hand from them. Tolerances
are half of the last printed digit.
"""

import csv
from collections.abc import Iterator
from datetime import date, datetime
from pathlib import Path

import numpy as np
import pytest

from chordline.catalogue.growth import our_growth
from chordline.core.progress.growth_age import (
    DAYS_PER_MONTH,
    DAYS_PER_YEAR,
    MONTHS_PER_YEAR,
    Sex,
    measure_age,
)
from chordline.core.progress.growth_lms import GrowthScore, compute_scores, score_size

SURVEY = Path(__file__).resolve().parents[1] / "data" / "who_2007_survey_z.csv"
GROWTH = our_growth()
#: measure: column of the size, of the printed z-score, of WHO's flag, rows with a z-score
COLUMNS = {
    "height_for_age": ("height", "zhfa", "fhfa", 924),
    "weight_for_age": ("weight", "zwfa", "fwfa", 258),
    "bmi_for_age": ("cbmi", "zbfa", "fbfa", 919),
}
SEXES: dict[str, Sex] = {"1": "boy", "2": "girl"}


def survey() -> list[dict[str, str]]:
    with SURVEY.open(encoding="utf-8") as lines:
        return list(csv.DictReader(lines))


def scored(measure: str) -> Iterator[tuple[dict[str, str], float, float]]:
    """Each person with a printed z-score, that score, and ours."""
    size, printed, _, _ = COLUMNS[measure]
    rows = [row for row in survey() if row[printed]]
    for code, sex in SEXES.items():
        some = [row for row in rows if row["sex"] == code]
        table = GROWTH.table(measure, sex)
        assert table is not None
        ours = compute_scores(
            table,
            np.array([float(row["agemons"]) for row in some]),
            np.array([float(row[size]) for row in some]),
        )
        yield from zip(some, (float(row[printed]) for row in some), ours, strict=True)


@pytest.mark.parametrize("measure", COLUMNS)
def test_every_row_of_the_example_survey_comes_out_to_its_printed_digit(measure: str) -> None:
    rows = list(scored(measure))
    assert len(rows) == COLUMNS[measure][3]
    misses = [
        (row["id"], printed, ours) for row, printed, ours in rows if abs(printed - ours) > 0.005
    ]
    assert misses == []


@pytest.mark.parametrize("measure", COLUMNS)
def test_what_who_flags_is_called_implausible_and_nothing_else(measure: str) -> None:
    size, printed, flag, _ = COLUMNS[measure]
    for row in survey():
        if not row[printed]:
            continue
        told = score_size(
            GROWTH.table(measure, SEXES[row["sex"]]),
            age_months=float(row["agemons"]),
            size=float(row[size]),
        )
        assert isinstance(told, GrowthScore)
        assert told.implausible == (row[flag] == "1"), row["id"]


@pytest.mark.parametrize("measure", ["weight_for_age", "bmi_for_age"])
def test_the_survey_reaches_beyond_three_sd_where_the_linear_rule_counts(measure: str) -> None:
    far = [(row, printed) for row, printed, _ in scored(measure) if abs(printed) > 3.2]
    assert far
    table = {sex: GROWTH.table(measure, sex) for sex in SEXES.values()}
    for row, printed in far:
        one = table[SEXES[row["sex"]]]
        assert one is not None
        age, size = float(row["agemons"]), float(row[COLUMNS[measure][0]])
        months = one.first_month + np.arange(len(one.median))
        power, median, spread = (
            np.interp(age, months, c) for c in (one.power, one.median, one.spread)
        )
        plain = ((size / median) ** power - 1.0) / (power * spread)
        assert abs(plain - printed) > 0.005


def test_ages_in_the_survey_follow_from_its_days() -> None:
    """The days stand in whole days, the ages do not: half a day and half a digit apart at most."""
    for row in survey():
        born, day = (datetime.strptime(row[c], "%d-%b-%Y").date() for c in ("dob", "dov"))
        years = measure_age(born=born.toordinal(), day=day.toordinal())
        assert isinstance(years, float)
        months = years * MONTHS_PER_YEAR
        assert months == pytest.approx(float(row["agemons"]), abs=0.5 / DAYS_PER_MONTH + 0.005)


@pytest.mark.parametrize(
    ("age_months", "height_cm", "printed"), [(60.32, 113.8, 0.959), (60.911701, 113.6, 0.848)]
)
def test_the_heights_of_whos_own_tests(age_months: float, height_cm: float, printed: float) -> None:
    told = score_size(GROWTH.table("height_for_age", "girl"), age_months=age_months, size=height_cm)
    assert isinstance(told, GrowthScore)
    assert told.z == pytest.approx(printed, abs=0.0005)


@pytest.mark.parametrize(
    ("age_months", "height_cm", "computed"), [(120.0, 132.0, -1.037), (144.0, 140.0, -1.642)]
)
def test_two_girls_computed_by_hand(age_months: float, height_cm: float, computed: float) -> None:
    told = score_size(GROWTH.table("height_for_age", "girl"), age_months=age_months, size=height_cm)
    assert isinstance(told, GrowthScore)
    assert told.z == pytest.approx(computed, abs=0.0005)


@pytest.mark.parametrize(
    ("month", "median", "spread"),
    [
        (96, 126.5558, 0.04581),
        (108, 132.4944, 0.04612),
        (120, 138.6363, 0.04614),
        (132, 144.9929, 0.04584),
        (144, 151.2327, 0.04523),
        (156, 156.3748, 0.04439),
        (168, 159.7890, 0.04345),
        (180, 161.6692, 0.04255),
    ],
)
def test_the_girls_heights_are_the_printed_ones(month: int, median: float, spread: float) -> None:
    table = GROWTH.table("height_for_age", "girl")
    assert table is not None
    i = month - table.first_month
    assert (table.power[i], table.median[i], table.spread[i]) == (1.0, median, spread)


def test_the_day_count_is_the_one_of_growth_programs() -> None:
    ten = measure_age(born=date(2014, 3, 1).toordinal(), day=date(2024, 3, 1).toordinal())
    assert ten == pytest.approx(3653 / DAYS_PER_YEAR)


def test_the_tables_say_whose_they_are() -> None:
    terms = GROWTH.sources["who-2007"].terms
    assert "© World Health Organization" in terms
    assert "non-commercial" in terms
    assert "share alike" in terms
