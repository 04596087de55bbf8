"""The numbers of the live line: ours load, a club's faults are told with their path."""

from pathlib import Path

import pytest

from chordline.catalogue.live import load_live, stray_of
from chordline.catalogue.loader import load_catalogue
from chordline.errors import CatalogueError

CATALOGUE = load_catalogue()


def faults_of(folder: Path, text: str) -> str:
    (folder / "live.toml").write_text(text, encoding="utf-8")
    with pytest.raises(CatalogueError) as caught:
        load_live(CATALOGUE, folder)
    return "\n".join(caught.value.faults)


def test_ours_is_whole_and_every_test_tells_something() -> None:
    live = load_live(CATALOGUE)
    assert live.filter.lag_s == live.setting("lag_s")
    assert all(live.told_of(test) for test in CATALOGUE.tests.values())


def test_a_club_changes_one_number(tmp_path: Path) -> None:
    (tmp_path / "live.toml").write_text("[settings.lag_s]\nvalue = 0.5\n", encoding="utf-8")
    assert load_live(CATALOGUE, tmp_path).filter.lag_s == 0.5


def test_every_fault_is_told(tmp_path: Path) -> None:
    told = faults_of(
        tmp_path,
        '[settings.lag_s]\nvalue = 0.0\n[settings.speed]\nvalue = 1.0\nunit = "s"\n'
        'source = "assumption"\n[sounds.on]\n[order]\nmeasures = ["bow_max_pct"]\n',
    )
    for part in (
        "settings.lag_s.value: must be above 0",
        "settings.speed: unknown",
        "settings.speed.reason: an assumption needs its reason",
        "sounds: no part is called so",
        "words.bow_max_pct is missing",
    ):
        assert part in told


def test_a_margin_that_leaves_no_tone_is_told(tmp_path: Path) -> None:
    assert "margin" in faults_of(tmp_path, "[settings.margin]\nvalue = 0.6\n")


def test_a_stray_is_one_at_the_on_line_limit_and_two_at_the_close_one() -> None:
    entry = CATALOGUE.measures["hip_opening_deg"]
    assert stray_of(0.0, entry) == 0.0
    assert stray_of(entry.on_line, entry) == 1.0
    assert stray_of(entry.close, entry) == 2.0
    assert stray_of(2 * entry.close - entry.on_line, entry) == 3.0
