"""The catalogue loads whole, and a club's faulty file is told fault by fault."""

from pathlib import Path

import pytest

from chordline.catalogue.loader import load_catalogue
from chordline.core.body.measures import ALL_MEASURES
from chordline.errors import CatalogueError


def test_every_measure_that_code_knows_has_words() -> None:
    assert set(load_catalogue().measures) == set(ALL_MEASURES)


def test_every_test_has_its_care_sentence_and_instruction() -> None:
    for test in load_catalogue().tests.values():
        assert test.care
        assert test.how


def club(tmp_path: Path, **files: str) -> Path:
    for name, text in files.items():
        (tmp_path / f"{name}.toml").write_text(text, encoding="utf-8")
    return tmp_path


def test_a_club_changes_one_number_and_the_version_changes(tmp_path: Path) -> None:
    ours = load_catalogue()
    theirs = load_catalogue(club(tmp_path, measures="[hip_opening_deg]\non_line = 7.0\n"))
    assert theirs.measures["hip_opening_deg"].on_line == 7.0
    assert theirs.measures["hip_opening_deg"].close == ours.measures["hip_opening_deg"].close
    assert theirs.version != ours.version


def test_a_club_adds_a_test(tmp_path: Path) -> None:
    text = """
    [prone-hands]
    title = "On the stomach, hands behind the head"
    reads = "Whether the elbows pull the back."
    how = "Hands behind the head."
    group = "lying"
    arms = "out"
    chord_end = "shoulder"
    front = "down"
    base = "prone-sides"
    minutes = 0.5
    measures = ["hip_opening_deg"]
    judged = { hip_opening_deg = "closing" }
    care = "Stop at pain."
    source = "common practice"
    """
    assert "prone-hands" in load_catalogue(club(tmp_path, tests=text)).tests


@pytest.mark.parametrize(
    ("file", "text", "told"),
    [
        ("measures", "[hip_opening_deg]\non_line = -1\n", "measures.toml: hip_opening_deg.on_line"),
        ("measures", "[hip_opening_deg]\non_line = 99.0\n", "'close' must be larger"),
        (
            "measures",
            "[hip_opening_deg]\ncolour = 'red'\n",
            "measures.toml: hip_opening_deg.colour",
        ),
        ("measures", "[hip_opening_deg]\nsource = 'a-book'\n", "no source is called 'a-book'"),
        ("measures", "[hip_opening_deg]\nreason = ''\n", "an assumption needs its reason"),
        ("measures", "[pelvis_deg]\nlabel = 'x'\n", "measures.toml: pelvis_deg"),
        ("measures", "[hip_opening_deg\n", "measures.toml"),
        ("tests", "[prone-out]\nbase = 'prone-up'\n", "tests.toml: prone-out.base"),
        ("tests", "[prone-out]\nbase = 'prone-out'\n", "cannot be its own base"),
        ("tests", "[prone-out]\nmeasures = ['hips']\n", "tests.toml: prone-out.measures.0"),
        ("tests", "[prone-out]\nwatch = ['neck_flexion_deg']\n", "prone-out.watch"),
        ("model", "[prone-up.hip_opening_deg]\nloads = {}\n", "model.toml: prone-up"),
        (
            "model",
            "[prone-sides.hip_opening_deg]\nloads = { courage = 1.0 }\n",
            "no capacity or nuisance is called 'courage'",
        ),
        (
            "model",
            "[prone-sides.hip_opening_deg]\nmodel_sd = 0.0\n",
            "model.toml: prone-sides.hip_opening_deg.model_sd",
        ),
        (
            "model",
            "[handstand.balance_lean_deg]\ninstead_of = 'sway'\n",
            "handstand.balance_lean_deg.instead_of: the test has no row 'sway'",
        ),
        ("referrals", "[pain]\nstops = ['prone-up']\n", "referrals.toml: pain.stops"),
    ],
)
def test_a_fault_is_told_with_its_path(tmp_path: Path, file: str, text: str, told: str) -> None:
    with pytest.raises(CatalogueError) as raised:
        load_catalogue(club(tmp_path, **{file: text}))
    assert told in str(raised.value)


def test_all_faults_are_told_at_once(tmp_path: Path) -> None:
    folder = club(
        tmp_path,
        measures="[hip_opening_deg]\non_line = -1\n",
        tests="[prone-out]\nbase = 'prone-up'\n",
    )
    with pytest.raises(CatalogueError) as raised:
        load_catalogue(folder)
    assert len(raised.value.faults) == 2
