"""Which photos a study has, and in which order a coach sees them."""

from collections import Counter

import pytest

from chordline.application.repeatability.pick import Choice, order_for, pick_photos

#: Six gymnasts, four tests, one photo each; one test was photographed of everybody thrice.
MANY = [
    Choice(100 * girl + 10 * place + take, girl, test)
    for girl in range(6)
    for place, test in enumerate(("out", "sides", "overhead", "handstand"))
    for take in range(3 if test == "out" else 1)
]


def test_every_test_is_picked_alike_and_every_gymnast_comes_in() -> None:
    chosen = [one for one in MANY if one.photo_id in pick_photos(MANY, count=12, seed=1)]
    assert set(Counter(one.test for one in chosen).values()) == {3}
    assert {one.gymnast_id for one in chosen} == set(range(6))


def test_no_photo_is_picked_twice_and_all_are_taken_where_there_are_few() -> None:
    picked = pick_photos(MANY[:5], count=12, seed=1)
    assert sorted(picked) == sorted(one.photo_id for one in MANY[:5])


def test_a_seed_says_which_photos_and_another_says_others() -> None:
    assert pick_photos(MANY, count=12, seed=1) == pick_photos(MANY, count=12, seed=1)
    assert pick_photos(MANY, count=12, seed=1) != pick_photos(MANY, count=12, seed=2)


@pytest.mark.parametrize("count", [10, 11, 30])
def test_the_second_time_comes_half_of_the_photos_later_at_least(count: int) -> None:
    photos = range(count)
    order = order_for(photos, coach="Kim", seed=3, twice=True)
    assert sorted((one.photo_id, one.turn) for one in order) == [
        (photo, turn) for photo in photos for turn in (1, 2)
    ]
    place = {(one.photo_id, one.turn): i for i, one in enumerate(order)}
    assert min(place[photo, 2] - place[photo, 1] for photo in photos) >= count // 2


def test_each_coach_has_an_order_of_her_own_that_stays() -> None:
    kim = order_for(range(20), coach="Kim", seed=3, twice=False)
    assert kim == order_for(range(20), coach="Kim", seed=3, twice=False)
    assert kim != order_for(range(20), coach="Lea", seed=3, twice=False)
    assert {one.turn for one in kim} == {1}
