from pathlib import Path

import pytest

from chordline.catalogue.loader import load_catalogue
from chordline.catalogue.motion import load_motion
from chordline.errors import CatalogueError

CATALOGUE = load_catalogue()


def test_every_number_has_its_reason() -> None:
    motion = load_motion(CATALOGUE)
    assert all(one.reason for one in (*motion.settings.values(), *motion.limits.values()))


def test_holds_and_handstands_have_limits_and_lying_tests_have_none() -> None:
    motion = load_motion(CATALOGUE)
    assert {one.measure for one in motion.limits_of("hands")} >= {
        "hip_opening_deg",
        "shoulder_opening_deg",
        "line_from_vertical_deg",
    }
    assert motion.limits_of("hold")
    assert motion.limits_of("lying") == ()


def test_a_club_lays_its_own_number_over_ours(tmp_path: Path) -> None:
    (tmp_path / "motion.toml").write_text("[settings.certainty]\nvalue = 0.9\n")
    assert load_motion(CATALOGUE, tmp_path).hold_rules.certainty == 0.9


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("[settings.certainty]\nvalue = 0.4\n", "certainty.value: must be from one half"),
        ("[settings.settle_s]\nvalue = 0.0\n", "settle_s.value: must be above 0"),
        ("[settings.most_lost_share]\nvalue = 1.0\n", "most_lost_share.value: must be below 1"),
        ("[settings.speed]\nvalue = 1.0\nunit = 's'\nsource = 'assumption'\n", "speed: unknown"),
        ("[limits.hips]\nmeasure = 'hip'\n", "no measure is called 'hip'"),
        ("[limits.hips]\nenter = 20.0\n", "must not be above leave"),
        ("[limits.hips]\nsource = 'nowhere'\n", "no source is called 'nowhere'"),
    ],
)
def test_a_number_that_cannot_be_is_named(tmp_path: Path, text: str, told: str) -> None:
    (tmp_path / "motion.toml").write_text(text)
    with pytest.raises(CatalogueError, match=told):
        load_motion(CATALOGUE, tmp_path)
