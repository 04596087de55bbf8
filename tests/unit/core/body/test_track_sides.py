import numpy as np

from chordline.core.body.track import Track, join_tracks
from chordline.core.body.track_sides import guess_near, split_near_far

N = 60
LEFT = np.linspace(0.0, 900.0, 20).reshape(10, 2)
RIGHT = LEFT + np.array([30.0, 20.0])


def track_of(
    swapped: np.ndarray | None = None, lost: np.ndarray | None = None, labels: float = 1.0
) -> Track:
    """The left side is near; in `swapped` frames the network calls it right."""
    flip = np.zeros(N, bool) if swapped is None else swapped
    sides = np.where(flip[:, None, None, None], np.stack([RIGHT, LEFT]), np.stack([LEFT, RIGHT]))
    sides = sides + np.arange(N)[:, None, None, None] * 0.5
    if lost is not None:
        sides[lost] = np.nan
    return Track(
        t_s=np.arange(N) / 30.0,
        sides_xy_px=sides,
        front_log_odds=np.full(N, 1.5),
        labels_log_odds=np.where(flip, -labels, labels),
        disagreement_pct=np.ones(N),
        region=np.zeros((N, 4)),
    )


def test_the_near_side_stays_the_near_side_when_its_name_flips() -> None:
    swapped = np.zeros(N, bool)
    swapped[[10, 11, 30]] = True
    near, far = split_near_far(track_of(swapped))
    steady, _ = split_near_far(track_of())
    np.testing.assert_allclose(near, steady)
    np.testing.assert_allclose((far - near)[0, 0], RIGHT[0] - LEFT[0])


def test_after_a_gap_the_near_side_is_found_anew() -> None:
    lost = np.zeros(N, bool)
    lost[20:30] = True
    swapped = np.zeros(N, bool)
    swapped[30:] = True
    near, _ = split_near_far(track_of(swapped, lost))
    np.testing.assert_allclose(near[40], LEFT + 20.0)
    assert np.isnan(near[20:30]).all()


def test_single_frames_that_went_wrong_do_not_change_the_near_side() -> None:
    track = track_of()
    odds = track.front_log_odds.copy()
    odds[:20] = -9.0
    wrong = Track(**{**vars(track), "front_log_odds": odds})
    guess = guess_near(wrong)
    assert guess.side == "left"
    assert guess.confidence > 0.9


def test_where_she_is_never_seen_the_near_side_is_a_coin() -> None:
    assert guess_near(track_of(lost=np.ones(N, bool))).confidence == 0.5


def test_pieces_join_to_the_whole() -> None:
    whole = track_of()
    parts = [Track(**{k: v[:25] for k, v in vars(whole).items()})]
    parts.append(Track(**{k: v[25:] for k, v in vars(whole).items()}))
    np.testing.assert_array_equal(join_tracks(parts).sides_xy_px, whole.sides_xy_px)
