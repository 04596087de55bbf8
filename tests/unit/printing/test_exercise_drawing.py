"""Every exercise's two drawings: a body that can be, on the floor, in its frame."""

import math
import re
from collections.abc import Iterator
from pathlib import Path
from xml.etree import ElementTree

import pytest

import chordline.web
from chordline.adapters.printing.exercise_drawing import HEIGHT, WIDTH, view_of
from chordline.adapters.printing.exercise_pictures import ExercisePictures, load_pictures
from chordline.adapters.printing.figure_path import piece_path
from chordline.adapters.printing.palette import LIGHT
from chordline.catalogue.loader import load_catalogue
from chordline.catalogue.segments import our_segments
from chordline.catalogue.training import load_training
from chordline.core.figure.pose import LIMBS, Pose
from chordline.core.figure.scene import Scene, Shape
from chordline.core.figure.stand import Figure

PICTURES: ExercisePictures = load_pictures(load_training(load_catalogue()), our_segments())
NAMES = tuple(PICTURES.drawn)
CSS = Path(chordline.web.__file__).parent / "static" / "css"

#: A body lies a little into the mat: as deep as half a wrist is thick [statures].
SOFT = 0.008
#: Hands close around a bar of the wall bars [statures].
GRIP = 0.04
#: What a limber child's joints allow, drawn with a margin [degrees].
RANGES = {
    "hip": (-165.0, 40.0),
    "knee": (-168.0, 3.0),
    "elbow": (-165.0, 5.0),
    "ankle": (-120.0, 15.0),
    "shoulder": (-285.0, 40.0),
}
#: The least that a fault must differ by, in the joint that differs most [degrees].
LEAST_FAULT = 15.0


def scenes(name: str) -> tuple[Scene, Scene]:
    drawn = PICTURES.drawn[name]
    return drawn.right, drawn.fault


def figures(name: str) -> Iterator[Figure]:
    for scene in scenes(name):
        yield scene.figure


@pytest.mark.parametrize("name", NAMES)
def test_nothing_is_below_the_floor(name: str) -> None:
    for figure in figures(name):
        assert min(disc.lowest for disc in figure.discs) > -SOFT


@pytest.mark.parametrize("name", [n for n in NAMES if PICTURES.drawn[n].drawing.floor])
def test_something_touches_what_she_is_on(name: str) -> None:
    drawing = PICTURES.drawn[name].drawing
    for posture, figure in zip((drawing.right, drawing.fault), figures(name), strict=True):
        for place, height in posture.support.on.items():
            lowest = min(disc.lowest for disc in figure.place(place))
            assert lowest == pytest.approx(height, abs=1e-6), place


def face_of(wall: Shape, figure: Figure) -> tuple[int, float]:
    """On which side of her the wall stands, and where its face is."""
    xs = [point.real for point in wall.points]
    to_right = sum(xs) / len(xs) > figure.joints["hip"].real
    return (1, min(xs)) if to_right else (-1, max(xs))


@pytest.mark.parametrize("name", NAMES)
def test_nobody_stands_in_a_wall(name: str) -> None:
    for scene in scenes(name):
        for wall in scene.behind:
            if wall.kind in ("wall", "bars") and wall.form == "area":
                side, face = face_of(wall, scene.figure)
                deepest = max(side * d.at.real + d.r for d in scene.figure.discs) - side * face
                assert deepest < (GRIP if wall.kind == "bars" else 0.025)


@pytest.mark.parametrize("name", NAMES)
def test_joints_stay_in_a_childs_range(name: str) -> None:
    for figure in figures(name):
        for joint, (least, most) in RANGES.items():
            for limb in LIMBS:
                angle = math.degrees(figure.pose.of(joint, limb))
                turned = most - (most - angle) % 360.0
                assert least <= turned, f"{limb} {joint}"


def largest_difference_deg(one: Pose, other: Pose) -> float:
    joints = ("trunk", "lower_back", "upper_back", "neck", "nod")
    found = [getattr(one, joint) - getattr(other, joint) for joint in joints]
    for joint in ("hip", "knee", "shoulder", "elbow"):
        found += [one.of(joint, limb) - other.of(joint, limb) for limb in LIMBS]
    return max(abs(math.degrees(math.remainder(turn, 2.0 * math.pi))) for turn in found)


@pytest.mark.parametrize("name", NAMES)
def test_the_fault_is_seen(name: str) -> None:
    right, fault = figures(name)
    assert largest_difference_deg(right.pose, fault.pose) >= LEAST_FAULT


@pytest.mark.parametrize("name", NAMES)
def test_the_body_is_inside_the_frame(name: str) -> None:
    view = view_of(scenes(name))
    for figure in figures(name):
        for disc in figure.discs:
            at, r = view.place(disc.at), disc.r * view.scale
            assert r < at.real < WIDTH - r
            assert r < at.imag < HEIGHT - r


@pytest.mark.parametrize("name", NAMES)
def test_both_pictures_are_whole_svg_of_one_size_and_differ(name: str) -> None:
    pair = PICTURES.pair(name)
    assert pair is not None
    sizes = [ElementTree.fromstring(text).attrib["viewBox"] for text in (pair.right, pair.fault)]
    assert sizes == [f"0 0 {WIDTH:g} {HEIGHT:g}"] * 2
    assert pair.right != pair.fault


def test_only_the_fault_points_something_out() -> None:
    for name in NAMES:
        pair = PICTURES.pair(name)
        assert pair is not None
        assert pair.right.count("cl-look-ring") == 0
        assert pair.fault.count("cl-look-ring") == 1


def test_a_drawing_says_in_words_what_it_shows() -> None:
    entry = PICTURES.training.exercises["forearm-plank"]
    pair = PICTURES.pair("forearm-plank")
    assert pair is not None
    assert f"<desc>{entry.fault}</desc>" in pair.fault
    assert entry.title in pair.right


def test_drawings_carry_colours_for_paper_and_classes_for_a_page_but_no_style() -> None:
    rules = "".join((CSS / file).read_text() for file in ("drawings.css", "exercises.css"))
    colours = {getattr(LIGHT, role) for role in LIGHT.__dataclass_fields__}
    for name in NAMES:
        pair = PICTURES.pair(name)
        assert pair is not None
        for text in (pair.right, pair.fault):
            assert "style=" not in text
            assert set(re.findall(r"#[0-9a-f]{6}", text)) <= colours
            classes = set(re.findall(r'class="([\w-]+)"', text))
            assert {one for one in classes if not re.search(rf"\.{one}[ ,]", rules)} == set()


def test_an_unknown_exercise_has_no_pictures() -> None:
    assert PICTURES.pair("flying") is None


def test_drawings_are_small_enough_to_stand_many_on_a_page() -> None:
    sizes = [len(pair.right) for name in NAMES if (pair := PICTURES.pair(name)) is not None]
    assert sum(sizes) / len(sizes) < 5000.0


def test_a_piece_around_a_disc_inside_another_is_the_larger_disc() -> None:
    inside = piece_path((0j, 5.0), (1 + 0j, 1.0))
    assert inside == "M-5 0A5 5 0 1 1 5 0A5 5 0 1 1 -5 0Z"


def test_a_piece_of_two_equal_discs_has_straight_sides() -> None:
    assert piece_path((0j, 2.0), (10 + 0j, 2.0)) == "M0 -2L10 -2A2 2 0 0 1 10 2L0 2A2 2 0 1 1 0 -2Z"
