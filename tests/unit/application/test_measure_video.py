import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from application_doubles import PRONE, marks_of
from chordline.application.headway import Silent
from chordline.application.measure_photo import MeasureRequest
from chordline.application.measure_video import VideoRequest
from chordline.application.measurement_json import measurement_from_json
from chordline.application.video_json import video_from_json, video_to_json
from chordline.application.video_measurement import VideoMeasurement
from chordline.application.video_ports import Span
from chordline.application.video_words import hold_in_words
from chordline.core.geometry.angles import Floats
from chordline.errors import BodyNotFoundError, PictureError, WrongUseError
from moving_bodies import Angle, even_times, place_joints, ramp, still
from video_doubles import CATALOGUE, Desk, MadeBody, found, landmarks_of


def lying(seconds: float = 10.0, **angles: Angle) -> MadeBody:
    """Face down, head to the left, left side near."""
    t = even_times(seconds)
    return MadeBody(t, landmarks_of(place_joints(t, **angles)))


def on_hands(seconds: float = 8.0, **angles: Angle) -> MadeBody:
    t = even_times(seconds)
    joints = place_joints(t, heading_deg=-90.0, foot_px=(800.0, 60.0), **angles)
    return MadeBody(t, landmarks_of(joints))


def measure(
    desk: Desk, test: str = "hold-front", span: Span | None = None, **said: object
) -> VideoMeasurement:
    request = VideoRequest(MeasureRequest(test, **said), span or Span())  # type: ignore[arg-type]
    return desk.use_case()(Path("13_clip.mp4"), request, store=desk.store, progress=Silent())


def steps(*parts: tuple[float, float]) -> Angle:
    """An angle that is a value from a time on."""

    def course(t: Floats) -> Floats:
        out = np.zeros(len(t))
        for at, value in parts:
            out = np.where(t >= at, value, out)
        return out

    return course


def test_seconds_and_joint_of_a_sag_are_told() -> None:
    # From 4 s on the hips close by 8 degrees a second: 12 are reached at 5.5 s.
    video = measure(Desk(lying(hip=ramp(4.0, -8.0, -40.0))))
    hold = video.hold
    assert hold is not None
    assert hold.broke_at_s == pytest.approx(5.5, abs=0.2)
    assert hold.where is not None
    assert (hold.where.measure, hold.where.side) == ("hip_opening_deg", -1)
    assert "then the hips went first, closing" in hold_in_words(hold, CATALOGUE)


def test_the_key_frame_is_taken_amid_the_hold() -> None:
    video = measure(Desk(lying(hip=steps((0.0, -70.0), (2.0, 0.0), (7.0, -70.0)))))
    assert video.hold is not None
    assert video.clip.key_s == pytest.approx(4.5, abs=0.6)
    assert video.measurement.measures["hip_opening_deg"].value == pytest.approx(0.0, abs=2.0)


def test_the_record_is_that_of_a_photo_with_hold_and_traces() -> None:
    video = measure(Desk(lying(hip=ramp(4.0, -8.0, -40.0)), cards=(13,)))
    record = json.loads(json.dumps(video_to_json(video)))
    assert record["schema"] == "chordline.measurement/1"
    assert record["photo"] == "13_clip.mp4"
    assert record["card"]["id"] == 13
    assert set(record["hold"]) >= {"seconds", "sd", "broke_at_s", "where"}
    trace = record["traces"]["hip_opening_deg"]
    assert len(trace["t_s"]) == len(trace["value"]) == len(trace["sd"]) > 50
    assert measurement_from_json(record).measures.keys() == video.measurement.measures.keys()
    assert video_to_json(video_from_json(record)) == record


def test_a_trace_follows_the_angle() -> None:
    trace = measure(Desk(lying(hip=ramp(4.0, -4.0, -20.0)))).traces["hip_opening_deg"]
    truth = ramp(4.0, -4.0, -20.0)(trace.t_s)
    assert np.abs(trace.value - truth).max() < 3.0
    assert np.nanmedian(trace.sd) < 6.0


def test_a_lying_test_has_traces_and_no_hold() -> None:
    video = measure(Desk(lying()), "prone-overhead")
    assert video.hold is None
    assert "hip_opening_deg" in video.traces
    assert not any("no seconds" in one for one in video.measurement.cautions)


def test_a_lying_test_is_measured_when_she_is_stillest() -> None:
    def wriggle(t: Floats) -> Floats:
        return np.where((t > 5.0) & (t < 7.0), 0.0, 15.0 * np.sin(4.0 * t))

    video = measure(Desk(lying(hip=wriggle)), "prone-overhead")
    assert 5.3 < video.clip.key_s < 6.7


def test_who_is_never_in_shape_gets_no_seconds_and_the_reason() -> None:
    video = measure(Desk(lying(hip=still(-80.0))))
    assert video.hold is None
    assert any("never in the shape of this test: no seconds" in c for c in cautions(video))


def test_standing_about_before_a_handstand_is_no_hold() -> None:
    def turn(t: Floats) -> Floats:
        # Upright for five seconds, on the hands from the sixth on.
        return np.where(t < 5.0, 180.0, np.where(t < 6.0, 180.0 * (6.0 - t), 0.0))

    t = even_times(9.0)
    joints = place_joints(t, heading_deg=-90.0, foot_px=(800.0, 500.0), turn=turn)
    video = measure(Desk(MadeBody(t, landmarks_of(joints))), "handstand")
    assert video.hold is not None
    assert video.hold.began_at_s > 5.3
    assert video.clip.key_s > 6.0


def test_a_back_roll_is_measured_where_it_arrives() -> None:
    def turn(t: Floats) -> Floats:
        return np.where(t < 3.0, 90.0, np.clip(90.0 - 90.0 * (t - 3.0), 0.0, 90.0))

    video = measure(Desk(on_hands(7.0, turn=turn)), "back-roll-handstand")
    assert video.clip.arrived_s == pytest.approx(4.0, abs=0.3)
    assert video.clip.key_s == pytest.approx(4.2, abs=0.4)


def test_a_roll_that_never_arrives_says_how_near_it_came() -> None:
    video = measure(Desk(on_hands(turn=still(25.0))), "back-roll-handstand")
    assert video.clip.arrived_s is None
    assert any(
        "never arrives within 10° of the vertical (closest: 25°)" in c for c in cautions(video)
    )


def cautions(video: VideoMeasurement) -> tuple[str, ...]:
    return video.measurement.cautions


def test_frames_in_which_she_is_lost_are_told() -> None:
    body = lying()
    body.line_px[100:130] = np.nan
    video = measure(Desk(body))
    assert video.clip.seen_share == pytest.approx(0.9)
    assert any("not found in 10% of the frames" in one for one in cautions(video))


def test_who_is_never_found_is_a_refusal() -> None:
    body = lying()
    body.line_px[:] = np.nan
    with pytest.raises(BodyNotFoundError, match=r"13_clip\.mp4: no body was found"):
        measure(Desk(body))


def test_her_key_frame_is_hers_though_somebody_longer_stands_beside() -> None:
    desk = Desk(lying())
    other = landmarks_of(place_joints(np.zeros(1), foot_px=(1400.0, 200.0)))[0] / 4.0
    desk.poses.others = (found(other * 1.3),)
    video = measure(desk)
    assert video.measurement.landmarks["hip"].y_px == pytest.approx(600.0, abs=10.0)


def test_a_key_frame_in_which_only_somebody_else_is_found_is_refused() -> None:
    desk = Desk(lying())
    other = landmarks_of(place_joints(np.zeros(1), foot_px=(1400.0, 200.0)))[0] / 4.0
    desk.poses.others, desk.poses.blind = (found(other),), True
    with pytest.raises(BodyNotFoundError):
        measure(desk)


def test_the_near_side_is_what_all_frames_say_together() -> None:
    body = on_hands()
    video = measure(Desk(replace(body, near="right")), "handstand")
    assert video.measurement.near_side == "right"
    assert video.measurement.front_origin == "guessed"


def test_a_near_side_that_no_frame_is_sure_of_is_doubted() -> None:
    video = measure(Desk(replace(on_hands(), log_odds=0.2)), "handstand")
    assert not video.measurement.trust.accepted
    assert video.held(timing_rel_sd=0.02) is None


def test_the_coachs_word_on_the_near_side_wins() -> None:
    video = measure(Desk(on_hands()), "handstand", near_side="right")
    assert video.measurement.near_side == "right"
    assert video.measurement.front_origin == "given"


def test_what_was_measured_is_not_measured_again() -> None:
    desk = Desk(lying())
    first = measure(desk)
    shown = desk.tracker.frames_shown
    second = measure(desk)
    assert desk.tracker.frames_shown == shown
    assert video_to_json(second) == json.loads(json.dumps(video_to_json(first)))


def test_another_test_of_the_same_video_uses_the_same_landmarks() -> None:
    desk = Desk(lying())
    measure(desk, "hold-front")
    shown = desk.tracker.frames_shown
    measure(desk, "hold-head")
    assert desk.tracker.frames_shown == shown


class StopAfter:
    """Progress that cancels."""

    def __init__(self, steps: int) -> None:
        self.left = steps

    def start(self, total: int) -> None:
        self.total = total

    def step(self, label: str) -> None:
        self.left -= 1
        if self.left == 0:
            raise KeyboardInterrupt


def test_a_stopped_run_goes_on_after_the_last_piece_and_ends_the_same() -> None:
    whole = measure(Desk(lying(hip=ramp(4.0, -8.0, -40.0))))
    desk = Desk(lying(hip=ramp(4.0, -8.0, -40.0)))
    request = VideoRequest(MeasureRequest("hold-front"))
    with pytest.raises(KeyboardInterrupt):
        desk.use_case()(Path("13_clip.mp4"), request, store=desk.store, progress=StopAfter(10))
    before = desk.tracker.frames_shown
    assert 120 <= before < 300
    resumed = measure(desk)
    assert desk.tracker.frames_shown - before == 300 - 120
    assert desk.tracker.went_on_after is not None
    assert desk.tracker.went_on_after.t_s[-1] == pytest.approx(119.0 / 30.0)
    assert video_to_json(resumed) == video_to_json(whole)


def test_marks_are_for_photos() -> None:
    with pytest.raises(WrongUseError, match="marks belong to one photo"):
        measure(Desk(lying()), marks=marks_of(PRONE))


def test_an_unknown_test_is_named_with_the_known_ones() -> None:
    with pytest.raises(WrongUseError, match="no test is called 'plank'; known are prone-sides"):
        measure(Desk(lying()), "plank")


def test_a_broken_video_is_refused_with_its_reason() -> None:
    desk = Desk(lying())
    with pytest.raises(PictureError, match="copy it from the phone again"):
        desk.use_case()(
            Path("broken.mp4"),
            VideoRequest(MeasureRequest("hold-front")),
            store=desk.store,
            progress=Silent(),
        )


def test_without_weights_it_says_what_to_install() -> None:
    desk = Desk(lying())
    with pytest.raises(BodyNotFoundError, match="'chordline weights' installs them"):
        desk.use_case(without_weights=True)(
            Path("13_clip.mp4"),
            VideoRequest(MeasureRequest("hold-front")),
            store=desk.store,
            progress=Silent(),
        )


def test_several_people_and_none_stands_out_is_a_refusal() -> None:
    desk = Desk(lying())
    line = desk.body.line_px[0]
    desk.tracker.candidates = (found(line), found(line + 400.0))
    with pytest.raises(BodyNotFoundError, match=r"13_clip\.mp4: 2 people were found"):
        measure(desk)
    assert measure(desk, person=1).hold is not None


def test_the_capacities_get_seconds_with_their_error() -> None:
    video = measure(Desk(lying(hip=steps((0.0, -70.0), (2.0, 0.0), (7.0, -70.0)))))
    held = video.held(timing_rel_sd=0.02)
    assert held is not None
    assert (held.source, held.test, held.reached_cap) == ("13_clip.mp4", "hold-front", False)
    assert held.seconds == pytest.approx(5.0, abs=1.0)
    assert 0.02 <= held.rel_sd < 0.2


def test_a_hold_whose_end_was_not_filmed_is_a_least() -> None:
    held = measure(Desk(lying())).held(timing_rel_sd=0.02)
    assert held is not None
    assert held.reached_cap
    assert 8.0 < held.seconds <= 10.0
