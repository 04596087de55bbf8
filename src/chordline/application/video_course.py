"""From a track to traces, hold and arrival, and the moment that is worth measuring."""

from dataclasses import dataclass, replace

import numpy as np

from chordline.application.choose import choose_card, fits_posture
from chordline.application.key_frame import KeyFrame
from chordline.application.video_sway import SwayTold, sway_of_hold
from chordline.application.viewpoint import read_scene
from chordline.catalogue.motion import MotionCatalogue
from chordline.catalogue.schema import Catalogue, TestEntry
from chordline.catalogue.segments import our_segments
from chordline.conventions import LANDMARKS, Side, facing_of
from chordline.core.body.measurement import Measurement
from chordline.core.body.points import BodyPoints
from chordline.core.body.track import Track
from chordline.core.body.track_sides import NearSide, split_near_far
from chordline.core.estimate import Estimate
from chordline.core.geometry.angles import Floats
from chordline.core.geometry.plane import PlaneFrame
from chordline.core.motion.arrival import LINE, Arrival, find_arrival
from chordline.core.motion.course import Footage, smooth_footage
from chordline.core.motion.frame_noise import average_turns, estimate_frame_noise
from chordline.core.motion.hold import Hold
from chordline.core.motion.holds import find_hold
from chordline.core.motion.shape import ShapeLimit
from chordline.core.motion.stillest import find_stillest
from chordline.core.motion.traces import Traces, trace_measures
from chordline.core.motion.untold import Untold

#: The test whose moment is the arrival on the hands.
_ARRIVES = "back-roll-handstand"
#: Random error where the frames do not tell it [% of her length]; half a pixel of the network's
#: picture, as one look has on rendered bodies.
_FLOOR_PCT = 0.2
#: The tracker looks straight and mirrored by turns: the two differ by degrees, each alone scatters
#: by half a degree.
_WAYS_OF_LOOKING = 2
_CURVES = ("trunk_hollow_deg", "upper_back_hollow_deg", "lower_back_hollow_deg")
_STILL_OF = ("hip_opening_deg", "shoulder_opening_deg", "knee_opening_deg")


@dataclass(frozen=True)
class VideoCourse:
    """What a track tells once it is known where she faces and where up is."""

    traces: Traces
    hold: Hold | Untold | None
    arrival: Arrival | Untold | None
    sway: SwayTold | None = None


class ReadCourse:
    """Reads a track: by the catalogue's limits and rules."""

    def __init__(self, catalogue: Catalogue, motion: MotionCatalogue) -> None:
        self._catalogue = catalogue
        self._motion = motion

    def __call__(
        self,
        track: Track,
        *,
        test: TestEntry,
        name: str,
        near: NearSide,
        side: Side,
        key: KeyFrame | None,
    ) -> VideoCourse:
        """Return traces, hold and arrival; without a key frame as of a level phone."""
        setting = self._motion.setting
        frame, measurement = PlaneFrame.of_level_phone(), None
        if key is not None:
            measurement = key.measurement
            card, _ = choose_card(key.cards, measurement.card.id if measurement.card else None)
            frame = read_scene(key.photo, card, self._catalogue).frame
        nearer, farther = split_near_far(track)
        line = nearer if side == near.side else farther
        length = _length_px(line)
        noise = estimate_frame_noise(
            track.t_s, line, window_s=setting("noise_window_s"), stride=_WAYS_OF_LOOKING
        )
        sd_px = np.fmax(noise, 0.01 * _FLOOR_PCT * length)
        footage = Footage(
            BodyPoints(
                names=LANDMARKS,
                xy_px=average_turns(line),
                facing=float(facing_of(side)),
                chord=test.chord_among(LANDMARKS),
                frame=frame,
            ),
            track.t_s,
            sd_px,
        )
        arrives = name == _ARRIVES
        course = smooth_footage(
            footage,
            cutoff_hz=setting("arrival_cutoff_hz" if arrives else "hold_cutoff_hz"),
            bridge_s=setting("bridge_s"),
            memory_s=setting("landmark_memory_s"),
        )
        limits = self._motion.limits_of(test.group)
        if isinstance(course, Untold):
            return VideoCourse(_no_traces(), course if limits else None, None)
        traces = trace_measures(
            course,
            self._traced(test, limits),
            definition_sd_px=self._definition_px(length, measurement),
            other_common_sd=_common_of(measurement),
        )
        hold = find_hold(traces, limits, self._motion.hold_rules) if limits else None
        arrival = None
        if arrives:
            names = [one for one in test.measures if one in traces.of]
            arrival = find_arrival(traces, names, self._motion.arrival_rules)
        sway = None
        if key is not None and test.group == "hands" and isinstance(hold, Hold):
            sway = sway_of_hold(
                footage,
                hold,
                motion=self._motion,
                segments=our_segments(),
                m_per_px=_scale_of(key.measurement),
            )
        return VideoCourse(traces, hold, arrival, sway)

    @staticmethod
    def _traced(test: TestEntry, limits: tuple[ShapeLimit, ...]) -> tuple[str, ...]:
        """Return the measures to follow: the test's that landmarks carry, and the limits'."""
        of_joints = [
            one for one in test.measures if one not in _CURVES and not one.startswith("seam_")
        ]
        extra = (LINE,) if test.group == "hands" else ()
        return tuple(dict.fromkeys([*of_joints, *(one.measure for one in limits), *extra]))

    def _definition_px(self, length_px: float, measurement: Measurement | None) -> Floats:
        """Return the error of each landmark that all frames share: its joint's, and the network's.

        The second is what the key frame says of it: other looks at the same picture share it.
        """
        share = 0.01 * self._catalogue.setting("auto_definition_pct") * length_px
        if measurement is None:
            return np.full(len(LANDMARKS), share)
        marks = measurement.landmarks
        own = [marks[name].sd_px if name in marks else 0.0 for name in LANDMARKS]
        return np.hypot(share, own)

    def best_moment(self, course: VideoCourse, track: Track, test: TestEntry) -> float:
        """Return when to take the frame: amid the hold, on arrival, or when she is stillest."""
        if isinstance(course.arrival, Arrival):
            return course.arrival.at_s + 0.5 * self._motion.setting("arrival_settle_s")
        if isinstance(course.hold, Hold):
            return course.hold.began_at_s + 0.5 * course.hold.seconds
        names = [one for one in _STILL_OF if one in course.traces.of]
        fitting = self._fitting(course.traces, track, test)
        still = find_stillest(fitting, names, settle_s=self._motion.setting("settle_s"))
        if still is None:
            still = find_stillest(course.traces, names, settle_s=self._motion.setting("settle_s"))
        return still if still is not None else float(np.median(track.t_s[track.seen]))

    @staticmethod
    def _fitting(traces: Traces, track: Track, test: TestEntry) -> Traces:
        """Return the traces without the times at which her trunk lies unlike in the test."""
        line, _ = split_near_far(track)
        hip, shoulder = LANDMARKS.index("hip"), LANDMARKS.index("shoulder")
        up = PlaneFrame.of_level_phone().up
        seen = np.flatnonzero(track.seen)
        if not len(traces.t_s) or not len(seen):
            return traces
        fits = np.array([fits_posture(one[shoulder] - one[hip], up, test) for one in line[seen]])
        at = np.clip(np.searchsorted(track.t_s[seen], traces.t_s), 0, len(seen) - 1)
        left = fits[at]
        return replace(
            traces,
            of={
                name: replace(one, value=np.where(left, one.value, np.nan))
                for name, one in traces.of.items()
            },
        )


def _length_px(line: Floats) -> float:
    """Return her median length from malleolus to shoulder and hand along the body [px]."""
    chain = line[:, [LANDMARKS.index(n) for n in ("malleolus", "knee", "hip", "shoulder", "wrist")]]
    links = np.linalg.norm(np.diff(chain, axis=1), axis=-1)
    return float(np.nanmedian(links.sum(axis=1)))


def _scale_of(measurement: Measurement) -> Estimate | None:
    scale = measurement.scale
    return None if scale is None else Estimate(scale.m_per_px, scale.m_per_px * scale.sd_rel)


def _common_of(measurement: Measurement | None) -> dict[str, float]:
    """Return what the phone's place may cost each measure, as the key frame says it."""
    if measurement is None:
        return {}
    return {
        name: float(
            np.sqrt(
                sum(sd**2 for term, sd in one.systematic.items() if term != "landmark_definition")
            )
        )
        for name, one in measurement.measures.items()
    }


def _no_traces() -> Traces:
    empty = np.empty(0)
    return Traces(t_s=empty, of={}, cutoff_hz=0.0, rate_hz=1.0, correlation=np.ones(1))
