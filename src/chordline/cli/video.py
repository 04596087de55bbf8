"""Videos on the command line: measured under a bar, told in words."""

from collections.abc import Sequence
from pathlib import Path

import typer

from chordline.adapters.media.video_kind import is_video_file
from chordline.adapters.media.video_store import FolderVideoStore
from chordline.application.measure_photo import MeasureRequest
from chordline.application.measure_video import VideoRequest
from chordline.application.video_measurement import VideoMeasurement
from chordline.application.video_ports import Span
from chordline.application.video_sway import sway_to_json
from chordline.application.video_words import hold_in_words, sway_in_words
from chordline.bootstrap import App
from chordline.catalogue.schema import Catalogue
from chordline.cli.console import complain, progress_bar
from chordline.errors import WrongUseError


def find_films(files: Sequence[Path], span: Span) -> frozenset[Path]:
    """Return the files that are videos; raise `WrongUseError` where a photo is to be trimmed."""
    films = frozenset(path for path in files if is_video_file(path))
    photos = [path.name for path in files if path not in films]
    if photos and (span.from_s is not None or span.to_s is not None):
        raise WrongUseError(f"--from and --to trim videos; {photos[0]} is none")
    return films


def measure_film(app: App, path: Path, request: MeasureRequest, span: Span) -> VideoMeasurement:
    """Measure a video under a progress bar; Ctrl-C keeps what was read of it."""
    use_case = app.measure_video()
    store = FolderVideoStore(path.parent)
    try:
        with progress_bar("Following her") as bar:
            return use_case(path, VideoRequest(request, span), store=store, progress=bar)
    except KeyboardInterrupt:
        complain("Stopped. What was read is kept; the same command goes on from here.")
        raise typer.Exit(130) from None


def tell_video(video: VideoMeasurement, catalogue: Catalogue) -> list[str]:
    """Return what only a video shows, as lines for a terminal."""
    told = []
    if video.clip.arrived_s is not None:
        told.append(f"Arrives {video.clip.arrived_s:.1f} s into the video")
    if video.hold is not None:
        told.append(f"Hold: {hold_in_words(video.hold, catalogue)}")
    if video.sway is not None:
        told.append(f"Balance: {sway_in_words(sway_to_json(video.sway))}")
    told.append(f"Measured at {video.clip.key_s:.1f} s of the video")
    return [*told, *(f"Note: {caution}" for caution in video.measurement.cautions)]
