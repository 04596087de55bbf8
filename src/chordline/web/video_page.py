"""A video as its page shows it."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from chordline.adapters.printing.sheet_view import LineView, view_line
from chordline.application.club.ports import Tx
from chordline.application.findings_words import upper_first
from chordline.application.mark_editor_json import words_to_json
from chordline.application.measurement_json import measurement_from_json
from chordline.application.wording import SD_95, describe_measurement
from chordline.catalogue.schema import Catalogue, TestEntry
from chordline.core.body.points import CHORD_TO_SHOULDER
from chordline.web.api.video_json import VideoJson
from chordline.web.photo_page import label_of
from chordline.web.video_words import break_sentence, hold_sentence, progress_sentence


@dataclass(frozen=True)
class VideoPage:
    """What the page shows.

    Attributes
    ----------
    video : VideoJson
    test : TestEntry or None
    whose : str
        How she is written in the form's field.
    measures : tuple of LineView
        The judged measures of the best moment.
    catalogue : Catalogue
    """

    video: VideoJson
    test: TestEntry | None
    whose: str
    measures: tuple[LineView, ...]
    catalogue: Catalogue

    @property
    def measured(self) -> bool:
        """Whether there is a line to be shown."""
        return self.video.key_s is not None

    @property
    def title(self) -> str | None:
        """Title of its test."""
        return None if self.test is None else self.test.title

    @property
    def care(self) -> str:
        """The sentence that stands wherever the test is shown."""
        return "" if self.test is None else self.test.care

    @property
    def home(self) -> str:
        """Where the page was probably opened from."""
        return "/look" if self.video.screen_id is None else f"/screens/{self.video.screen_id}"

    @property
    def home_words(self) -> str:
        """What stands on the way back."""
        return "To look at" if self.video.screen_id is None else "Her screen"

    @property
    def can_change(self) -> bool:
        """Whether the form is shown."""
        return self.video.state != "waiting" and (self.video.file_kept or self.measured)

    @property
    def folded(self) -> bool:
        """Whether the form stands behind a word: it was measured well."""
        return self.measured and self.video.state == "measured"

    @property
    def next_words(self) -> str:
        """What is to be done before it can be measured."""
        missing = [] if self.video.gymnast is not None else ["whose it is"]
        missing += [] if self.test is not None else ["which test"]
        say = f"Say {' and '.join(missing)}, trim" if missing else "Trim"
        return f"{say} it to the part that counts, then measure."

    @property
    def begun(self) -> bool:
        """Whether a part of it was read already."""
        progress = self.video.progress
        return progress is not None and (progress.share or 0.0) > 0.0

    @property
    def measure_words(self) -> str:
        """What stands on the button."""
        if not self.video.file_kept:
            return "Move it"
        if self.measured:
            return "Measure again"
        return "Go on measuring" if self.begun and self.video.state == "arrived" else "Measure"

    @property
    def reason(self) -> str:
        """Why it needs a look, as a sentence."""
        reason = upper_first(self.video.reason or "")
        return reason if not reason or reason.endswith(".") else f"{reason}."

    @property
    def progress_words(self) -> str:
        """How far measuring is."""
        progress = self.video.progress
        return progress_sentence(None if progress is None else progress.model_dump())

    @property
    def hold(self) -> dict[str, Any] | None:
        """The hold, if one was seen."""
        return None if self.video.hold is None else self.video.hold.model_dump()

    @property
    def hold_words(self) -> str:
        """The hold in words first."""
        return "" if self.hold is None else f"{hold_sentence(self.hold, self.catalogue)}."

    @property
    def break_words(self) -> str:
        """What broke and when."""
        return "" if self.hold is None else break_sentence(self.hold, self.catalogue)

    @property
    def sway_words(self) -> tuple[str, ...]:
        """How quietly she stood, where that was told."""
        sway = self.video.sway
        words = "" if sway is None else upper_first(sway.words)
        return (words,) if words else ()

    @property
    def cautions(self) -> tuple[str, ...]:
        """What to be careful about, as sentences."""
        told = (upper_first(one) for one in self.video.cautions)
        return tuple(one if one.endswith(".") else f"{one}." for one in told)

    @property
    def jumps(self) -> tuple[tuple[float, str], ...]:
        """Moments that a button leads to."""
        broke_at_s = None if self.hold is None else self.hold["broke_at_s"]
        moments = (
            (self.video.arrived_s, "Where she arrives"),
            (self.video.key_s, "Best moment"),
            (broke_at_s, "Where it breaks"),
        )
        return tuple((at_s, words) for at_s, words in moments if at_s is not None)

    @property
    def filled(self) -> dict[str, str]:
        """What stands in the form."""
        video = self.video
        return {
            "gymnast": self.whose,
            "test": video.test or "",
            "day": "" if video.day is None else video.day.isoformat(),
            "near_side": video.near_side or "",
            "person": "" if video.person is None else str(video.person),
            "from_s": _seconds(video.from_s),
            "to_s": _seconds(video.to_s),
            "keep_file": "1" if video.keep_file else "0",
        }

    @property
    def data(self) -> dict[str, Any]:
        """What the page's script needs."""
        video, test = self.video, self.test
        return {
            "id": video.id,
            "state": video.state,
            "measured": self.measured,
            "file": video.file_kept,
            "duration_s": video.duration_s,
            "rate_hz": video.rate_hz,
            "width_px": video.width_px,
            "height_px": video.height_px,
            "from_s": video.from_s,
            "path": list(CHORD_TO_SHOULDER if test is None else test.chord),
            "order": _order(test),
            "words": words_to_json(self.catalogue)["measures"],
            "broke": self._broke(),
        }

    def _broke(self) -> dict[str, Any] | None:
        hold = self.hold
        if hold is None or not self.break_words:
            return None
        half = SD_95 * hold["sd"]
        at_s = hold["broke_at_s"]
        return {
            "measure": hold["where"]["measure"],
            "at_s": at_s,
            "low_s": at_s - half,
            "high_s": at_s + half,
            "words": self.break_words,
        }


def _order(test: TestEntry | None) -> list[str]:
    """Return the measures of a test, the most telling first: the judged angles, then the rest."""
    if test is None:
        return []
    angles = [name for name in test.judged if name.endswith("_deg")]
    return list(dict.fromkeys((*angles, *test.judged, *test.measures)))


def _seconds(at_s: float | None) -> str:
    return "" if at_s is None else f"{at_s:g}"


def describe_moment(record: Mapping[str, Any] | None, catalogue: Catalogue) -> tuple[LineView, ...]:
    """Return the judged measures of a video's best moment in words."""
    if record is None:
        return ()
    measurement = measurement_from_json(dict(record))
    test = catalogue.tests.get(measurement.test)
    if test is None:
        return ()
    lines = describe_measurement(measurement, test=test, catalogue=catalogue)
    trusted = measurement.trust.accepted
    return tuple(
        view_line(line, line.verdict, trusted=trusted) for line in lines if line.name in test.judged
    )


def read_video_page(tx: Tx, video: VideoJson, catalogue: Catalogue) -> VideoPage:
    """Return what the page shows of a video."""
    kept = tx.videos.measurement(video.id)
    whose = "" if video.gymnast is None else label_of(tx.gymnasts.get(video.gymnast.id))
    return VideoPage(
        video=video,
        test=catalogue.tests.get(video.test or ""),
        whose=whose,
        measures=describe_moment(None if kept is None else kept.record, catalogue),
        catalogue=catalogue,
    )
