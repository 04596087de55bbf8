"""The installed command, as a coach types it: pictures in, words and records out."""

import contextlib
import contextvars
import io
import json
import shutil
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

import pytest
from PIL import Image

from chordline.cli.main import run

CLUB = Path(__file__).resolve().parents[2] / "src" / "chordline" / "demo" / "club"
TRUTH = json.loads(
    (Path(__file__).resolve().parents[1] / "data" / "squad_truth.json").read_text(encoding="utf-8")
)["pictures"]

DONE, WRONG_USE, REFUSED = 0, 2, 3


@dataclass
class Ran:
    """What a command left behind."""

    returncode: int
    stdout: str
    stderr: str


def chordline(*words: str | Path, cwd: Path | None = None) -> Ran:
    """Run the installed command's own entry within this process: it starts in no time."""
    out, err = (io.TextIOWrapper(io.BytesIO(), encoding="utf-8") for _ in range(2))
    code = 0
    with (
        pytest.MonkeyPatch.context() as patch,
        contextlib.redirect_stdout(out),
        contextlib.redirect_stderr(err),
    ):
        patch.setattr(sys, "argv", ["chordline", *map(str, words)])
        if cwd is not None:
            patch.chdir(cwd)
        try:
            contextvars.copy_context().run(run)
        except SystemExit as stopped:
            code = stopped.code if isinstance(stopped.code, int) else int(stopped.code is not None)
    told = []
    for stream in (out, err):
        stream.flush()
        told.append(stream.buffer.getvalue().decode("utf-8"))
    return Ran(code, *told)


def records(run: Ran) -> list[dict]:
    return [json.loads(line) for line in run.stdout.splitlines()]


def true_marks(photo: str) -> dict:
    truth = next(one for one in TRUTH if one["image"] == photo)
    names = {"knuckle": "hand", "big_toe": "toe"}
    places = truth["joints_px"][truth["near_side"]]
    return {
        "near_side": truth["near_side"],
        "front": truth["anterior"],
        "landmarks": {
            names.get(name, name): {"x_px": x - 0.5, "y_px": y - 0.5, "sd_px": 2.0}
            for name, (x, y) in places.items()
        },
    }


@pytest.fixture
def marks(tmp_path: Path) -> Path:
    path = tmp_path / "marks.json"
    path.write_text(json.dumps(true_marks("13_prone-overhead.jpg")), encoding="utf-8")
    return path


PHOTO = CLUB / "13_prone-overhead.jpg"
MEASURE = ("measure", PHOTO, "--test", "prone-overhead")


def test_hand_marks_give_the_angles_of_their_pixels(marks: Path) -> None:
    (record,) = records(chordline(*MEASURE, "--marks", marks, "--json"))
    assert record["schema"] == "chordline.measurement/1"
    assert record["card"]["id"] == 13
    assert record["image"]["width_px"] == 1600
    assert record["measures"]["shoulder_opening_deg"]["value"] == pytest.approx(-23.3, abs=0.2)
    assert record["landmarks"]["hip"]["origin"] == "hand"
    assert record["trust"]["accepted"]


@pytest.mark.weights
def test_a_photo_is_measured_without_any_help() -> None:
    (record,) = records(chordline(*MEASURE, "--json"))
    assert record["measures"]["shoulder_opening_deg"]["value"] == pytest.approx(-24.0, abs=6.0)
    assert record["measures"]["hip_opening_deg"]["value"] == pytest.approx(0.0, abs=6.0)
    assert record["model"].startswith("blazepose")


def test_words_come_before_numbers(marks: Path) -> None:
    told = chordline(*MEASURE, "--marks", marks).stdout
    assert "Shoulders closed by 23°: short of the line" in told
    assert "±" in told


def picture(path: Path, size: tuple[int, int] = (1200, 900)) -> Path:
    Image.new("RGB", size, (120, 130, 140)).save(path)
    return path


def bad_pictures(folder: Path) -> dict[str, Path]:
    whole = PHOTO.read_bytes()
    made = {
        "text": folder / "text.jpg",
        "nothing": folder / "nothing.jpg",
        "cut": folder / "cut.jpg",
        "dot": picture(folder / "dot.png", (1, 1)),
        "gone": folder / "gone.jpg",
    }
    made["text"].write_text("no picture at all", encoding="utf-8")
    made["nothing"].write_bytes(b"")
    made["cut"].write_bytes(whole[: len(whole) // 3])
    return made


@pytest.mark.parametrize("kind", ["text", "nothing", "cut", "dot", "gone"])
def test_a_bad_picture_is_refused_with_a_sentence(kind: str, tmp_path: Path, marks: Path) -> None:
    path = bad_pictures(tmp_path)[kind]
    run = chordline("measure", path, "--test", "prone-overhead", "--marks", marks)
    assert run.returncode == REFUSED
    assert path.name in run.stderr
    assert "Traceback" not in run.stderr


def test_an_unknown_test_is_wrong_use_and_names_the_known(marks: Path) -> None:
    run = chordline("measure", PHOTO, "--test", "prone-lifted", "--marks", marks)
    assert run.returncode == WRONG_USE
    assert "prone-raised" in run.stderr


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"hip": {"x_px": 5000, "y_px": 600}}, "outside the picture"),
        ({"pelvis": {"x_px": 800, "y_px": 600}}, "pelvis"),
        ({"hip": {"x_px": "left", "y_px": 600}}, "landmarks.hip.x_px"),
        ({"hip": {"x_px": 800, "y_px": 600, "sd_px": 0}}, "landmarks.hip.sd_px"),
    ],
)
def test_faulty_marks_are_told_with_their_path(change: dict, told: str, tmp_path: Path) -> None:
    faulty = true_marks("13_prone-overhead.jpg")
    faulty["landmarks"] |= change
    path = tmp_path / "faulty.json"
    path.write_text(json.dumps(faulty), encoding="utf-8")
    run = chordline(*MEASURE, "--marks", path)
    assert run.returncode == REFUSED
    assert told in run.stderr


@pytest.mark.parametrize("text", ["", "{", "[]", "3", '{"landmarks": {}}'])
def test_a_file_that_holds_no_marks_is_refused(text: str, tmp_path: Path) -> None:
    path = tmp_path / "none.json"
    path.write_text(text, encoding="utf-8")
    run = chordline(*MEASURE, "--marks", path)
    assert run.returncode == REFUSED
    assert "none.json" in run.stderr


def test_marks_for_another_number_of_photos_are_wrong_use(marks: Path) -> None:
    run = chordline("measure", PHOTO, PHOTO, "--test", "prone-overhead", "--marks", marks)
    assert run.returncode == WRONG_USE


@pytest.mark.weights
def test_a_picture_without_anyone_asks_for_marks(tmp_path: Path) -> None:
    run = chordline("measure", picture(tmp_path / "wall.png"), "--test", "prone-sides")
    assert run.returncode == REFUSED
    assert "--marks" in run.stderr


@pytest.mark.weights
def test_two_girls_are_asked_for(tmp_path: Path) -> None:
    one = Image.open(PHOTO).convert("RGB")
    both = Image.new("RGB", (1600, 1200))
    strip = one.crop((0, 400, 1600, 1000))
    both.paste(strip, (0, 0))
    both.paste(strip, (0, 600))
    path = tmp_path / "two.jpg"
    both.save(path, quality=92)
    run = chordline("measure", path, "--test", "prone-overhead", "--json")
    assert run.returncode == REFUSED
    assert "--person" in run.stderr
    (record,) = records(
        chordline("measure", path, "--test", "prone-overhead", "--person", "1", "--json")
    )
    assert record["measures"]["shoulder_opening_deg"]["value"] == pytest.approx(-24.0, abs=6.0)


@pytest.mark.weights
def test_the_rest_of_a_folder_is_done_and_what_is_left_out_is_told(tmp_path: Path) -> None:
    shutil.copy(PHOTO, tmp_path)
    shutil.copy(CLUB / "12_prone-sides.jpg", tmp_path / "prone-sides.jpg")
    shutil.copy(CLUB / "11_handstand.jpg", tmp_path / "IMG_1.jpg")
    shutil.copy(CLUB / "gymnasts.csv", tmp_path)
    (tmp_path / "13_prone-sides.jpg").write_bytes(b"")
    run = chordline("screen", tmp_path, "--json")
    assert run.returncode == REFUSED
    out = records(run)
    measured = {one["photo"] for one in out if one["schema"] == "chordline.measurement/1"}
    assert measured == {"13_prone-overhead.jpg", "prone-sides.jpg"}
    assert "IMG_1.jpg" in run.stderr
    assert "13_prone-sides.jpg" in run.stderr
    found = [one for one in out if one["schema"] == "chordline.findings/1"]
    assert [one["card"] for one in found] == [12, 13]
    sheets = sorted(path.name for path in (tmp_path / "sheets").iterdir())
    assert "013-amara-lindqvale.pdf" in sheets
    assert "013-amara-lindqvale.html" in sheets
    squad = chordline("squad", "--folder", tmp_path).stdout
    assert squad.splitlines()[0] == "Mirela Ostrava"
    assert "Hip flexors" in squad
    assert "±" in squad
    assert {"squad.html", "squad.pdf"} <= set(sheets)
    squad = (tmp_path / "sheets" / "squad.html").read_text(encoding="utf-8")
    assert 'href="013-amara-lindqvale.html"' in squad


@pytest.mark.weights
def test_a_second_screening_goes_on_where_the_first_stopped(tmp_path: Path) -> None:
    shutil.copy(PHOTO, tmp_path)
    first = chordline("screen", tmp_path, "--json", "--no-sheets")
    memory = tmp_path / ".chordline" / "measurements.jsonl"
    lines = memory.read_text(encoding="utf-8")
    memory.write_text(lines + '\n{"key": "cut off by a ki', encoding="utf-8")
    shutil.copy(CLUB / "13_prone-sides.jpg", tmp_path)
    second = chordline("screen", tmp_path, "--json", "--no-sheets")
    assert first.returncode == second.returncode == DONE
    assert records(first)[0] in records(second)
    assert len([one for one in records(second) if "photo" in one]) == 2


def test_an_empty_folder_is_refused(tmp_path: Path) -> None:
    run = chordline("screen", tmp_path)
    assert run.returncode == REFUSED
    assert "no photo" in run.stderr


def test_cards_are_printed_and_nonsense_is_refused(tmp_path: Path) -> None:
    out = tmp_path / "cards.pdf"
    assert chordline("cards", "3,11-12", "-o", out).returncode == DONE
    assert out.read_bytes().startswith(b"%PDF")
    for nonsense in ("1000", "a", "7-3", ""):
        assert chordline("cards", nonsense, "-o", out).returncode == WRONG_USE


def test_without_weights_doctor_says_less_and_hand_marks_work(tmp_path: Path, marks: Path) -> None:
    env = {"CHORDLINE_WEIGHTS": str(tmp_path / "none"), "PATH": "", "HOME": str(tmp_path)}
    command = [sys.executable, "-m", "chordline"]
    doctor = subprocess.run(
        [*command, "doctor"], capture_output=True, text=True, env=env, check=False
    )
    assert doctor.returncode == DONE
    assert "only hand marks work" in doctor.stdout
    words = [*map(str, MEASURE), "--json"]
    refused = subprocess.run(
        [*command, *words], capture_output=True, text=True, env=env, check=False
    )
    assert refused.returncode == REFUSED
    assert "--marks" in refused.stderr
    measured = subprocess.run(
        [*command, *words, "--marks", str(marks)],
        capture_output=True,
        text=True,
        env=env,
        check=False,
    )
    assert measured.returncode == DONE


def test_damaged_weights_are_told(tmp_path: Path) -> None:
    for name in ("pose_detection.tflite", "pose_landmark_full.tflite"):
        (tmp_path / name).write_bytes(b"not a network")
    env = {"CHORDLINE_WEIGHTS": str(tmp_path), "PATH": "", "HOME": str(tmp_path)}
    run = subprocess.run(
        [sys.executable, "-m", "chordline", "doctor"],
        capture_output=True,
        text=True,
        env=env,
        check=False,
    )
    assert run.returncode == REFUSED
    assert "damaged" in run.stdout


def test_the_version_is_said() -> None:
    assert chordline("--version").stdout.startswith("chordline ")
