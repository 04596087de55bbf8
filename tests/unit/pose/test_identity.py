from chordline.adapters.pose.identity import Whereabouts, is_in_her_place, is_she, stays

WAS = Whereabouts(1.0, (500.0, 300.0), 400.0, 1.5)


def test_the_same_place_and_size_is_she() -> None:
    assert is_she(WAS, Whereabouts(1.1, (520.0, 310.0), 390.0, 1.4))


def test_a_much_larger_or_smaller_body_is_somebody_else() -> None:
    assert not is_she(WAS, Whereabouts(1.1, (500.0, 300.0), 600.0, 1.5))
    assert not is_she(WAS, Whereabouts(1.1, (500.0, 300.0), 250.0, 1.5))


def test_the_farther_away_the_longer_it_must_have_taken() -> None:
    far = (500.0 + 360.0, 300.0)
    assert not is_she(WAS, Whereabouts(1.1, far, 400.0, 1.5))
    assert is_she(WAS, Whereabouts(3.0, far, 400.0, 1.5))


def test_nobody_walks_out_of_her_reach_and_is_her() -> None:
    assert not is_she(WAS, Whereabouts(60.0, (500.0 + 800.0, 300.0), 400.0, 1.5))


def test_who_stands_where_she_lay_is_in_her_place_and_not_she() -> None:
    upright = Whereabouts(1.4, (510.0, 300.0), 420.0, 0.0)
    assert is_in_her_place(WAS, upright)
    assert not is_she(WAS, upright)


def test_directions_are_compared_round_the_circle() -> None:
    was = Whereabouts(1.0, (500.0, 300.0), 400.0, 3.1)
    assert is_she(was, Whereabouts(1.1, (500.0, 300.0), 400.0, -3.1))


def test_who_passes_does_not_stay_and_who_turned_does() -> None:
    there = Whereabouts(2.0, (500.0, 300.0), 400.0, 0.0)
    assert stays(there, Whereabouts(2.4, (510.0, 300.0), 400.0, 0.0))
    assert not stays(there, Whereabouts(2.4, (600.0, 300.0), 400.0, 0.0))
    assert not stays(there, Whereabouts(2.1, (500.0, 300.0), 400.0, 0.0))
