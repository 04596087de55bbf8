"""Handstands side by side: one scale, one floor, and the dot only where the line is stopped."""

import re
from collections.abc import Mapping
from dataclasses import replace
from xml.etree import ElementTree as ET

import numpy as np
import pytest
from sample_forecast import CLOSED, handstand

from chordline.adapters.printing.forecast_lines import (
    CELL_PX,
    CHORD_PX,
    Figure,
    draw_handstands,
    figure_of_photo,
)
from chordline.application.forecast.told import LINE_POINTS
from chordline.core.body.measurement import Trust
from chordline.core.estimate import Estimate

SVG = "{http://www.w3.org/2000/svg}"
POINTS = dict(zip(LINE_POINTS, CLOSED, strict=True))
TODAY = Figure("Reachable today", POINTS, Estimate(3.0, 0.5), "shoulder")


def read(*figures: Figure) -> ET.Element:
    return ET.fromstring(draw_handstands(figures, title="A & B"))


def points(path: ET.Element) -> np.ndarray:
    numbers = [float(one) for one in re.findall(r"-?\d+(?:\.\d+)?", path.attrib["d"])]
    return np.array(numbers).reshape(-1, 2)


def bodies(root: ET.Element) -> list[np.ndarray]:
    """The strokes that are more than a hand."""
    strokes = [points(one) for one in root.iter(f"{SVG}path") if one.get("class") == "cl-stroke"]
    return [one for one in strokes if len(one) > 3]


def of_class(root: ET.Element, name: str) -> list[ET.Element]:
    return [one for one in root.iter() if name in (one.get("class") or "").split()]


def lean_of(figure: Mapping[str, tuple[float, float]]) -> float:
    x, y = figure["malleolus"]
    return float(np.degrees(np.arctan2(x, y)))


def test_all_stand_on_one_floor_to_one_scale() -> None:
    hers = figure_of_photo(handstand(lean=0.2))
    assert hers is not None
    drawn = bodies(read(hers, TODAY))
    wrists = [one[0] for one in drawn]
    assert wrists[0][1] == wrists[1][1]
    assert wrists[1][0] - wrists[0][0] == pytest.approx(CELL_PX)
    for one, ankle in zip(drawn, (4, 5), strict=True):  # a photo has no point of the lower back
        assert np.hypot(*(one[ankle] - one[0])) == pytest.approx(CHORD_PX, abs=0.02)


def test_front_is_right_and_up_is_up() -> None:
    (body,) = bodies(read(TODAY))
    from_wrist = (body - body[0]) * [1.0, -1.0] * 100.0 / CHORD_PX
    assert from_wrist == pytest.approx(np.array(CLOSED), abs=0.01)


@pytest.mark.parametrize("left_near", [True, False])
@pytest.mark.parametrize("roll_deg", [0.0, 6.0])
def test_a_photo_keeps_its_lean_whichever_way_she_faces_and_the_camera_hangs(
    left_near: bool, roll_deg: float
) -> None:
    figure = figure_of_photo(handstand(lean=0.1, left_near=left_near, roll_deg=roll_deg))
    assert figure is not None
    assert lean_of(figure.points) == pytest.approx(np.degrees(np.arctan(0.1)), abs=1e-6)
    assert np.hypot(*figure.points["malleolus"]) == pytest.approx(100.0)
    assert figure.points["shoulder"][0] < 0.0
    assert figure.bow_max_pct is not None
    assert figure.bow_max_pct.value == 6.4
    assert figure.bow_max_pct.sd == pytest.approx(np.hypot(0.5, 0.6))


def test_only_what_stops_a_line_is_pointed_out() -> None:
    free = Figure("With more", POINTS, Estimate(1.0, 0.5))
    root = read(TODAY, free)
    (dot,) = of_class(root, "cl-look")
    body = bodies(root)[0]
    assert (float(dot.attrib["cx"]), float(dot.attrib["cy"])) == pytest.approx(tuple(body[1]))


def test_a_photo_that_needs_a_look_is_hatched_and_says_no_number() -> None:
    doubtful = figure_of_photo(replace(handstand(), trust=Trust(False, ("the hip is doubtful",))))
    assert doubtful is not None
    root = read(doubtful, TODAY)
    assert len(of_class(root, "cl-hatch")) == 1
    assert len(bodies(root)) == 1
    assert sum("bow" in (one.text or "") for one in root.iter(f"{SVG}text")) == 1
    assert of_class(read(TODAY), "cl-hatch") == []


@pytest.mark.parametrize("name", ["wrist", "shoulder", "hip", "malleolus"])
def test_a_photo_without_its_marks_is_not_drawn(name: str) -> None:
    photo = handstand()
    marks = {one: mark for one, mark in photo.landmarks.items() if one != name}
    assert figure_of_photo(replace(photo, landmarks=marks)) is None


@pytest.mark.parametrize("left_near", [True, False])
def test_one_who_leans_far_stays_in_her_place(left_near: bool) -> None:
    for lean in (-0.6, 0.6):
        figure = figure_of_photo(handstand(lean=lean, left_near=left_near))
        assert figure is not None
        body = bodies(read(TODAY, figure, TODAY))[1]
        assert body[:, 0].min() > CELL_PX
        assert body[:, 0].max() < 2.0 * CELL_PX


def test_one_who_lies_is_no_handstand() -> None:
    assert figure_of_photo(handstand(lean=1.5)) is None


def test_captions_stand_under_their_own_line_and_do_not_touch() -> None:
    long = replace(TODAY, caption="With 10° more of shoulders, passive and 5 % more of push")
    root = read(TODAY, long)
    texts = list(root.iter(f"{SVG}text"))
    assert {float(one.attrib["x"]) for one in texts} == {0.5 * CELL_PX, 1.5 * CELL_PX}
    height = float(root.attrib["viewBox"].split()[3])
    for one in texts:
        assert float(one.attrib["y"]) < height
        # Half an em is wider than the mean letter of every face that is used.
        assert 0.5 * float(one.attrib["font-size"]) * len(one.text or "") < CELL_PX
    lines = [one.text for one in texts if float(one.attrib["x"]) == 1.5 * CELL_PX]
    assert lines[-1] == "bow 3.0 % ± 1.0 %"
    assert " ".join(filter(None, lines[:-1])) == long.caption


def test_it_can_be_read_out() -> None:
    root = read(TODAY)
    assert root.attrib["role"] == "img"
    assert root.findtext(f"{SVG}title") == "A & B"
    desc = root.findtext(f"{SVG}desc") or ""
    assert "shoulder 3.0 % towards the back, lower back 1.9 % towards the front" in desc
    assert "Stopped at the shoulder." in desc


def test_a_line_without_any_bow_is_drawn() -> None:
    straight = {name: (0.0, y) for name, (_, y) in POINTS.items()}
    assert len(bodies(read(Figure("Straight", straight, Estimate(0.0, 0.4))))) == 1


def test_a_wider_error_is_a_wider_band() -> None:
    def width(sd: float) -> float:
        root = read(replace(TODAY, bow_max_pct=Estimate(3.0, sd)))
        (band,) = of_class(root, "cl-band")
        return float(np.ptp(points(band)[:, 0]))

    assert width(1.0) > width(0.2) + 3.0
