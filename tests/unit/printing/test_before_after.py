"""The same test in two screens: one scale, one way round, and nothing else is moved."""

import re
from collections.abc import Callable, Mapping
from dataclasses import replace
from xml.etree import ElementTree

import numpy as np
import pytest

from application_doubles import PRONE
from chordline.adapters.printing.before_after import BeforeAfter, Shown, draw_before_after
from chordline.application.make_squad_sheet import draw_line
from chordline.core.body.measurement import Mark, Measurement, Scale, Trust
from screen_stories import CATALOGUE, photo

Move = Callable[[np.ndarray], np.ndarray]
BODY = ("malleolus", "knee", "hip", "shoulder", "elbow", "wrist", "hand", "ear")


def taken(move: Move = lambda at: at, **more: object) -> Measurement:
    marks = {name: Mark(*map(float, move(np.array(at))), 3.0, "hand") for name, at in PRONE.items()}
    return replace(photo("prone-overhead", {"shoulder": -20.0}), landmarks=marks, **more)  # type: ignore[arg-type]


def scaled(by: float) -> Move:
    return lambda at: at * by


def mirrored(at: np.ndarray) -> np.ndarray:
    return np.array([1600.0 - at[0], at[1]])


def drawn(
    before: Measurement, after: Measurement, hrefs: tuple[str, str] = ("", "")
) -> BeforeAfter:
    lines = [draw_line(one, CATALOGUE) for one in (before, after)]
    shown = [Shown(line, href) for line, href in zip(lines, hrefs, strict=True)]
    found = draw_before_after(shown[0], shown[1], titles=("then", "now"))
    assert found is not None
    return found


def box(svg: str) -> list[float]:
    return [float(one) for one in ElementTree.fromstring(svg).attrib["viewBox"].split()]


def strokes(svg: str) -> list[np.ndarray]:
    """The body's strokes, the longest paths of the drawing: their points."""
    paths = re.findall(r'd="M([^"Z]+)" fill="none"', svg)
    points = [np.array(one.split(), dtype=float).reshape(-1, 2) for one in paths]
    most = max(map(len, points))
    return [one for one in points if len(one) == most]


def body(svg: str) -> np.ndarray:
    return strokes(svg)[-1]


def test_both_drawings_have_one_box_so_that_they_are_at_one_scale() -> None:
    found = drawn(taken(), taken(scaled(0.6)))
    assert box(found.before) == box(found.after)
    assert not found.standing


def test_a_body_that_looks_smaller_is_drawn_as_long() -> None:
    found = drawn(taken(scaled(0.6)), taken())
    assert found.scale_by == "body"
    assert body(found.before) == pytest.approx(body(found.after), abs=1.5)


def test_known_metres_go_before_the_length_of_the_body() -> None:
    small = taken(scaled(0.5), scale=Scale(0.004, 0.02, "card"))
    large = taken(scale=Scale(0.0018, 0.02, "card"))
    found = drawn(small, large)
    assert found.scale_by == "metres"
    lengths = [np.ptp(body(svg)[:, 0]) for svg in (found.before, found.after)]
    assert lengths[0] / lengths[1] == pytest.approx(0.5 * 0.004 / 0.0018, rel=0.01)


def test_a_picture_from_her_other_side_is_mirrored_and_told() -> None:
    found = drawn(taken(mirrored, near_side="right"), taken())
    assert found.mirrored
    assert body(found.before) == pytest.approx(body(found.after), abs=1.5)
    assert not drawn(taken(), taken()).mirrored


@pytest.mark.parametrize("quarters", [1, 2, 3])
def test_a_picture_that_lies_on_its_side_is_turned_back(quarters: int) -> None:
    cos, sin = ((0, 1), (-1, 0), (0, -1))[quarters - 1]
    turn = np.array([[cos, -sin], [sin, cos]], dtype=float)
    found = drawn(taken(lambda at: turn @ at + 2000.0), taken())
    assert body(found.before) == pytest.approx(body(found.after), abs=1.5)


def test_a_lean_is_not_turned_away() -> None:
    angle = np.radians(8.0)
    turn = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
    found = drawn(taken(lambda at: turn @ at + 300.0), taken())
    along = [body(svg)[-1] - body(svg)[0] for svg in (found.before, found.after)]
    turned = [np.degrees(np.arctan2(one[1], one[0])) for one in along]
    assert (turned[0] - turned[1] + 180.0) % 360.0 - 180.0 == pytest.approx(8.0, abs=0.2)


def test_the_later_picture_carries_the_earlier_line_broken() -> None:
    found = drawn(taken(scaled(0.6)), taken())
    assert "stroke-dasharray" in found.after
    assert "stroke-dasharray" not in found.before


def test_a_picture_that_is_not_kept_leaves_the_line() -> None:
    found = drawn(taken(), taken(), ("", "/photos/2/picture?px=960"))
    assert "<image" not in found.before
    assert 'href="/photos/2/picture?px=960"' in found.after
    assert len(body(found.before)) == len(body(found.after))


def test_a_picture_lies_under_its_own_landmarks() -> None:
    found = drawn(taken(scaled(0.6)), taken(), ("/a", "/b"))
    for svg, measured in ((found.before, taken(scaled(0.6))), (found.after, taken())):
        matrix = re.search(r"matrix\(([^)]+)\)", svg)
        assert matrix is not None
        a, b, c, d, e, f = map(float, matrix[1].split())
        hip = measured.landmarks["hip"]
        x, y = hip.x_px + 0.5, hip.y_px + 0.5
        at = np.array([a * x + c * y + e, b * x + d * y + f])
        assert np.abs(body(svg) - at).sum(axis=1).min() < 1.0


def test_marks_that_need_a_look_are_not_drawn_as_sure() -> None:
    found = drawn(taken(trust=Trust(False, ("the hip is doubtful",))), taken())
    assert "the marks need a look" in found.before


def test_without_a_line_there_is_no_pair() -> None:
    bare: Mapping[str, Mark] = {"hip": Mark(800.0, 600.0, 3.0, "hand")}
    lines = [draw_line(replace(taken(), landmarks=bare), CATALOGUE), draw_line(taken(), CATALOGUE)]
    shown = [Shown(line, "") for line in lines]
    assert draw_before_after(shown[0], shown[1], titles=("then", "now")) is None
