"""Real networks on made videos: who is followed, when the shape breaks, what is found again."""

import json
import shutil
from collections.abc import Iterator
from pathlib import Path

import cv2
import numpy as np
import pytest
from typer.testing import CliRunner

from chordline.adapters.media.video_reader import AvVideoReader
from chordline.application.video_ports import Span
from chordline.bootstrap import App, build_app
from chordline.cli.main import app as command_line
from chordline.conventions import LANDMARKS
from chordline.core.body.track import Track, join_tracks
from chordline.core.body.track_sides import split_near_far
from made_videos import (
    Pixels,
    Shown,
    club_picture,
    even_times,
    film,
    in_a_hand,
    uneven_times,
    write_video,
)

pytestmark = [pytest.mark.weights, pytest.mark.slow]

STRAIGHT, BENT = "13_supine-overhead", "13_dish-overhead"
#: When the hips have closed half way from the one picture to the other, beyond the limit.
BREAK_S = 3.5
LONG_S = BREAK_S + 2.0
HIP = LANDMARKS.index("hip")


@pytest.fixture(scope="module")
def app() -> App:
    return build_app()


def breaking(times_s: np.ndarray) -> Iterator[tuple[float, Pixels]]:
    """Straight, then within a quarter of a second bent at the hips by 22 degrees."""
    shown = [Shown(0.0, club_picture(STRAIGHT)), Shown(BREAK_S, club_picture(BENT), 0.1)]
    return film(shown, times_s, drift_px=in_a_hand)


def measured(path: Path, *options: str) -> dict[str, object]:
    done = CliRunner().invoke(command_line, ["measure", str(path), "--json", *options])
    assert done.exit_code == 0, done.stderr
    return dict(json.loads(done.stdout))


@pytest.fixture(scope="module")
def screened(tmp_path_factory: pytest.TempPathFactory) -> dict[str, dict[str, object]]:
    """Records of a folder with a photo and the hold that breaks, at an even rate."""
    folder = tmp_path_factory.mktemp("screened")
    shutil.copy(chordline_club("13_prone-overhead"), folder)
    write_video(folder / "13_hold-back.mp4", breaking(even_times(LONG_S)))
    done = CliRunner().invoke(command_line, ["screen", str(folder), "--json", "--no-sheets"])
    assert done.exit_code == 0, done.stderr
    records = [json.loads(line) for line in done.stdout.splitlines()]
    return {one["photo"]: one for one in records if "photo" in one}


@pytest.fixture
def evenly(screened: dict[str, dict[str, object]]) -> dict[str, object]:
    return screened["13_hold-back.mp4"]


@pytest.fixture
def unevenly(tmp_path: Path) -> dict[str, object]:
    path = write_video(tmp_path / "13_hold-back.mp4", breaking(uneven_times(LONG_S)))
    return measured(path, "--test", "hold-back")


@pytest.mark.parametrize("rate", ["evenly", "unevenly"])
def test_the_moment_of_a_break_is_told_within_a_fifth_of_a_second(
    rate: str, request: pytest.FixtureRequest
) -> None:
    record = request.getfixturevalue(rate)
    hold = record["hold"]
    assert hold["broke_at_s"] == pytest.approx(BREAK_S, abs=0.2)
    assert hold["where"] == {"measure": "hip_opening_deg", "side": "closing"}
    assert record["card"]["id"] == 13


def test_a_phone_on_its_side_changes_nothing(tmp_path: Path) -> None:
    lying = ((t, np.rot90(rgb, -1)) for t, rgb in breaking(even_times(LONG_S)))
    path = write_video(tmp_path / "13_hold-back.mov", lying, rotation_deg=90)
    record = measured(path, "--test", "hold-back")
    assert record["image"]["width_px"] == 960  # type: ignore[index]
    assert record["hold"]["broke_at_s"] == pytest.approx(BREAK_S, abs=0.2)  # type: ignore[index]


def test_the_key_frame_reads_as_the_photo_does(tmp_path: Path, app: App) -> None:
    from chordline.application.measure_photo import MeasureRequest  # noqa: PLC0415

    shown = [Shown(0.0, club_picture("13_handstand"))]
    path = write_video(tmp_path / "13_handstand.mp4", film(shown, even_times(2.0)))
    record = measured(path, "--test", "handstand")
    photo = app.measure_photo()(Path(chordline_club("13_handstand")), MeasureRequest("handstand"))
    for name in ("shoulder_opening_deg", "hip_opening_deg"):
        at_key = record["measures"][name]["value"]  # type: ignore[index]
        assert at_key == pytest.approx(photo.measures[name].value, abs=3.0)
        trace = record["traces"][name]["value"]  # type: ignore[index]
        assert float(np.median(trace)) == pytest.approx(photo.measures[name].value, abs=5.0)


def chordline_club(name: str) -> str:
    from made_videos import CLUB  # noqa: PLC0415

    return str(CLUB / f"{name}.jpg")


def tracked(app: App, path: Path) -> Track:
    assert app.tracker is not None
    video = AvVideoReader(longest_s=300.0).open(path, Span())
    return join_tracks(list(app.tracker.follow(video.frames(), lambda bodies: bodies[0])))


def hips(track: Track) -> np.ndarray:
    line, _ = split_near_far(track)
    return line[:, HIP]


def test_a_body_that_moves_and_grows_is_followed(tmp_path: Path, app: App) -> None:
    still = club_picture("13_handstand")

    def frames() -> Iterator[tuple[float, Pixels]]:
        for t in even_times(3.0):
            turn = cv2.getRotationMatrix2D((480, 360), 12.0 * np.sin(t), 0.85 + 0.08 * t)
            turn[0, 2] += 80.0 * np.sin(1.5 * t)
            yield (
                float(t),
                cv2.warpAffine(still, turn, (960, 720), borderMode=cv2.BORDER_REPLICATE),
            )

    track = tracked(app, write_video(tmp_path / "a.mp4", frames()))
    assert track.seen.mean() > 0.97
    truth = []
    at_rest = hips(track)[0]
    start = cv2.getRotationMatrix2D((480, 360), 0.0, 0.85)
    at_rest = np.linalg.solve(start[:, :2], at_rest - start[:, 2])
    for t in track.t_s:
        turn = cv2.getRotationMatrix2D((480, 360), 12.0 * np.sin(t), 0.85 + 0.08 * t)
        turn[0, 2] += 80.0 * np.sin(1.5 * t)
        truth.append(turn[:, :2] @ at_rest + turn[:, 2])
    off = np.linalg.norm(hips(track) - truth, axis=1)
    assert np.nanpercentile(off, 90) < 12.0


def walker(width: int = 300) -> tuple[Pixels, np.ndarray]:
    """Somebody upright, cut out of a handstand turned over, and where she covers the picture."""
    upside = club_picture("15_handstand")[::-1]
    grey = cv2.cvtColor(upside, cv2.COLOR_RGB2GRAY).astype(int)
    column = slice(480 - width // 2, 480 + width // 2)
    empty = cv2.cvtColor(club_picture("15_prone-sides")[::-1], cv2.COLOR_RGB2GRAY).astype(int)
    cover = (np.abs(grey - empty) > 18)[:, column].astype(np.uint8)
    cover = cv2.morphologyEx(cover, cv2.MORPH_CLOSE, np.ones((15, 15), np.uint8)).astype(bool)
    return upside[:, column], cover


def test_somebody_who_walks_through_does_not_take_over(tmp_path: Path, app: App) -> None:
    her = club_picture("13_prone-overhead")
    person, cover = walker()

    def frames() -> Iterator[tuple[float, Pixels]]:
        for number, t in enumerate(even_times(4.0)):
            rgb = her.copy()
            left = -300 + 14 * number
            first, last = max(0, left), min(960, left + 300)
            if first < last:
                part = slice(first - left, last - left)
                mask = cover[:, part]
                rgb[:, first:last][mask] = person[:, part][mask]
            yield float(t), rgb

    track = tracked(app, write_video(tmp_path / "a.mp4", frames()))
    seen = track.seen
    assert seen[:10].all()
    assert seen[-10:].all()
    place = hips(track)
    assert np.linalg.norm(place[seen] - place[0], axis=1).max() < 60.0


def test_who_is_covered_for_a_second_is_found_again(tmp_path: Path, app: App) -> None:
    her, wall = club_picture("13_prone-overhead"), np.full((720, 960, 3), 120, np.uint8)
    shown = [Shown(0.0, her), Shown(1.0, wall), Shown(2.0, her)]
    track = tracked(app, write_video(tmp_path / "a.mp4", film(shown, even_times(3.5))))
    assert track.seen[:28].all()
    assert not track.seen[32:58].any()
    assert track.seen[68:].all()


def test_a_folder_with_a_video_is_screened(screened: dict[str, dict[str, object]]) -> None:
    assert screened["13_prone-overhead.jpg"]["hold"] is None
    video = screened["13_hold-back.mp4"]
    assert video["hold"]["seconds"] == pytest.approx(BREAK_S, abs=0.5)  # type: ignore[index]
    assert video["traces"]
