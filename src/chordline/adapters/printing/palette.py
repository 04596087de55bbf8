"""The colours of chordline: paper, ink and one accent, in a light and a dark theme.

Every page, drawing and printed sheet takes its colours from here. There is no red and no green,
and no colour carries a meaning alone: a word, a shape or the hatch always says it too.
"""

from dataclasses import dataclass, fields
from typing import Final


@dataclass(frozen=True)
class Palette:
    """One theme, as ``#rrggbb``.

    Attributes
    ----------
    paper, panel : str
        Ground of the page, and of what stands on it.
    ink, ink_soft : str
        Text and the body's stroke; text of second rank.
    hairline : str
        Chord and borders: lines that must be seen, at least 3 : 1 on paper and panel.
    wash : str
        Light fill between body and chord.
    band : str
        Soft band of uncertainty around the stroke.
    accent : str
        What to look at.
    accent_wash : str
        Light fill of a difference between two tests.
    """

    paper: str
    panel: str
    ink: str
    ink_soft: str
    hairline: str
    wash: str
    band: str
    accent: str
    accent_wash: str


LIGHT: Final = Palette(
    paper="#fbf8f1",
    panel="#f2ede1",
    ink="#1d2935",
    ink_soft="#4b5763",
    hairline="#78808a",
    wash="#d9e1e8",
    band="#a9b9c8",
    accent="#9a4800",
    accent_wash="#f0cfa8",
)

DARK: Final = Palette(
    paper="#12181e",
    panel="#1b232b",
    ink="#efeadf",
    ink_soft="#b7bdc3",
    hairline="#7d8791",
    wash="#2b3742",
    band="#4b5c6c",
    accent="#ffb35c",
    accent_wash="#5a3f1d",
)

#: Over a photo the theme does not matter, the picture does: ink inside a pale halo is legible on
#: mat, skin and wood alike.
ON_PHOTO: Final = Palette(
    paper="#ffffff",
    panel="#ffffff",
    ink="#14202b",
    ink_soft="#14202b",
    hairline="#14202b",
    wash="#ffffff",
    band="#8fd0ff",
    accent="#9a4800",
    accent_wash="#ffd9a6",
)


def css_tokens(palette: Palette) -> str:
    """Return the palette as CSS custom properties, ``--cl-ink: #1d2935; …``."""
    return " ".join(
        f"--cl-{field.name.replace('_', '-')}: {getattr(palette, field.name)};"
        for field in fields(palette)
    )


def css_theme() -> str:
    """Return the rules that set both themes; paper is always printed light."""
    return (
        f":root {{ color-scheme: light dark; {css_tokens(LIGHT)} }}\n"
        "@media screen and (prefers-color-scheme: dark) {\n"
        f"  :root {{ {css_tokens(DARK)} }}\n"
        "}\n"
        ".cl-wash { fill: var(--cl-wash); }\n"
        ".cl-accent-wash { fill: var(--cl-accent-wash); }\n"
        ".cl-band { fill: var(--cl-band); }\n"
        ".cl-chord, .cl-hatch { stroke: var(--cl-hairline); }\n"
        ".cl-stroke { stroke: var(--cl-ink); }\n"
        ".cl-stroke-soft { stroke: var(--cl-ink-soft); }\n"
        ".cl-dot { fill: var(--cl-ink); }\n"
        ".cl-look { fill: var(--cl-accent); stroke: var(--cl-paper); }\n"
        ".cl-word { fill: var(--cl-ink); }\n"
        ".cl-word-soft { fill: var(--cl-ink-soft); }\n"
    )
