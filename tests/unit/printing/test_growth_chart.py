"""The chart of statures: complete, told in words too, and quiet."""

import xml.etree.ElementTree as ET

from chordline.adapters.printing.growth_chart import HEIGHT_PX, WIDTH_PX, draw_growth
from chordline.catalogue.growth import our_growth

TABLE = our_growth().table("height_for_age", "girl")
POINTS = [(10.0, 132.0), (10.5, 134.5), (11.0, 137.5)]
SVG = "{http://www.w3.org/2000/svg}"


def drawn(points, table=TABLE) -> ET.Element:
    return ET.fromstring(draw_growth(points, table, title="Statures", desc="132 cm <at> 10"))


def dots(root: ET.Element) -> list[tuple[float, float]]:
    return [(float(one.attrib["cx"]), float(one.attrib["cy"])) for one in root.iter(f"{SVG}circle")]


def test_every_stature_is_a_dot_from_left_to_right_and_upwards() -> None:
    found = dots(drawn(POINTS))
    assert found == sorted(found)
    assert [y for _, y in found] == sorted((y for _, y in found), reverse=True)
    assert len(found) == 3


def test_a_stature_on_the_median_lies_on_the_broken_line() -> None:
    root = drawn([(10.0, 138.6363)])
    ((x, y),) = dots(root)
    broken = next(one for one in root.iter(f"{SVG}path") if "stroke-dasharray" in one.attrib)
    numbers = [float(one) for one in broken.attrib["d"].lstrip("M").split()]
    placed = zip(numbers[::2], numbers[1::2], strict=True)
    assert min(abs(x - a) + abs(y - b) for a, b in placed) < 0.1


def test_it_is_told_to_whoever_does_not_see_it_and_colours_follow_the_theme() -> None:
    root = drawn(POINTS)
    assert root.attrib["role"] == "img"
    assert root.findtext(f"{SVG}title") == "Statures"
    assert root.findtext(f"{SVG}desc") == "132 cm <at> 10"
    said = [one.text for one in root.iter(f"{SVG}text")]
    assert {"+2 SD", "median", "−2 SD", "years", "cm"} <= set(said)
    assert all("class" in one.attrib for one in root.iter(f"{SVG}text"))


def test_without_a_table_or_outside_it_her_statures_stand_alone() -> None:
    for root in (drawn(POINTS, None), drawn([(30.0, 165.0)])):
        assert "median" not in [one.text for one in root.iter(f"{SVG}text")]
        assert dots(root)


def test_nothing_is_drawn_outside_the_picture() -> None:
    for points in (POINTS, [(5.2, 60.0), (18.8, 229.0)], [(1.0, 75.0)]):
        for x, y in dots(drawn(points)):
            assert 0.0 < x < WIDTH_PX
            assert 0.0 < y < HEIGHT_PX
