"""Writing sheets into a folder."""

import re
from pathlib import Path

from chordline.application.screen_folder import FolderScreen
from chordline.bootstrap import App
from chordline.cli.console import progress_bar


def write_sheets(app: App, result: FolderScreen, target: Path) -> tuple[Path, ...]:
    """Write a page and a PDF for every gymnast and return their paths."""
    target.mkdir(parents=True, exist_ok=True)
    make = app.make_sheet()
    written = []
    with progress_bar("Printing") as bar:
        bar.start(len(result.gymnasts))
        for one in result.gymnasts:
            left_out = [left for left in result.left_out if left.owner == one.gymnast.name]
            sheet = make(one, left_out=left_out)
            stem = target / file_stem(one.gymnast.name, one.gymnast.card)
            page, paper = stem.with_suffix(".html"), stem.with_suffix(".pdf")
            page.write_text(app.press.to_html(sheet), encoding="utf-8")
            paper.write_bytes(app.press.to_pdf(sheet))
            written += [page, paper]
            bar.step(one.gymnast.name)
    return tuple(written)


def file_stem(name: str, card: int | None) -> str:
    """Return a file name without suffix that any system takes, unique by card."""
    plain = re.sub(r"[^\w-]+", "-", name, flags=re.UNICODE).strip("-").lower() or "gymnast"
    return plain if card is None else f"{card:03d}-{plain}"
