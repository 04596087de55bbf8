"""Writing sheets into a folder: every gymnast's, and the squad's."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from chordline.application.findings import Findings
from chordline.application.screen_folder import FolderScreen
from chordline.application.sheet import Faces
from chordline.bootstrap import App
from chordline.cli.console import progress_bar

SQUAD = "squad"


@dataclass(frozen=True)
class Written:
    """What was written: the gymnasts' pages and papers, and the squad's."""

    sheets: tuple[Path, ...]
    squad_page: Path
    squad_paper: Path


def write_sheets(
    app: App,
    result: FolderScreen,
    all_found: Sequence[Findings],
    target: Path,
    *,
    squad: str,
    screened_on: str = "",
    faces: Faces = "hidden",
) -> Written:
    """Write a page and a PDF for every gymnast, and for the squad.

    Parameters
    ----------
    app : App
    result : FolderScreen
    all_found : sequence of Findings
        One a gymnast, in the order of `result.gymnasts`.
    target : Path
        The folder they go to.
    squad : str
        What the squad's sheet is called.
    screened_on : str
        The day in words, where it is known.
    faces : {'hidden', 'shown'}
    """
    target.mkdir(parents=True, exist_ok=True)
    make = app.make_sheet()
    written: list[Path] = []
    pages: list[str] = []
    with progress_bar("Printing") as bar:
        bar.start(len(result.gymnasts) + 1)
        for one, found in zip(result.gymnasts, all_found, strict=True):
            left_out = [left for left in result.left_out if left.owner == one.gymnast.name]
            sheet = make(one, left_out=left_out, found=found, screened_on=screened_on, faces=faces)
            stem = file_stem(one.gymnast.name, one.gymnast.card)
            page, paper = target / f"{stem}.html", target / f"{stem}.pdf"
            page.write_text(app.press.to_html(sheet), encoding="utf-8")
            paper.write_bytes(app.press.to_pdf(sheet))
            written += [page, paper]
            pages.append(page.name)
            bar.step(one.gymnast.name)
        whole = app.make_squad_sheet()(
            result, all_found, squad=squad, pages=pages, screened_on=screened_on
        )
        squad_page, squad_paper = target / f"{SQUAD}.html", target / f"{SQUAD}.pdf"
        squad_page.write_text(app.press.squad_to_html(whole), encoding="utf-8")
        squad_paper.write_bytes(app.press.squad_to_pdf(whole))
        bar.step(SQUAD)
    return Written(tuple(written), squad_page, squad_paper)


def file_stem(name: str, card: int | None) -> str:
    """Return a file name without suffix that any system takes, unique by card."""
    plain = re.sub(r"[^\w-]+", "-", name, flags=re.UNICODE).strip("-").lower() or "gymnast"
    if card is None:
        # A gymnast without a card may be called like the squad's own page.
        return f"gymnast-{plain}" if plain == SQUAD else plain
    return f"{card:03d}-{plain}"
