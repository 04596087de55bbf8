"""The exercises' drawings load whole, and a faulty file is told fault by fault."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from chordline.catalogue.drawings import load_drawings
from chordline.catalogue.drawings_schema import PostureEntry
from chordline.catalogue.loader import load_catalogue
from chordline.catalogue.segments import our_segments
from chordline.catalogue.training import load_training
from chordline.core.figure.pose import build_of
from chordline.errors import CatalogueError
from shared_scenes import scenes_set_once

BUILD = build_of({name: one.value for name, one in our_segments().lengths.items()})
EXERCISES = tuple(load_training(load_catalogue()).exercises)
GOOD = 'base = "standing"\nfault = { hip = -40 }\nlook = "hip"\n'


@pytest.fixture(scope="module", autouse=True)
def shared_scenes() -> Iterator[None]:
    with scenes_set_once():
        yield


def faults(tmp_path: Path, text: str, exercises: tuple[str, ...] = EXERCISES) -> str:
    folder = tmp_path / "training"
    folder.mkdir()
    (folder / "drawings_range.toml").write_text(text, encoding="utf-8")
    with pytest.raises(CatalogueError) as told:
        load_drawings(exercises, BUILD, tmp_path)
    return str(told.value)


def test_every_exercise_has_its_drawing() -> None:
    assert tuple(load_drawings(EXERCISES, BUILD)) == EXERCISES


def test_a_drawing_of_no_exercise_is_told_with_its_path(tmp_path: Path) -> None:
    told = faults(tmp_path, f"[flying]\n{GOOD}")
    assert told == "drawings_range.toml: flying: no exercise is called 'flying'"


def test_a_club_s_own_exercise_may_do_without_a_drawing() -> None:
    assert tuple(load_drawings((*EXERCISES, "club-own"), BUILD)) == EXERCISES


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('base = "floating"\nfault = {}\nlook = "hip"', "no base is called 'floating'"),
        ('base = "standing"\nfault = {}\nlook = "wing"', "no place is called 'wing'"),
        ('base = "standing"\nfault = { aim = { wing = 3 } }\nlook = "hip"', "no part is called"),
        ('base = "standing"\nfault = { on = { palm = 0, ball = 3 } }\nlook = "hip"', "both touch"),
        ('base = "standing"\nfault = { hips = 3 }\nlook = "hip"', "fault.hips"),
    ],
)
def test_faults_of_a_drawing_are_told_with_their_path(tmp_path: Path, text: str, said: str) -> None:
    told = faults(tmp_path, f"[club-own]\n{text}\n", (*EXERCISES, "club-own"))
    assert "drawings_range.toml: club-own" in told
    assert said in told


def test_a_club_draws_an_exercise_of_its_own(tmp_path: Path) -> None:
    (tmp_path / "training").mkdir()
    file = tmp_path / "training" / "drawings_shape.toml"
    file.write_text(f"[club-own]\n{GOOD}", encoding="utf-8")
    assert "club-own" in load_drawings((*EXERCISES, "club-own"), BUILD, tmp_path)


def test_a_joints_own_angle_does_away_with_its_aim_and_with_a_reach() -> None:
    base = PostureEntry(trunk=90, aim={"foot": 0, "forearm": 10}, reach={"hand": (0.3, 0.4)})
    bent = base.changed(PostureEntry(ankle=-40, elbow=-30))
    assert bent.aim == {}
    assert bent.reach == {}
    assert base.changed(PostureEntry(hip=-20)).reach == base.reach


def test_a_neck_bent_by_hand_rests_no_more() -> None:
    base = PostureEntry(trunk=180, head_on=0.0)
    assert base.changed(PostureEntry(neck=-30)).head_on is None
    assert base.changed(PostureEntry(hip=-30)).head_on == 0.0
