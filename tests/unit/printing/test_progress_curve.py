"""The curve of one capacity."""

import re
from datetime import date
from xml.etree import ElementTree

import numpy as np

from chordline.adapters.printing.progress_curve import CurveShape, draw_curve

DAYS = (date(2025, 3, 3), date(2025, 4, 3), date(2025, 5, 5), date(2025, 6, 2))


def shape(mean: tuple[float, ...] = (20.0, 15.0, 10.0, 10.0), sd: float = 3.0) -> CurveShape:
    return CurveShape(
        days=tuple(one.toordinal() for one in DAYS),
        mean=np.array(mean),
        sd=np.full(4, sd),
        screens=(True, None, False, None),
        limit=8.0,
    )


def draw(of: CurveShape) -> str:
    return draw_curve(
        of,
        title="Hips <through>",
        desc="told",
        aligned="straight",
        label=lambda size: f"{size:.0f}°",
        day_label=lambda day: f"{day:%d %b}",
    )


def heights(svg: str) -> list[float]:
    return [float(one) for one in re.findall(r'cy="([\d.]+)"', svg)]


def test_a_dot_stands_at_each_screen_and_an_open_one_where_nothing_was_measured() -> None:
    svg = draw(shape())
    assert svg.count("cl-dot") == 1
    assert svg.count("cl-open-dot") == 1


def test_less_missing_is_nearer_to_the_line() -> None:
    first, last = heights(draw(shape()))
    assert last > first


def test_the_stroke_breaks_after_the_latest_screen() -> None:
    broken = re.findall(
        r"<path[^>]*stroke-dasharray[^>]*cl-stroke-soft|"
        r"<path[^>]*cl-stroke-soft[^>]*stroke-dasharray",
        draw(shape()),
    )
    assert len(broken) == 1


def test_a_band_wider_than_the_drawing_stays_inside() -> None:
    root = ElementTree.fromstring(draw(shape(sd=500.0)))
    height = float(root.attrib["height"])
    numbers = re.findall(
        r"[ M](-?[\d.]+) (-?[\d.]+)", " ".join(one.attrib.get("d", "") for one in root.iter())
    )
    assert all(0.0 <= float(y) <= height for _, y in numbers)


def test_what_is_more_than_needed_stands_below_the_line_inside_the_drawing() -> None:
    svg = draw(shape((-2.0, -3.0, -4.0, -4.0)))
    root = ElementTree.fromstring(svg)
    assert all(0.0 < one < float(root.attrib["height"]) for one in heights(svg))


def test_one_screen_of_today_is_a_drawing_too() -> None:
    one = CurveShape((DAYS[0].toordinal(),), np.array([5.0]), np.array([2.0]), (True,), 8.0)
    assert "03 Mar" in draw(one)


def test_words_are_escaped_and_spoken() -> None:
    svg = draw(shape())
    assert "<title>Hips &lt;through&gt;</title>" in svg
    assert "<desc>told</desc>" in svg
