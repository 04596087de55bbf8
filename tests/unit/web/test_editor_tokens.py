"""The editor's colours are those of every sheet."""

import re
from pathlib import Path

import pytest

from chordline.adapters.printing.palette import DARK, LIGHT, ON_PHOTO, Palette, css_tokens

CSS = Path(__file__).resolve().parents[3] / "src" / "chordline" / "web" / "static" / "css"


def rules(text: str) -> list[str]:
    return [" ".join(block.split()) for block in re.findall(r":root\s*{([^{}]*)}", text)]


@pytest.mark.parametrize(
    ("palette", "prefix"),
    [(LIGHT, "--cl-"), (DARK, "--cl-"), (ON_PHOTO, "--cl-photo-")],
    ids=["light", "dark", "photo"],
)
def test_the_tokens_are_the_palette(palette: Palette, prefix: str) -> None:
    wanted = css_tokens(palette).replace("--cl-", prefix)
    assert any(wanted in rule for rule in rules((CSS / "tokens.css").read_text(encoding="utf-8")))


def test_the_editor_takes_its_colours_from_the_tokens_only() -> None:
    css = (CSS / "editor.css").read_text(encoding="utf-8")
    assert not re.findall(r"#[0-9a-f]{3,8}\b", css, flags=re.IGNORECASE)
    used = set(re.findall(r"var\((--cl-(?!side|strip|size)[\w-]+)", css))
    known = set(re.findall(r"(--cl-[\w-]+):", (CSS / "tokens.css").read_text(encoding="utf-8")))
    assert used <= known
