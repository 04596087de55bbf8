"""The colours: legible in both themes, and one accent only."""

import colorsys
from dataclasses import fields

import pytest

from chordline.adapters.printing.palette import DARK, LIGHT, ON_PHOTO, Palette, css_theme


def luminance(colour: str) -> float:
    """Relative luminance of WCAG 2.2."""
    parts = [int(colour[i : i + 2], 16) / 255.0 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    lighter, darker = sorted((luminance(one), luminance(other)), reverse=True)
    return (lighter + 0.05) / (darker + 0.05)


def test_the_contrast_formula_gives_21_for_black_on_white() -> None:
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.01)


@pytest.mark.parametrize("palette", [LIGHT, DARK], ids=["light", "dark"])
@pytest.mark.parametrize("role", ["ink", "ink_soft", "accent"])
@pytest.mark.parametrize("ground", ["paper", "panel"])
def test_text_is_legible(palette: Palette, role: str, ground: str) -> None:
    assert contrast(getattr(palette, role), getattr(palette, ground)) >= 4.5


@pytest.mark.parametrize("palette", [LIGHT, DARK], ids=["light", "dark"])
@pytest.mark.parametrize("ground", ["paper", "panel"])
def test_lines_that_must_be_seen_are(palette: Palette, ground: str) -> None:
    assert contrast(palette.hairline, getattr(palette, ground)) >= 3.0


@pytest.mark.parametrize("palette", [LIGHT, DARK], ids=["light", "dark"])
@pytest.mark.parametrize("ground", ["wash", "band", "accent_wash"])
def test_the_stroke_stands_out_from_every_area_that_it_crosses(
    palette: Palette, ground: str
) -> None:
    assert contrast(palette.ink, getattr(palette, ground)) >= 4.5


@pytest.mark.parametrize("role", ["ink", "accent"])
def test_labels_are_legible_inside_their_halo(role: str) -> None:
    assert contrast(getattr(ON_PHOTO, role), ON_PHOTO.paper) >= 4.5


@pytest.mark.parametrize("palette", [LIGHT, DARK, ON_PHOTO], ids=["light", "dark", "photo"])
def test_no_colour_is_red_or_green(palette: Palette) -> None:
    for field in fields(palette):
        colour = getattr(palette, field.name)
        red, green, blue = (int(colour[i : i + 2], 16) / 255.0 for i in (1, 3, 5))
        hue, _, saturation = (
            colorsys.rgb_to_hls(red, green, blue)[0],
            0.0,
            max(red, green, blue) - min(red, green, blue),
        )
        if saturation > 0.2:
            assert 20.0 < hue * 360.0 < 60.0 or 180.0 < hue * 360.0 < 260.0, field.name


def test_every_colour_reaches_the_page_in_both_themes() -> None:
    css = css_theme()
    for palette in (LIGHT, DARK):
        for field in fields(palette):
            assert f"--cl-{field.name.replace('_', '-')}: {getattr(palette, field.name)};" in css
    assert "@media screen and (prefers-color-scheme: dark)" in css
