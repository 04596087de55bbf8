"""Numbers, days and plurals as each language writes them."""

from datetime import date, time

import pytest

from chordline.application.tongue import NBSP, Tongue, tongue_of
from chordline.errors import WrongUseError

DE, EN, FR = (tongue_of(code) for code in ("de", "en", "fr"))


def test_a_minus_is_a_minus_and_a_comma_a_comma() -> None:
    assert DE.number(-7.46, 1) == "−7,5"
    assert FR.number(-7.46, 1) == "−7,5"
    assert EN.number(-7.46, 1) == "−7.5"


def test_nothing_has_no_sign() -> None:
    assert EN.number(-0.04, 1) == "0.0"
    assert DE.signed(-0.04, 1) == "0,0"
    assert DE.signed(2.5, 1) == "+2,5"


def test_halves_are_rounded_away_from_nothing() -> None:
    assert [EN.number(value) for value in (0.5, 4.5, 6.5, -2.5)] == ["1", "5", "7", "−3"]


def test_a_value_keeps_its_error_and_its_unit_on_one_line() -> None:
    said = DE.plus_minus(7.46, 1.2, "pct", 1)
    assert said == f"7,5{NBSP}%{NBSP}±{NBSP}1,2{NBSP}%"
    assert EN.plus_minus(18.0, 4.4, "deg") == f"18°{NBSP}±{NBSP}4°"


@pytest.mark.parametrize(
    ("tongue", "day", "weekday"),
    [
        (EN, "1 Sep 2026", "Tuesday 1 September"),
        (DE, "1. September 2026", "Dienstag, 1. September"),
        (FR, "1er septembre 2026", "mardi 1er septembre"),
    ],
)
def test_days(tongue: Tongue, day: str, weekday: str) -> None:
    assert tongue.day(date(2026, 9, 1)) == day
    assert tongue.weekday(date(2026, 9, 1)) == weekday


def test_only_the_first_of_a_french_month_is_counted() -> None:
    assert FR.day(date(2026, 9, 11)) == "11 septembre 2026"
    assert FR.brief_day(date(2026, 11, 1)) == f"dim.{NBSP}1er{NBSP}nov."


def test_a_time_of_day_has_two_figures_a_side() -> None:
    assert [one.clock(time(9, 5)) for one in (DE, EN, FR)] == ["09:05"] * 3


def test_french_counts_nothing_as_one() -> None:
    said = [FR.say_n("{count} week", "{count} weeks", count) for count in (0, 1, 2)]
    assert said == ["0 semaine", "1 semaine", "2 semaines"]
    assert EN.say_n("{count} week", "{count} weeks", 0) == "0 weeks"
    assert DE.say_n("{count} week", "{count} weeks", 1) == "1 Woche"


def test_a_clubs_own_exercise_is_said_as_the_club_wrote_it() -> None:
    assert DE.word("exercise title", "Our {odd} club's own hold") == "Our {odd} club's own hold"


def test_one_word_may_mean_two_things() -> None:
    assert FR.word("capacity", "Upper back") == "Haut du dos"
    assert FR.say("Upper back") == "Upper back"


def test_a_list_ends_with_and() -> None:
    assert DE.listed(["Ada", "Bea", "Cleo"]) == "Ada, Bea und Cleo"
    assert FR.listed(["Ada"]) == "Ada"
    assert FR.joined(["Ada", "Bea"]) == f"Ada{NBSP}; Bea"


def test_an_unknown_language_is_refused_with_those_there_are() -> None:
    with pytest.raises(WrongUseError, match="en, de, fr"):
        tongue_of("xx")
