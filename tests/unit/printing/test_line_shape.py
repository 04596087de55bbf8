"""The body line freed from its picture."""

from dataclasses import replace

import numpy as np
import pytest
from sample_sheets import chord_of, measurement_of, squad

from chordline.adapters.printing.line_shape import LineShape, over_common_chord, read_shape
from chordline.core.body.measurement import Mark, Measurement

OVERHEAD = ("malleolus", "knee", "hip", "shoulder", "hand")
TOWARDS = {"up": (0, -1), "down": (0, 1), "left": (-1, 0), "right": (1, 0)}


def shape_of(name: str, **changes: float) -> LineShape:
    measurement = measurement_of(name, **changes)
    shape = read_shape(measurement, chord_of(measurement.test))
    assert shape is not None
    return shape


def moved(measurement: Measurement, name: str, by: tuple[float, float]) -> Measurement:
    mark = measurement.landmarks[name]
    there = replace(mark, x_px=mark.x_px + by[0], y_px=mark.y_px + by[1])
    return replace(measurement, landmarks={**measurement.landmarks, name: there})


@pytest.mark.parametrize("name", squad())
def test_the_chord_runs_from_0_to_100_and_both_ends_lie_on_it(name: str) -> None:
    shape = shape_of(name)
    assert shape.along_pct[[0, -1]] == pytest.approx([0.0, 100.0])
    assert shape.bow_pct[[0, -1]] == pytest.approx([0.0, 0.0], abs=1e-9)


@pytest.mark.parametrize("name", squad())
def test_a_hip_moved_to_the_front_bows_more_positively(name: str) -> None:
    measurement = measurement_of(name)
    x, y = TOWARDS[measurement.front]
    further = moved(measurement, "hip", (10.0 * x, 10.0 * y))
    before, after = (read_shape(m, chord_of(m.test)) for m in (measurement, further))
    assert before is not None
    assert after is not None
    hip = before.names.index("hip")
    gain_px = (after.bow_pct[hip] - before.bow_pct[hip]) * before.chord_px / 100.0
    assert 9.0 < gain_px <= 10.0


def test_hips_closed_by_20_degrees_bow_to_the_back() -> None:
    shape = shape_of("12_prone-active.jpg")
    assert shape.bow_pct[shape.names.index("hip")] < -5.0
    assert shape.widest() == "hip"


def test_a_standing_chord_is_told_from_a_lying_one() -> None:
    assert shape_of("11_handstand.jpg").upright
    assert not shape_of("11_dish-overhead.jpg").upright


def test_nothing_is_pointed_out_where_no_bow_exceeds_its_error() -> None:
    assert shape_of("11_supine-sides.jpg", sd_px=4.0).widest() is None
    assert shape_of("11_supine-sides.jpg", sd_px=0.1).widest() == "hip"


def test_an_end_of_the_chord_is_never_pointed_out() -> None:
    assert all(shape_of(name, sd_px=0.0).widest() not in {"malleolus", "hand"} for name in squad())


def test_a_landmark_between_the_ends_may_be_missing_but_an_end_may_not() -> None:
    measurement = measurement_of("12_handstand.jpg")
    marks = dict(measurement.landmarks)
    del marks["knee"]
    shape = read_shape(replace(measurement, landmarks=marks), OVERHEAD)
    assert shape is not None
    assert shape.names == ("malleolus", "hip", "shoulder", "hand")
    del marks["hand"]
    assert read_shape(replace(measurement, landmarks=marks), OVERHEAD) is None
    assert read_shape(replace(measurement, landmarks={}), OVERHEAD) is None


def test_ends_in_one_place_make_no_chord() -> None:
    measurement = measurement_of("12_handstand.jpg")
    at = Mark(5.0, 5.0, 1.0, "hand")
    marks = {"malleolus": at, "hand": at}
    assert read_shape(replace(measurement, landmarks=marks), ("malleolus", "hand")) is None


@pytest.mark.parametrize("name", [name for name in squad() if "sides" not in name])
def test_a_shorter_chord_gives_what_reading_it_from_the_picture_gives(name: str) -> None:
    measurement = measurement_of(name)
    long, short = read_shape(measurement, OVERHEAD), read_shape(measurement, OVERHEAD[:-1])
    assert long is not None
    assert short is not None
    turned = over_common_chord(long, "shoulder")
    assert turned.along_pct[:-1] == pytest.approx(short.along_pct)
    assert turned.bow_pct[:-1] == pytest.approx(short.bow_pct, abs=1e-9)
    assert turned.sd_pct[:-1] == pytest.approx(short.sd_pct)
    assert np.allclose(turned.headwards, short.headwards)
    assert np.allclose(turned.frontwards, short.frontwards)
    assert turned.chord_px == pytest.approx(short.chord_px)
