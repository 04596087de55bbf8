"""Videos on the command line, refusals first; real ones are measured in tests/accuracy."""

from pathlib import Path

import pytest
from PIL import Image
from typer.testing import CliRunner

from chordline.application.headway import Silent
from chordline.application.measure_photo import MeasureRequest
from chordline.application.measure_video import VideoRequest
from chordline.cli.main import app, run
from chordline.cli.video import tell_video
from made_videos import plain_frames, write_sound, write_video
from moving_bodies import Angle, even_times, place_joints, ramp
from video_doubles import CATALOGUE, Desk, MadeBody, landmarks_of


def command(monkeypatch: pytest.MonkeyPatch, *words: str) -> int:
    monkeypatch.setattr("sys.argv", ["chordline", *words])
    with pytest.raises(SystemExit) as ended:
        run()
    return int(ended.value.code or 0)


def told(hip: Angle | None = None) -> list[str]:
    t = even_times(10.0)
    desk = Desk(MadeBody(t, landmarks_of(place_joints(t, hip=hip))))
    request = VideoRequest(MeasureRequest("hold-front"))
    path = Path("13_hold-front.mp4")
    video = desk.use_case()(path, request, store=desk.store, progress=Silent())
    return tell_video(video, CATALOGUE)


def test_a_part_is_asked_of_videos_alone(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    photo = tmp_path / "a.jpg"
    Image.new("RGB", (200, 200)).save(photo)
    code = command(monkeypatch, "measure", str(photo), "--test", "handstand", "--from", "2")
    assert code == 2
    assert "--from and --to trim videos; a.jpg is none" in capsys.readouterr().err


def test_a_refused_video_ends_with_3_and_a_sentence(tmp_path: Path) -> None:
    sound = write_sound(tmp_path / "a.m4a")
    done = CliRunner().invoke(app, ["measure", str(sound), "--test", "hold-front"])
    assert done.exit_code == 3
    # Without the weights that is said first; both are refusals.
    assert "holds only sound" in done.stderr or "weights are not installed" in done.stderr


def test_a_video_without_weights_is_refused_and_says_what_to_install(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("CHORDLINE_WEIGHTS", str(tmp_path / "none"))
    path = write_video(tmp_path / "13_hold-front.mp4", plain_frames(0.5))
    done = CliRunner().invoke(app, ["measure", str(path), "--test", "hold-front"])
    assert done.exit_code == 3
    assert "'chordline weights' installs them" in done.stderr


def test_a_video_is_told_in_words() -> None:
    lines = told(ramp(4.0, -8.0, -40.0))
    assert lines[0].startswith("Hold: in shape for 5.")
    assert "then the hips went first, closing, 5.5 s into the video" in lines[0]
    assert any(line.startswith("Measured at") for line in lines)


def test_a_hold_that_outlasts_the_video_is_told_as_at_least() -> None:
    assert told()[0].startswith("Hold: in shape for at least 9.9 s; the video ends before")
