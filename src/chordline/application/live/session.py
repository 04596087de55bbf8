"""One device beside the mat: from a frame to what is told of it. Keeps numbers, never a picture."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from chordline.application.choose import fits_posture
from chordline.application.live.ports import LiveBody, Watch
from chordline.application.live.reading import UP, LiveLine, chord_of, read_line
from chordline.application.live.sides import (
    SideBelief,
    cranial_of,
    looks_turned_over,
    orient,
    weigh_frame,
)
from chordline.application.live.told import LiveMeasure, LiveTold, Reason
from chordline.application.live.wording import say_shape, say_tone, tell_reason
from chordline.application.wording import SD_95
from chordline.catalogue.live import LiveCatalogue, stray_of
from chordline.catalogue.schema import Catalogue, TestEntry
from chordline.conventions import LANDMARKS, Side
from chordline.core.body.measures import unit_of
from chordline.core.body.orientation import Orientation
from chordline.core.body.verdict import Sense
from chordline.core.estimate import Estimate
from chordline.core.motion.live import LiveState, ToneState, change_tone, follow, start_live

#: So many measures are read from three metres away.
MOST_SHOWN = 3
#: Of a camera's step that is stranger than this nothing is concluded [s].
_LONGEST_STEP_S = 1.0


@dataclass(frozen=True)
class LiveAsk:
    """What stands beside a frame.

    Attributes
    ----------
    at_s : float
        When it was taken, by the camera's own clock.
    test : str
    near_side : Side or None
        What the coach said.
    """

    at_s: float
    test: str
    near_side: Side | None = None


@dataclass(frozen=True)
class _Tones:
    """What is shown of the whole shape and of each measure."""

    whole: ToneState
    each: Mapping[str, ToneState]


class LiveSession:
    """What is carried from frame to frame.

    Parameters
    ----------
    watch : Watch
    catalogue : Catalogue
    live : LiveCatalogue
    """

    def __init__(self, watch: Watch, catalogue: Catalogue, live: LiveCatalogue) -> None:
        self._watch = watch
        self._catalogue = catalogue
        self._live = live
        self._at_s: float | None = None
        self._asked: tuple[str, Side | None] = ("", None)
        self._begin()

    def _begin(self) -> None:
        """Forget the shape; who is followed stays."""
        self._belief = SideBelief()
        self._state: LiveState = start_live((len(LANDMARKS), 2))
        self._tones = _Tones(ToneState(), {})

    def take(self, rgb: NDArray[np.uint8], ask: LiveAsk) -> LiveTold:
        """Return what is told of the next frame; `ask.at_s` rises from frame to frame."""
        test = self._catalogue.tests[ask.test]
        step_s = 0.0 if self._at_s is None else ask.at_s - self._at_s
        self._at_s = ask.at_s
        if self._asked != (ask.test, ask.near_side):
            self._asked = (ask.test, ask.near_side)
            self._begin()
        step_s = min(max(step_s, 1e-3), _LONGEST_STEP_S)
        seen = self._watch.see(rgb, at_s=ask.at_s, fits=lambda up: fits_posture(up, UP, test))
        if isinstance(seen, str):
            return self._tell_lost(seen, test, step_s)
        return self._tell_body(seen, test, step_s, ask.near_side, rgb.shape)

    def _tell_lost(self, reason: Reason, test: TestEntry, step_s: float) -> LiveTold:
        """Tell why; what was drawn stays for the moment in which somebody crosses in front."""
        nothing = np.full((len(LANDMARKS), 2), np.nan)
        self._state = follow(self._state, nothing, step_s=step_s, filt=self._live.filter)
        if not np.isfinite(self._state.value).any():
            self._belief = SideBelief()
        self._tone_all({}, test, step_s)
        return LiveTold(
            headline=tell_reason(reason, test),
            look_at="",
            tone="unknown",
            reason=reason,
            landmarks={},
            chord=test.chord,
            near_side=None,
            front=None,
            side_origin="",
            measures=(),
        )

    def _tell_body(
        self,
        body: LiveBody,
        test: TestEntry,
        step_s: float,
        given: Side | None,
        shape: tuple[int, ...],
    ) -> LiveTold:
        self._belief = weigh_frame(self._belief, body.near_log_odds, step_s=step_s, live=self._live)
        told = orient(self._belief, body.xy_px, test=test, given=given)
        self._state = follow(self._state, body.xy_px, step_s=step_s, filt=self._live.filter)
        line = LiveLine(
            xy_px=self._state.value,
            sd_px=body.sd_px,
            near_side=told.near_side,
            width_px=shape[1],
            height_px=shape[0],
        )
        names = self._live.told_of(test)
        read = read_line(
            line,
            test,
            names,
            catalogue=self._catalogue,
            roll_sd_deg=self._live.setting("roll_sd_deg"),
        )
        reason = self._reason(line, told, test, body)
        self._tone_all({} if reason else read, test, step_s)
        measures = () if reason else self._measures(read)
        tone = "unknown" if reason else self._tones.whole.tone
        if reason is None and tone == "unknown":
            reason = "settling"
        return LiveTold(
            headline=tell_reason(reason, test) if reason else say_tone(tone),
            look_at=self._look_at(measures, test),
            tone=tone,
            reason=reason,
            landmarks=_relative(line),
            chord=test.chord,
            near_side=told.near_side,
            front=told.front,
            side_origin=told.origin,
            measures=measures[:MOST_SHOWN],
        )

    def _reason(
        self, line: LiveLine, told: Orientation, test: TestEntry, body: LiveBody
    ) -> Reason | None:
        """Return why the shape of a body that is followed is not told."""
        if not fits_posture(cranial_of(body.xy_px), UP, test):
            return "not-in-position"
        ends = chord_of(line, test)
        chord_px = float(np.linalg.norm(ends[1] - ends[0]))
        size = np.array([line.width_px, line.height_px])
        if chord_px < self._live.setting("least_body_share") * size.max():
            return "too-small"
        margin = self._live.setting("border_share") * chord_px
        if (ends < margin).any() or (ends > size - 1 - margin).any():
            return "cut-off"
        if told.origin == "guessed" and told.confidence < self._live.setting("sure_side"):
            return "which-side"
        if looks_turned_over(self._belief, told, self._live):
            return "turned-over"
        return None

    def _tone_all(self, read: Mapping[str, Estimate], test: TestEntry, step_s: float) -> None:
        """Move every tone on by one frame; what was not read is unknown."""
        rules = self._live.tone_rules
        # However slow the frames come, one alone does not switch a tone.
        step_s = min(step_s, 0.5 * rules.dwell_s)
        strays = {
            name: self._stray(name, read[name].value, test.judged[name]) if read else np.nan
            for name in self._live.told_of(test)
            if name in test.judged and (not read or name in read)
        }
        each = {
            name: change_tone(
                self._tones.each.get(name, ToneState()), stray, step_s=step_s, rules=rules
            )
            for name, stray in strays.items()
        }
        worst = max(strays.values(), default=np.nan)
        whole = change_tone(self._tones.whole, worst, step_s=step_s, rules=rules)
        self._tones = _Tones(whole, each)

    def _stray(self, name: str, value: float, sense: Sense) -> float:
        away = {"closing": max(-value, 0.0), "opening": max(value, 0.0)}.get(sense, abs(value))
        return stray_of(away, self._catalogue.measures[name])

    def _measures(self, read: Mapping[str, Estimate]) -> tuple[LiveMeasure, ...]:
        told = []
        for name, estimate in read.items():
            tone = self._tones.each[name].tone if name in self._tones.each else None
            entry, words = self._catalogue.measures[name], self._live.words[name]
            told.append(
                LiveMeasure(
                    name=name,
                    label=words.label,
                    words=say_shape(estimate.value, entry, words, tone),
                    value=estimate.value,
                    plus_minus=SD_95 * estimate.sd,
                    unit=unit_of(name),
                    tone=tone,
                )
            )
        return tuple(told)

    def _look_at(self, measures: tuple[LiveMeasure, ...], test: TestEntry) -> str:
        """Return what stands farthest from the shape, also where it is not among those shown."""
        away = [one for one in measures if one.tone in ("close", "off")]
        worst = max(
            away,
            key=lambda one: self._stray(one.name, one.value, test.judged[one.name]),
            default=None,
        )
        return "" if worst is None else f"{worst.label} {worst.words}"


def _relative(line: LiveLine) -> dict[str, tuple[float, float]]:
    """Return landmarks as shares of the frame: the page draws at whatever size it has."""
    size = np.array([line.width_px, line.height_px])
    shares = (line.xy_px + 0.5) / size
    return {name: (float(x), float(y)) for name, (x, y) in zip(LANDMARKS, shares, strict=True)}
