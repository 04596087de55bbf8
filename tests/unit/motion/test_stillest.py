import numpy as np

from chordline.core.motion.stillest import find_stillest
from moving_bodies import even_times, film, place_joints, traces_of

NAMES = ("hip_opening_deg", "shoulder_opening_deg")


def test_the_quiet_second_between_two_movements_is_found() -> None:
    t = even_times(8.0)

    def hips(at: np.ndarray) -> np.ndarray:
        return np.where(at < 3.0, 10.0 * at, 30.0) - np.where(at > 5.0, 10.0 * (at - 5.0), 0.0)

    still = find_stillest(traces_of(film(t, place_joints(t, hip=hips))), NAMES, settle_s=1.0)
    assert still is not None
    assert 3.4 < still < 4.6


def test_a_video_shorter_than_that_has_none() -> None:
    t = even_times(0.7)
    traces = traces_of(film(t, place_joints(t)))
    assert find_stillest(traces, NAMES, settle_s=1.0) is None


def test_where_she_is_never_seen_long_enough_there_is_none() -> None:
    t = even_times(4.0)
    xy = place_joints(t)
    xy[np.arange(len(t)) % 30 < 20] = np.nan
    assert find_stillest(traces_of(film(t, xy)), NAMES, settle_s=1.0) is None
