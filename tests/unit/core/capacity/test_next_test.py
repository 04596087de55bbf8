"""Which test is worth doing next."""

import pytest

from chordline.core.capacity.model import Belief
from chordline.core.capacity.next_test import rank_tests, rank_tests_between
from screen_stories import CATALOGUE, FIND, judge, story

MODEL = FIND.model
PRIOR = MODEL.prior(by_hand=True)
MINUTES = {name: test.minutes for name, test in CATALOGUE.tests.items()}
RIVALS = ("hip_extension_deg", "pelvic_tuck_deg")


def after_hips_off() -> Belief:
    return judge(story(prone_sides={"hip": -18})).belief


def test_gains_are_bits_of_yes_or_no_and_ranked_by_the_minute() -> None:
    offers = rank_tests(PRIOR, MODEL, MINUTES)
    rates = [offer.bits_per_minute for offer in offers]
    assert rates == sorted(rates, reverse=True)
    assert all(0.0 <= offer.gain_bits <= len(MODEL.capacities) for offer in offers)
    assert {offer.test for offer in offers} == set(MODEL.by_test)


def test_done_and_blocked_tests_and_tests_without_time_are_not_offered() -> None:
    minutes = {name: time for name, time in MINUTES.items() if name != "prone-out"}
    offers = rank_tests(PRIOR, MODEL, minutes, done=["prone-sides"], blocked=["handstand"])
    assert not {"prone-out", "prone-sides", "handstand"} & {offer.test for offer in offers}
    between = rank_tests_between(
        PRIOR, MODEL, minutes, RIVALS, done=["prone-sides"], blocked=["handstand"]
    )
    assert not {"prone-out", "prone-sides", "handstand"} & {offer.test for offer in between}


def test_a_slower_test_falls_behind() -> None:
    first = rank_tests(PRIOR, MODEL, MINUTES)[0].test
    assert rank_tests(PRIOR, MODEL, {**MINUTES, first: 60.0})[0].test != first


def test_only_what_is_asked_about_counts() -> None:
    about = rank_tests(PRIOR, MODEL, MINUTES, about=["front_chain_s"])
    assert about[0].test == "hold-front"
    assert all(offer.gain_bits == pytest.approx(0.0, abs=1e-9) for offer in about[1:])


def test_hips_off_the_floor_ask_for_the_test_that_tells_length_from_control() -> None:
    offers = rank_tests_between(after_hips_off(), MODEL, MINUTES, RIVALS, done=["prone-sides"])
    assert offers[0].test == "supine-braced"


def test_seeing_the_hips_off_the_floor_once_more_tells_the_two_no_more_apart() -> None:
    gains = {
        offer.test: offer.gain_bits
        for offer in rank_tests_between(after_hips_off(), MODEL, MINUTES, RIVALS)
    }
    assert gains["prone-out"] < 0.1 * gains["supine-braced"]


def test_what_is_settled_is_not_asked_again() -> None:
    def gain(belief: Belief) -> float:
        offers = rank_tests(belief, MODEL, MINUTES, about=["shoulder_flexion_deg"])
        return {offer.test: offer.gain_bits for offer in offers}["prone-overhead"]

    closed = judge(story(prone_overhead={"shoulder": -40}, prone_raised={})).belief
    assert gain(PRIOR) > 0.3
    assert gain(closed) < 0.01
