"""A gymnast's findings in one line."""

from dataclasses import replace

import pytest

from chordline.application.summary import (
    minutes_in_words,
    percent_in_words,
    summary_in_words,
    sureness_in_words,
)
from screen_stories import judge, story

HIPS_OFF = {
    "prone_sides": {"hip": -18.0},
    "prone_overhead": {"hip": -18.0},
    "prone_raised": {"hip": -18.0},
    "prone_active": {"hip": -18.0},
}
CLOSED = {
    "prone_sides": {},
    "prone_overhead": {"shoulder": -24.0},
    "prone_raised": {"shoulder": -24.0},
    "prone_active": {"shoulder": -24.0},
}


@pytest.mark.parametrize(
    ("p", "words", "percent"),
    [
        (0.999, "almost certain", "over 99 %"),
        (0.97, "almost certain", "97 %"),
        (0.92, "very likely", "92 %"),
        (0.8, "likely", "80 %"),
        (0.6, "more likely than not", "60 %"),
        (0.001, "more likely than not", "under 1 %"),
    ],
)
def test_how_sure_is_said_without_ever_being_certain(p: float, words: str, percent: str) -> None:
    assert (sureness_in_words(p), percent_in_words(p)) == (words, percent)


@pytest.mark.parametrize(
    ("minutes", "words"),
    [
        (0.1, "half a minute"),
        (0.5, "half a minute"),
        (1.0, "1 minute"),
        (1.5, "1½ minutes"),
        (12.0, "12 minutes"),
    ],
)
def test_gym_time_is_said_to_the_half_minute(minutes: float, words: str) -> None:
    assert minutes_in_words(minutes) == words


def test_one_line_names_what_limits_her() -> None:
    told = summary_in_words(judge(story(**CLOSED)))
    assert told.startswith("Limits her: Shoulders, passive: closed by 2")
    assert "(almost certain)." in told
    assert "\n" not in told


def test_one_line_names_what_is_open_and_what_to_test_next() -> None:
    found = judge(story(**HIPS_OFF))
    told = summary_in_words(found)
    assert told.startswith("No limiter found in these tests. Open: hip flexors or pelvic control.")
    assert found.next_test is not None
    title = found.next_test.title
    assert told.endswith(f" Next: {title[0].lower()}{title[1:]}.")


def test_pictures_that_need_a_look_are_counted_once() -> None:
    found = judge(story(**CLOSED))
    lines = ("a.jpg: faces left?", "a.jpg: too small", "b.jpg: faces left?")
    told = summary_in_words(replace(found, not_used=lines))
    assert "2 pictures need a look." in told


def test_a_sign_comes_first() -> None:
    told = summary_in_words(judge(story(flags=("wrist_pain",), **CLOSED)))
    assert told.startswith("Stop: Wrist pain. Limits her: ")
