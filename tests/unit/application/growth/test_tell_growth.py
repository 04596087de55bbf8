"""What is told of a gymnast's growth, and what is not and why."""

from datetime import date

import pytest

from chordline.application.club.growth_reference import GrowthReference
from chordline.application.club.records import BodySize, Consent, GymnastRecord
from chordline.application.growth.growth_json import growth_to_json
from chordline.application.growth.growth_words import (
    cautions_in_words,
    chance_in_words,
    check_in_words,
    source_in_words,
    speed_in_figures,
    speed_in_words,
    stature_in_words,
    z_in_figures,
)
from chordline.application.growth.maturity_words import (
    maturity_in_words,
    offset_in_words,
    offsets_in_figures,
)
from chordline.application.growth.tell_growth import tell_growth
from chordline.application.growth.told import Growth, Speed, Standing, Untold
from chordline.catalogue.growth import our_growth
from chordline.core.progress.growth_maturity import Maturity

BORN = date(2014, 9, 1)
TODAY = date(2025, 9, 1)


def tell(
    *sizes: BodySize,
    born: date | None = BORN,
    reference: GrowthReference | None = "girls",
    day: date = TODAY,
) -> Growth:
    her = GymnastRecord(1, 1, "Ada", 7, born, Consent(), None, 1, reference)
    return tell_growth(her, sizes, day=day, growth=our_growth())


def grew(*statures: float) -> tuple[BodySize, ...]:
    """Statures half a year apart, the last one of today."""
    days = (date(2024, 9, 1), date(2025, 2, 28), TODAY)
    return tuple(map(BodySize, days[-len(statures) :], statures))


def codes(told: Growth) -> list[str]:
    return [one.code for one in told.checks]


def reason(told: object) -> str:
    assert isinstance(told, Untold)
    return told.reason


def test_a_girl_of_eleven_stands_where_the_reference_says() -> None:
    """132 months: M = 144.9929, S = 0.04584 (WHO 2007), so 138.3 cm lies one sd below."""
    told = tell(BodySize(TODAY, 138.35))
    assert isinstance(told.standing, Standing)
    assert told.standing.z.value == pytest.approx(-1.0, abs=0.005)
    assert told.standing.z.sd == pytest.approx(0.5 / (144.9929 * 0.04584), rel=0.01)
    assert "of 100 girls of that age about 16 are shorter and 84 taller" in stature_in_words(told)
    assert z_in_figures(told).startswith("z −1.00 ± 0.15")


def test_the_boys_table_is_another_one() -> None:
    girl, boy = (tell(BodySize(TODAY, 140.0), reference=one) for one in ("girls", "boys"))
    assert isinstance(girl.standing, Standing)
    assert isinstance(boy.standing, Standing)
    assert boy.standing.z.value > girl.standing.z.value + 0.2


@pytest.mark.parametrize(
    ("stature_cm", "said"), [(120.0, "1 of 100 girls of that age are shorter"), (170.0, "taller")]
)
def test_at_the_ends_no_exact_share_is_claimed(stature_cm: float, said: str) -> None:
    words = stature_in_words(tell(BodySize(TODAY, stature_cm)))
    assert words.endswith(f"{said}.")
    assert "fewer than 1" in words


def test_steady_growth_is_told_with_its_error_and_is_not_likely_fast() -> None:
    told = tell(*grew(135.0, 137.5, 140.0))
    assert isinstance(told.speed, Speed)
    assert told.speed.cm_per_year.value == pytest.approx(2.5 * 365.25 / 185, abs=0.01)
    assert (told.speed.since, told.speed.until) == (date(2025, 2, 28), TODAY)
    assert told.speed.statures == 2
    assert speed_in_words(told) == "She grew about 5 cm a year."
    assert "4.9 ± 2.7 cm/year, 28 Feb 2025 to 1 Sep 2025, 2 statures" in speed_in_figures(told)
    assert "not likely" in chance_in_words(told)
    assert not told.cautious
    assert cautions_in_words(told) == ()
    assert growth_to_json(told)["retest_sooner"] is False


def test_fast_growth_brings_cautions_that_name_their_sources_and_an_earlier_test() -> None:
    told = tell(*grew(132.0, 135.0, 140.5))
    assert isinstance(told.fast_growth_probability, float)
    assert told.fast_growth_probability > 0.9
    assert "almost certain (over 99 %)" in chance_in_words(told)
    assert told.retest_sooner
    said = {source: words for words, source in cautions_in_words(told)}
    assert set(said) == {"common practice", "jackson-1976", "difiori-2002"}
    for source in ("jackson-1976", "difiori-2002"):
        assert "licensed clinician" in said[source]
        assert "not shown to be caused" in said[source]
    assert source_in_words("difiori-2002") == "DiFiori 2002"


def test_whether_she_grows_fast_stays_open_where_the_statures_cannot_tell() -> None:
    told = tell(*grew(136.5, 140.0))
    assert isinstance(told.fast_growth_probability, float)
    assert 0.25 < told.fast_growth_probability < 0.75
    assert "cannot tell yet" in chance_in_words(told)


@pytest.mark.parametrize(
    ("sizes", "why", "do"),
    [
        ((), "not-measured", "measure it without shoes"),
        ((BodySize(TODAY, mass_kg=34.0),), "not-measured", "measure it without shoes"),
        ((BodySize(TODAY, 140.0),), "one-measurement", "from 4 Mar 2026 on"),
        (
            (BodySize(date(2025, 6, 1), 139.0), BodySize(TODAY, 140.0)),
            "too-close-together",
            "from 2 Dec 2025 on",
        ),
        (
            (BodySize(date(2023, 9, 1), 129.0), BodySize(TODAY, 140.0)),
            "too-far-apart",
            "2.0 years apart",
        ),
        (grew(140.0, 137.0), "stature-shrank", "correct the wrong one first"),
        (grew(140.0, 175.0), "grew-too-fast", "correct the wrong one first"),
    ],
)
def test_a_speed_that_cannot_be_told_says_what_to_do(
    sizes: tuple[BodySize, ...], why: str, do: str
) -> None:
    told = tell(*sizes)
    assert reason(told.speed) == why
    assert reason(told.fast_growth_probability) == why
    assert do in speed_in_words(told)
    assert chance_in_words(told) == ""
    assert not told.retest_sooner


def test_a_stature_that_shrank_names_both_days_and_is_not_mended() -> None:
    told = tell(*grew(135.0, 140.0, 137.0))
    assert codes(told)[0] == "stature-shrank"
    said = check_in_words(told.checks[0])
    assert "of 1 Sep 2025 is 3.0 cm less than that of 28 Feb 2025" in said
    assert "under its own day" in said
    assert [one.stature_cm for one in told.points] == [135.0, 140.0, 137.0]


def test_a_loss_within_measuring_error_is_no_contradiction() -> None:
    assert "stature-shrank" not in codes(tell(*grew(140.0, 138.7)))
    assert "stature-shrank" in codes(tell(*grew(140.0, 138.5)))


def test_a_jump_that_no_child_makes_is_called_a_slip() -> None:
    told = tell(*grew(140.0, 175.0))
    assert codes(told)[0] == "grew-too-fast"
    assert "35.0 cm more than that of 28 Feb 2025" in check_in_words(told.checks[0])


def test_a_jump_that_measuring_error_explains_is_told_as_a_speed() -> None:
    told = tell(*grew(132.0, 140.0))
    assert isinstance(told.speed, Speed)
    assert told.speed.cm_per_year.value > 15.0
    assert "grew-too-fast" not in codes(told)


def test_without_a_birth_date_only_the_stature_itself_is_told() -> None:
    told = tell(*grew(135.0, 138.0), born=None)
    assert reason(told.age_years) == "birth-date-not-said"
    assert stature_in_words(told) == "138 cm. Her birth date is not known; enter it in her record."
    assert told.points == ()
    assert reason(told.maturity) == "birth-date-not-said"
    shrank = tell(*grew(140.0, 136.0), born=None)
    assert codes(shrank) == ["stature-shrank"]


def test_a_birth_date_after_the_day_or_after_a_measurement_is_asked_to_be_corrected() -> None:
    told = tell(BodySize(TODAY, 140.0), born=date(2026, 1, 1))
    assert reason(told.standing) == "born-after-the-day"
    assert codes(told)[:2] == ["born-after-the-day", "measured-before-birth"]
    assert all("correct" in check_in_words(one) for one in told.checks[:2])
    late = tell(BodySize(date(2014, 8, 1), 60.0), BodySize(TODAY, 140.0))
    assert codes(late)[0] == "measured-before-birth"
    assert "1 Aug 2014" in check_in_words(late.checks[0])
    assert len(late.points) == 1


def test_without_a_reference_speed_is_told_and_nothing_is_compared() -> None:
    told = tell(*grew(135.0, 138.0), reference=None)
    assert reason(told.standing) == reason(told.maturity) == "sex-not-said"
    assert isinstance(told.speed, Speed)
    assert "choose girls or boys in her record" in stature_in_words(told)


@pytest.mark.parametrize(
    ("born", "said"),
    [(date(2021, 1, 1), "begins at 5 years"), (date(2006, 1, 1), "ends at 19 years")],
)
def test_outside_the_table_nothing_is_compared(born: date, said: str) -> None:
    assert said in stature_in_words(tell(BodySize(TODAY, 110.0), born=born))


def test_an_implausible_stature_is_not_ranked() -> None:
    told = tell(BodySize(TODAY, 100.0))
    assert codes(told)[0] == "implausible"
    assert stature_in_words(told) == "100 cm on 1 Sep 2025."


def test_maturity_is_told_to_the_year_by_both_equations() -> None:
    """11.0 y, 142 cm, sitting 74.5 cm, 35 kg: Mirwald −1.137, Moore −1.112 (computed)."""
    told = tell(BodySize(TODAY, 142.0, 35.0, 74.5))
    assert isinstance(told.maturity, Maturity)
    assert [one.offset_years for one in told.maturity.offsets] == pytest.approx(
        [-1.137, -1.112], abs=0.005
    )
    assert maturity_in_words(told) == "By the equations about 1 year before her fastest growth."
    assert offsets_in_figures(told, our_growth()) == (
        "Mirwald 2002: −1 ± 1.1 years",
        "Moore 2015: −1 ± 1.4 years",
    )
    assert "late" in growth_to_json(told)["maturity"]["warning"]


def test_without_sitting_height_one_equation_speaks_and_the_other_says_what_it_needs() -> None:
    told = tell(BodySize(TODAY, 142.0, 35.0))
    assert offsets_in_figures(told, our_growth())[1] == (
        "Mirwald 2002: needs sitting height and mass of the same day"
    )
    assert codes(told) == ["sitting-height-missing"]
    assert not told.checks[0].contradicts


def test_the_equations_of_boys_are_told_apart() -> None:
    told = tell(BodySize(TODAY, 142.0, 35.0, 74.5), reference="boys")
    lines = offsets_in_figures(told, our_growth())
    assert [one.partition(":")[0] for one in lines] == [
        "Mirwald 2002",
        "Moore 2015, from sitting height",
        "Moore 2015, from stature",
    ]
    assert "works best from 12 to 16 years" in lines[0]


def test_outside_the_ages_of_the_equations_none_fits() -> None:
    told = tell(BodySize(TODAY, 118.0), born=date(2019, 1, 1))
    assert "No equation fits her: " in maturity_in_words(told)
    assert "at least 7.5 years" in maturity_in_words(told)


def test_equations_that_disagree_are_both_left_unbelieved() -> None:
    told = tell(BodySize(TODAY, 142.0, 80.0, 84.0))
    assert isinstance(told.maturity, Maturity)
    assert told.maturity.disagree
    assert maturity_in_words(told).endswith("believe neither.")


@pytest.mark.parametrize(
    ("offset_years", "words"),
    [
        (0.99, "within about a year of her fastest growth, before or after"),
        (-1.4, "about 1 year before her fastest growth"),
        (2.6, "about 3 years after her fastest growth"),
    ],
)
def test_an_offset_is_said_to_the_whole_year(offset_years: float, words: str) -> None:
    assert offset_in_words(offset_years) == words


def test_a_sitting_height_that_hardly_belongs_to_her_stature_is_asked_for_again() -> None:
    assert "sits-too-tall-or-low" in codes(tell(BodySize(TODAY, 142.0, 35.0, 100.0)))
    assert codes(tell(BodySize(TODAY, 142.0, 35.0, 74.5))) == []


def test_an_old_stature_says_nothing_of_how_she_grows_now() -> None:
    fast = grew(132.0, 135.0, 140.5)
    told = tell(*fast, day=date(2026, 6, 1))
    assert isinstance(told.speed, Speed)
    assert reason(told.fast_growth_probability) == "stature-too-old"
    assert "too old" in chance_in_words(told)
    assert not told.retest_sooner
    assert codes(told) == ["stature-old"]


def test_what_was_measured_after_the_day_is_not_looked_at() -> None:
    told = tell(*grew(132.0, 135.0, 140.5), day=date(2025, 3, 1))
    assert [one.stature_cm for one in told.points] == [132.0, 135.0]


def test_what_is_not_told_is_null_in_json_with_its_reason() -> None:
    record = growth_to_json(tell(born=None))
    assert record["schema"] == "chordline.growth/1"
    assert record["age_years"] is None
    assert record["stature"]["untold"] == "birth-date-not-said"
    assert record["velocity"]["cm_per_year"] is None
    assert record["fast_growth"]["probability"] is None
    assert record["maturity"]["offsets"] == []
