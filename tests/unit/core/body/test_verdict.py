"""Words before numbers, checked against cases that a coach would decide the same way."""

import pytest

from chordline.core.body.verdict import Sense, Verdict, judge


def say(value: float, *, sd: float = 1.0, sense: Sense = "both", certainty: float = 0.6) -> Verdict:
    return judge(value, sd=sd, sense=sense, on_line=5.0, close=12.0, certainty=certainty)


@pytest.mark.parametrize(
    ("value", "word"),
    [
        (0.0, Verdict.ON_THE_LINE),
        (3.0, Verdict.ON_THE_LINE),
        (8.5, Verdict.CLOSE),
        (20.0, Verdict.SHORT),
        (-3.0, Verdict.ON_THE_LINE),
        (-8.5, Verdict.CLOSE),
        (-20.0, Verdict.SHORT),
    ],
)
def test_a_sharp_measure_gets_its_word(value: float, word: Verdict) -> None:
    assert say(value) is word


def test_only_the_side_that_matters_is_short() -> None:
    assert say(-20.0, sense="closing") is Verdict.SHORT
    assert say(20.0, sense="closing") is Verdict.ON_THE_LINE
    assert say(20.0, sense="opening") is Verdict.SHORT
    assert say(-20.0, sense="opening") is Verdict.ON_THE_LINE


@pytest.mark.parametrize("value", [5.0, 12.0, -5.0, -12.0])
def test_on_the_border_nobody_can_tell(value: float) -> None:
    assert say(value) is Verdict.CANNOT_TELL


def test_a_blurred_measure_cannot_tell_what_a_sharp_one_can() -> None:
    assert say(8.5, sd=1.0) is Verdict.CLOSE
    assert say(8.5, sd=10.0) is Verdict.CANNOT_TELL


def test_more_certainty_asked_means_fewer_words() -> None:
    assert say(4.0, certainty=0.8) is Verdict.ON_THE_LINE
    assert say(4.0, certainty=0.9) is Verdict.CANNOT_TELL


def test_a_measure_that_is_not_known_is_not_judged() -> None:
    assert say(float("nan")) is Verdict.CANNOT_TELL


def test_the_words_are_those_on_the_page() -> None:
    assert [word.value for word in Verdict] == [
        "on the line",
        "close",
        "short of the line",
        "cannot tell yet",
    ]
