import numpy as np
import pytest

from chordline.core.capacity.observed import Gathered, Observed, gather
from chordline.core.progress.filter import know_now, look_ahead
from chordline.core.progress.smoother import smooth_timelines
from chordline.core.progress.timeline import (
    Marker,
    ScreenAt,
    Step,
    Timeline,
    plain_timeline,
)
from chordline.core.progress.timeline_layout import Plan, lay_out
from progress_squads import AUTO, HAND, MODEL, K, N, place

HIP = place("hip_extension_deg")
NOTHING = gather(MODEL.capacities, [])
QUIET = Step.quiet(N)


def gathered_hip(value_deg: float, test: str = "prone-sides") -> Gathered:
    observed = Observed(
        f"{test}.jpg", test, ("hip_opening_deg",), np.array([value_deg]), np.array([[4.0]])
    )
    return gather(MODEL.capacities, [observed])


def hip(day: int, value_deg: float, marker: Marker = HAND) -> ScreenAt:
    return ScreenAt(day, gathered_hip(value_deg), marker)


def test_a_timeline_needs_a_screen() -> None:
    with pytest.raises(ValueError, match="at least one screen"):
        plain_timeline(MODEL, ())


def test_days_that_go_back_are_refused() -> None:
    with pytest.raises(ValueError, match="oldest first"):
        plain_timeline(MODEL, (hip(9, 0.0), hip(3, 0.0)))


def test_two_screens_of_one_day_are_refused() -> None:
    with pytest.raises(ValueError, match="two screens on day 9"):
        plain_timeline(MODEL, (hip(9, 0.0), hip(9, 0.0)))


def test_a_step_is_missing() -> None:
    with pytest.raises(ValueError, match="2 screens have 1 steps"):
        Timeline((hip(1, 0.0), hip(2, 0.0)), ())


@pytest.mark.parametrize(
    ("step", "why"),
    [
        (Step(np.full(N, np.nan), np.zeros(N)), "drift"),
        (Step(np.zeros(N), np.full(N, -1.0)), "drift"),
        (Step(np.zeros(N), np.zeros(N), 0.5), "growth"),
        (Step(np.zeros(N), np.zeros(N), np.nan), "growth"),
    ],
)
def test_steps_that_cannot_be_are_refused(step: Step, why: str) -> None:
    with pytest.raises(ValueError, match=why):
        Timeline((hip(1, 0.0), hip(2, 0.0)), (step,))


def test_a_share_beyond_the_whole_is_refused() -> None:
    with pytest.raises(ValueError, match="between 0 and 1"):
        Marker("hand", np.ones(K), np.full(K, 1.1))


def test_two_markers_of_one_name_are_refused() -> None:
    other = Marker("hand", HAND.offset_sds * 2.0, HAND.lasting_shares)
    timeline = plain_timeline(MODEL, (hip(1, 0.0), hip(2, 0.0, other)))
    with pytest.raises(ValueError, match="two different markers"):
        smooth_timelines(MODEL, [timeline])


def test_the_same_marker_built_twice_is_one() -> None:
    again = Marker("hand", HAND.offset_sds.copy(), HAND.lasting_shares.copy())
    assert lay_out(MODEL, (hip(1, 0.0), hip(2, 0.0, again))).markers == (HAND,)


def test_a_misfit_lasts_only_where_a_second_screen_can_share_it() -> None:
    once = (hip(1, 0.0), ScreenAt(2, gathered_hip(0.0, "prone-out"), HAND))
    assert lay_out(MODEL, once).misfits == ()
    pair = ("prone-sides", "hip_opening_deg")
    assert lay_out(MODEL, (hip(1, 0.0), hip(2, 0.0))).misfits == (pair,)
    assert lay_out(MODEL, once, Plan((pair, pair), HAND)).misfits == (pair,)


def test_a_club_without_gymnasts_has_no_curves() -> None:
    assert smooth_timelines(MODEL, []) == ()


def test_a_screen_of_nothing_alone_leaves_what_was_believed_before() -> None:
    curve = smooth_timelines(MODEL, [plain_timeline(MODEL, (ScreenAt(3, NOTHING, HAND),))])[0]
    prior = MODEL.capacities.prior(by_hand=True)
    np.testing.assert_allclose(curve.mean[0], prior.mean[:N])
    np.testing.assert_allclose(curve.sd[0], prior.sd[:N])


def test_a_later_screen_tells_of_an_earlier_day_too() -> None:
    screens = (ScreenAt(0, NOTHING, HAND), hip(7, -25.0))
    curve = smooth_timelines(MODEL, [plain_timeline(MODEL, screens)])[0]
    prior = MODEL.capacities.prior(by_hand=True)
    assert curve.mean[0, HIP] > prior.mean[HIP] + 3.0
    assert curve.sd[0, HIP] < prior.sd[HIP]


def test_an_offset_that_lasts_cancels_in_a_change() -> None:
    """Two screens tell a change better where the marks' offset is the same in both."""

    def sd_of_change(share: float) -> float:
        marker = Marker("hand", HAND.offset_sds, np.full(K, share))
        timeline = plain_timeline(MODEL, (hip(0, -10.0, marker), hip(60, -10.0, marker)))
        curve = smooth_timelines(MODEL, [timeline])[0]
        shared = curve.shared(0, 1)[HIP, HIP]
        return float(np.sqrt(curve.sd[0, HIP] ** 2 + curve.sd[1, HIP] ** 2 - 2.0 * shared))

    assert sd_of_change(1.0) < sd_of_change(0.5) < sd_of_change(0.0)


def test_other_marks_make_a_change_harder_to_see() -> None:
    def sd_of_change(second: Marker) -> float:
        timeline = plain_timeline(MODEL, (hip(0, -10.0), hip(60, -10.0, second)))
        curve = smooth_timelines(MODEL, [timeline])[0]
        shared = curve.shared(0, 1)[HIP, HIP]
        return float(np.sqrt(curve.sd[0, HIP] ** 2 + curve.sd[1, HIP] ** 2 - 2.0 * shared))

    assert sd_of_change(HAND) < sd_of_change(AUTO)


def test_growth_and_doubt_about_training_make_the_older_screen_count_less() -> None:
    def sd_today(step: Step) -> float:
        screens = (hip(0, -10.0), ScreenAt(90, NOTHING, HAND))
        curve = smooth_timelines(MODEL, [Timeline(screens, (step,))])[0]
        return float(curve.sd[1, HIP])

    assert sd_today(Step(np.zeros(N), np.zeros(N), 2.0)) > sd_today(QUIET)
    assert sd_today(Step(np.zeros(N), np.full(N, 9.0))) > sd_today(QUIET)


def test_what_training_should_do_moves_the_curve() -> None:
    screens = (hip(0, -20.0), ScreenAt(60, NOTHING, HAND))
    drift = np.zeros(N)
    drift[HIP] = -6.0
    curve = smooth_timelines(MODEL, [Timeline(screens, (Step(drift, np.zeros(N)),))])[0]
    assert curve.mean[1, HIP] == pytest.approx(curve.mean[0, HIP] - 6.0)


def test_the_look_ahead_is_the_next_screens_belief_before_its_tests() -> None:
    step = Step(np.full(N, -2.0), np.full(N, 1.0), 1.5)
    first = hip(0, -20.0)
    known = know_now(MODEL, plain_timeline(MODEL, (first,)))
    ahead = look_ahead(MODEL, known, step, days=40)
    screens = (first, ScreenAt(40, NOTHING, HAND))
    curve = smooth_timelines(MODEL, [Timeline(screens, (step,))])[0]
    np.testing.assert_allclose(ahead.mean, curve.mean[1])
    np.testing.assert_allclose(ahead.covariance, curve.covariance[1], atol=1e-12)


def test_a_measure_that_is_no_number_is_refused() -> None:
    good = gathered_hip(-5.0)
    values = np.array([np.nan])
    evidence = type(good.evidence)(
        values, good.evidence.matrix, good.evidence.intercepts, good.evidence.noise
    )
    bad = ScreenAt(0, Gathered(evidence, (), good.labels, ()), HAND)
    with pytest.raises(ValueError, match="no number"):
        smooth_timelines(MODEL, [plain_timeline(MODEL, (bad,))])
