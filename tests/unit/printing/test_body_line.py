"""The glyph: one drawing, small and large, and as a pair."""

from dataclasses import replace
from xml.etree import ElementTree

import numpy as np
import pytest
from sample_sheets import chord_of, measurement_of, squad

from chordline.adapters.printing.body_line import CARD, ROW, STRIP, GlyphSize, glyph, pair
from chordline.adapters.printing.line_shape import Z_95, LineShape, read_shape
from chordline.adapters.printing.overlay import overlay
from chordline.adapters.printing.strokes import Certainty
from chordline.adapters.printing.svg import hatch_path

SVG = "{http://www.w3.org/2000/svg}"


def shape_of(name: str, *, sd_px: float = 4.0) -> LineShape:
    measurement = measurement_of(name, sd_px=sd_px)
    shape = read_shape(measurement, chord_of(measurement.test))
    assert shape is not None
    return shape


def points_of(drawing: str, class_: str) -> np.ndarray:
    """The points of the last path of a class."""
    paths = list(ElementTree.fromstring(drawing).iter(f"{SVG}path"))
    data = [p.get("d", "") for p in paths if p.get("class") == class_][-1]
    return np.array(data.strip("MZ").split(), dtype=float).reshape(-1, 2)


def box_of(drawing: str) -> list[float]:
    return [float(v) for v in ElementTree.fromstring(drawing).get("viewBox", "").split()]


@pytest.mark.parametrize("size", [ROW, STRIP, CARD])
@pytest.mark.parametrize("name", squad())
def test_the_chord_has_the_length_of_its_size_and_carries_both_ends(
    name: str, size: GlyphSize
) -> None:
    shape = shape_of(name)
    drawing = glyph(shape, title="t", size=size)
    chord, stroke = points_of(drawing, "cl-chord"), points_of(drawing, "cl-stroke")
    assert chord == pytest.approx(stroke[[0, -1]], abs=0.011)
    across, length = (0, size.standing_px) if shape.upright else (1, size.lying_px)
    assert np.ptp(chord[:, across]) == pytest.approx(0.0, abs=0.011)
    assert np.ptp(chord[:, 1 - across]) == pytest.approx(length, abs=0.011)


@pytest.mark.parametrize("size", [ROW, STRIP, CARD])
@pytest.mark.parametrize("name", squad())
def test_nothing_of_the_stroke_leaves_the_glyph(name: str, size: GlyphSize) -> None:
    drawing = glyph(shape_of(name, sd_px=12.0), title="t", size=size)
    _, _, width, height = box_of(drawing)
    drawn = np.vstack([points_of(drawing, "cl-stroke"), points_of(drawing, "cl-band")])
    assert (drawn >= 0.0).all()
    assert (drawn <= [width, height]).all()


def test_a_glyph_in_a_table_row_is_24_px_tall() -> None:
    for name in ("11_prone-sides.jpg", "13_dish-overhead.jpg"):
        assert box_of(glyph(shape_of(name), title="t"))[3] == pytest.approx(24.0)


def test_the_same_bow_is_as_many_pixels_for_every_gymnast() -> None:
    for name in ("12_prone-active.jpg", "13_dish-overhead.jpg", "16_prone-sides.jpg"):
        shape = shape_of(name)
        drawing = glyph(shape, title="t", size=STRIP)
        stroke, chord = points_of(drawing, "cl-stroke"), points_of(drawing, "cl-chord")
        away_px = np.abs(stroke[:, 1] - chord[0, 1])
        assert away_px == pytest.approx(np.abs(shape.bow_pct) * STRIP.lying_px / 100.0, abs=0.011)


@pytest.mark.parametrize("name", squad())
def test_the_fill_lies_on_the_side_to_which_the_body_bows(name: str) -> None:
    shape = shape_of(name)
    drawing = glyph(shape, title="t", size=CARD)
    fill, chord = points_of(drawing, "cl-wash"), points_of(drawing, "cl-chord")
    front = {"up": (0, -1), "down": (0, 1), "left": (-1, 0), "right": (1, 0)}
    forward = (fill - chord[0]) @ np.array(front[squad()[name]["front"]])
    assert forward == pytest.approx(shape.bow_pct * CARD.lying_px / 100.0, abs=0.02)


def test_the_glyph_lies_the_way_the_picture_does() -> None:
    for name in squad():
        shape = shape_of(name)
        chord = points_of(glyph(shape, title="t"), "cl-chord")
        assert (chord[1] - chord[0]) @ shape.headwards > 0.0


def test_the_band_is_95_percent_of_the_marks_error_to_either_side() -> None:
    shape = shape_of("12_prone-active.jpg", sd_px=7.0)
    drawing = glyph(shape, title="t", size=STRIP)
    band, stroke = points_of(drawing, "cl-band"), points_of(drawing, "cl-stroke")
    half_px = Z_95 * 7.0 / shape.chord_px * STRIP.lying_px
    assert np.abs(band[: len(stroke), 1] - stroke[:, 1]) == pytest.approx(half_px, abs=0.011)
    assert np.abs(band[: -len(stroke) - 1 : -1, 1] - stroke[:, 1]) == pytest.approx(
        half_px, abs=0.011
    )


def test_the_band_has_no_least_width() -> None:
    drawing = glyph(shape_of("12_prone-active.jpg", sd_px=0.0), title="t", size=STRIP)
    band, stroke = points_of(drawing, "cl-band"), points_of(drawing, "cl-stroke")
    assert band == pytest.approx(np.vstack([stroke, stroke[::-1]]))


def test_what_is_not_known_is_hatched_and_not_filled() -> None:
    shape = shape_of("12_prone-active.jpg")
    for certainty in (Certainty.UNDECIDED, Certainty.NEEDS_A_LOOK):
        drawing = glyph(shape, title="t", certainty=certainty)
        assert "cl-hatch" in drawing
        assert "cl-wash" not in drawing
    assert "cl-hatch" not in glyph(shape, title="t")


def test_only_marks_in_doubt_break_the_stroke_and_point_nothing_out() -> None:
    shape = shape_of("12_prone-active.jpg")
    doubtful = glyph(shape, title="t", certainty=Certainty.NEEDS_A_LOOK)
    assert "stroke-dasharray" in doubtful
    assert "cl-look" not in doubtful
    sure = glyph(shape, title="t")
    assert "stroke-dasharray" not in sure
    assert sure.count("cl-look") == 1


def test_the_dot_stands_on_the_landmark_that_bows_most() -> None:
    shape = shape_of("13_handstand.jpg")
    drawing = glyph(shape, title="t", size=STRIP)
    dot = next(c for c in ElementTree.fromstring(drawing).iter(f"{SVG}circle"))
    at = points_of(drawing, "cl-stroke")[shape.names.index("shoulder")]
    assert [float(dot.get("cx", "")), float(dot.get("cy", ""))] == pytest.approx(at, abs=0.011)


def test_no_line_found_still_draws_a_place_for_it() -> None:
    drawing = glyph(None, title="t")
    assert "cl-hatch" in drawing
    assert "No body line was found" in drawing


def test_hatching_stays_inside_what_it_hatches() -> None:
    outline = np.array([[0.0, 0.0], [100.0, 0.0], [50.0, 40.0]])
    ends = np.array(hatch_path(outline, gap=3.0).replace("M", " ").split(), dtype=float).reshape(
        -1, 2
    )
    assert len(ends) > 20
    assert (ends[:, 1] >= -0.011).all()
    assert (ends[:, 1] <= 0.8 * ends[:, 0] + 0.02).all()
    assert (ends[:, 1] <= 0.8 * (100.0 - ends[:, 0]) + 0.02).all()


def test_every_drawing_is_an_image_with_a_name_and_a_description_in_words() -> None:
    shape = shape_of("12_prone-active.jpg")
    for drawing in (glyph(shape, title="<Hips> & co"), pair(shape, shape, title="<Hips> & co")):
        root = ElementTree.fromstring(drawing)
        assert root.get("role") == "img"
        assert root[0].tag == f"{SVG}title"
        assert root[0].text == "<Hips> & co"
        assert root[1].tag == f"{SVG}desc"
        assert "hip 9.3 % of the chord towards the back" in (root[1].text or "")


def test_letters_that_xml_forbids_do_not_break_a_drawing() -> None:
    ElementTree.fromstring(glyph(shape_of("11_prone-sides.jpg"), title="a\x00b\x0bc\ufffe"))


def test_a_pair_of_the_same_test_differs_nowhere() -> None:
    shape = shape_of("12_prone-active.jpg")
    area = points_of(pair(shape, shape, title="t"), "cl-accent-wash")
    assert area[: len(area) // 2] == pytest.approx(area[len(area) // 2 :][::-1])


def test_a_pair_is_laid_on_the_chord_that_both_have() -> None:
    base, test = shape_of("13_prone-sides.jpg"), shape_of("13_prone-overhead.jpg")
    area = points_of(pair(base, test, title="t"), "cl-accent-wash")
    assert len(area) == 8  # malleolus, knee, hip, shoulder of both
    assert area[0] == pytest.approx(area[-1])
    assert area[3] == pytest.approx(area[4])


def test_a_pair_of_mirrored_pictures_lies_as_the_test_does() -> None:
    measurement = measurement_of("14_prone-active.jpg")
    flipped = replace(
        measurement,
        near_side="right",
        landmarks={
            name: replace(mark, x_px=1599.0 - mark.x_px)
            for name, mark in measurement.landmarks.items()
        },
    )
    base, test = (read_shape(m, chord_of(m.test)) for m in (flipped, measurement))
    assert base is not None
    assert test is not None
    area = points_of(pair(base, test, title="t"), "cl-accent-wash")
    assert area[: len(area) // 2] == pytest.approx(area[len(area) // 2 :][::-1], abs=0.02)


def test_two_tests_without_common_feet_make_no_pair() -> None:
    shape = shape_of("14_prone-active.jpg")
    footless = replace(shape, names=("heel", *shape.names[1:]))
    with pytest.raises(ValueError, match="share the feet"):
        pair(footless, shape, title="t")


def test_over_the_photo_the_stroke_runs_through_the_landmarks() -> None:
    for name in squad():
        measurement = measurement_of(name)
        chord = chord_of(measurement.test)
        drawing = overlay(measurement, read_shape(measurement, chord), title="t")
        assert box_of(drawing) == [0.0, 0.0, 1600.0, 1200.0]
        marks = [measurement.landmarks[c] for c in chord]
        d = "M" + " ".join(f"{m.x_px:g} {m.y_px:g}" for m in marks)
        assert f'd="{d}"' in drawing
        assert "translate(0.5 0.5)" in drawing
