"""What she sees of her shape, frame by frame."""

import numpy as np
import pytest

from chordline.application.live.ports import LiveBody, Lost
from chordline.application.live.session import LiveAsk, LiveSession
from chordline.application.live.told import LiveTold
from chordline.catalogue.live import load_live
from chordline.catalogue.loader import load_catalogue
from chordline.conventions import Side
from live_stories import (
    HEIGHT,
    STEP_S,
    WIDTH,
    TellingWatch,
    girl,
    straight_girl,
    times,
    upside_down,
)

CATALOGUE = load_catalogue()
LIVE = load_live(CATALOGUE)
RGB = np.zeros((HEIGHT, WIDTH, 3), np.uint8)
A_SECOND = round(1.0 / STEP_S)


def told(
    story: list[LiveBody | Lost],
    *,
    test: str = "prone-overhead",
    near: Side | None = None,
    frames: int | None = None,
) -> list[LiveTold]:
    session = LiveSession(TellingWatch(story), CATALOGUE, LIVE)
    count = len(story) if frames is None else frames
    return [session.take(RGB, LiveAsk(at_s, test, near)) for at_s in times(count)]


def held(body: LiveBody) -> list[LiveBody | Lost]:
    return [body] * A_SECOND


# The shape


def test_a_straight_line_turns_the_tone_on_once_it_is_held() -> None:
    answers = told(held(straight_girl()))
    assert (answers[0].tone, answers[0].reason) == ("unknown", "settling")
    assert (answers[-1].tone, answers[-1].reason) == ("on", None)
    assert answers[-1].headline == "On the line"
    assert answers[-1].look_at == ""
    assert [one.words for one in answers[-1].measures] == ["in line", "straight", "straight"]


def test_what_stands_off_the_line_is_named_in_words_with_its_error() -> None:
    last = told(held(girl(shoulder_px=30)))[-1]
    shoulders = last.measures[0]
    assert last.tone == "off"
    assert last.headline == "Short of the line"
    assert last.look_at == "Shoulders closed"
    assert shoulders.value < -12.0
    assert 1.0 < shoulders.plus_minus < 15.0


def test_the_error_has_what_another_look_would_not_change() -> None:
    sure = LiveBody(straight_girl().xy_px, np.zeros(10), 3.0)
    assert told(held(sure))[-1].measures[0].plus_minus > 4.0


def test_wide_open_is_no_little_also_where_only_closing_counts() -> None:
    last = told(held(girl(shoulder_px=30)), near="right")[-1]
    shoulders = last.measures[0]
    assert (shoulders.words, shoulders.tone) == ("open", "on")


def test_at_most_three_measures_are_told_of_every_test() -> None:
    for name, test in CATALOGUE.tests.items():
        upside = test.group == "hands"
        body = upside_down(near_log_odds=4.0) if upside else straight_girl()
        near: Side = "right" if test.front == "up" else "left"
        last = told(held(body), test=name, near=near)[-1]
        assert last.reason is None, (name, last.reason)
        assert 1 <= len(last.measures) <= 3, name


def test_knees_that_break_the_shape_are_named_though_no_row_is_theirs() -> None:
    body = upside_down(near_log_odds=4.0)
    xy = body.xy_px.copy()
    xy[0] += [-60.0, 0.0]  # the malleolus to her back
    last = told(held(LiveBody(xy, body.sd_px, 4.0)), test="handstand", near="left")[-1]
    names = [one.name for one in last.measures]
    assert names == ["shoulder_opening_deg", "hip_opening_deg", "line_from_vertical_deg"]
    assert last.look_at.startswith("Knees")


def test_a_shape_that_trembles_about_the_limit_does_not_switch_the_tone() -> None:
    near_limit = [girl(shoulder_px=px) for px in (30.0, 30.6) for _ in range(1)] * A_SECOND
    tones = [one.tone for one in told(near_limit)]
    assert len({tone for tone in tones if tone != "unknown"}) == 1


def test_one_frame_alone_switches_no_tone() -> None:
    session = LiveSession(TellingWatch([straight_girl()]), CATALOGUE, LIVE)
    tones = [session.take(RGB, LiveAsk(at_s, "prone-overhead")).tone for at_s in (1.0, 5.0, 9.0)]
    assert tones == ["unknown", "unknown", "on"]


def test_landmarks_are_shares_of_the_frame() -> None:
    last = told(held(straight_girl()))[-1]
    x, y = last.landmarks["malleolus"]
    assert x == pytest.approx((1240 * 0.4 + 0.5) / WIDTH, abs=1e-6)
    assert y == pytest.approx(250.5 / HEIGHT, abs=1e-6)
    assert last.chord[0] == "malleolus"
    assert last.chord[-1] == "hand"


# Who cannot be seen


@pytest.mark.parametrize("why", ["nobody", "hidden", "not-in-position", "two-people"])
def test_whoever_is_not_followed_gets_a_sentence_and_no_tone(why: Lost) -> None:
    last = told([*held(straight_girl()), *([why] * A_SECOND)])[-1]
    assert (last.tone, last.reason) == ("unknown", why)
    assert len(last.headline) > 20
    assert (last.landmarks, last.measures) == ({}, ())


def test_the_tone_is_told_off_at_once_when_she_is_hidden() -> None:
    answers = told([*held(straight_girl()), "hidden"])
    assert answers[-2].tone == "on"
    assert answers[-1].tone == "unknown"


def test_after_somebody_walked_through_her_line_is_where_she_is() -> None:
    moved = straight_girl()
    moved = LiveBody(moved.xy_px + np.array([0.0, 40.0]), moved.sd_px, 3.0)
    long = [*held(straight_girl()), *(["hidden"] * A_SECOND), moved]
    back = told(long)[-1]
    assert back.landmarks["hip"][1] == pytest.approx((290.0 + 0.5) / HEIGHT)
    short = [*held(straight_girl()), "hidden", moved]
    glides = told(short)[-1]
    assert 250.5 / HEIGHT < glides.landmarks["hip"][1] < 290.0 / HEIGHT


def test_who_is_small_or_cut_off_is_not_judged() -> None:
    assert told(held(girl(scale=0.12)))[-1].reason == "too-small"
    away = told(held(girl(shift_px=(200.0, 0.0))))[-1]
    assert (away.reason, away.measures) == ("cut-off", ())
    assert away.landmarks != {}


def test_who_gets_up_is_not_judged() -> None:
    assert told(held(upside_down(near_log_odds=4.0)))[-1].reason == "not-in-position"


# Which side


def test_the_test_says_which_side_is_near_and_it_is_shown() -> None:
    last = told(held(straight_girl()))[-1]
    assert (last.near_side, last.front, last.side_origin) == ("left", "down", "test")


def test_a_side_that_is_a_guess_is_asked_not_taken_silently() -> None:
    unsure = told(held(upside_down(near_log_odds=0.5)), test="handstand")[-1]
    assert (unsure.reason, unsure.measures) == ("which-side", ())
    assert unsure.side_origin == "guessed"
    said = told(held(upside_down(near_log_odds=0.5)), test="handstand", near="right")[-1]
    assert (said.reason, said.near_side, said.side_origin) == (None, "right", "given")


def test_the_other_side_turns_every_sign() -> None:
    def shoulders(near: Side) -> float:
        return told(held(girl(shoulder_px=30)), near=near)[-1].measures[0].value

    assert shoulders("left") == pytest.approx(-shoulders("right"))


def test_a_side_does_not_flicker_with_single_frames() -> None:
    sure, wrong = upside_down(near_log_odds=4.0), upside_down(near_log_odds=-4.0)
    answers = told([*held(sure), wrong, *held(sure)], test="handstand")
    assert {one.near_side for one in answers} == {"left"}
    turned = told([*held(sure), *([wrong] * 8 * A_SECOND)], test="handstand")
    assert turned[-1].near_side == "right"


def test_a_side_that_is_hardly_less_likely_than_the_other_stays() -> None:
    story = [upside_down(near_log_odds=0.6), *([upside_down(near_log_odds=-0.5)] * 8 * A_SECOND)]
    assert {one.near_side for one in told(story, test="handstand")} == {"left"}


def test_who_looks_turned_over_is_asked_for_the_test() -> None:
    last = told(held(straight_girl(near_log_odds=-4.0)))[-1]
    assert last.reason == "turned-over"
    assert "on her back" in last.headline


def test_another_test_begins_anew() -> None:
    session = LiveSession(TellingWatch([straight_girl()]), CATALOGUE, LIVE)
    for at_s in times(A_SECOND):
        before = session.take(RGB, LiveAsk(at_s, "prone-overhead"))
    after = session.take(RGB, LiveAsk(10.0, "prone-sides"))
    assert (before.tone, after.tone) == ("on", "unknown")
    assert after.chord[-1] == "shoulder"
