"""The ladder's rungs load whole; a club lays its own over them, and every fault has its path."""

import re
import tomllib
from pathlib import Path

import pytest

from chordline.catalogue.loader import load_catalogue
from chordline.catalogue.training import FOLDER, load_training
from chordline.catalogue.training_schema import TrainingCatalogue
from chordline.errors import CatalogueError

CATALOGUE = load_catalogue()
TRAINING = load_training(CATALOGUE)
DOCS = Path(__file__).resolve().parents[3] / "docs"


def club(folder: Path, rungs: str) -> TrainingCatalogue:
    (folder / FOLDER).mkdir(exist_ok=True)
    (folder / FOLDER / "rungs.toml").write_text(rungs, encoding="utf-8")
    return load_training(CATALOGUE, folder)


def faults(folder: Path, rungs: str) -> str:
    with pytest.raises(CatalogueError) as raised:
        club(folder, rungs)
    return str(raised.value)


def test_the_ladder_goes_from_the_floor_to_the_giant() -> None:
    rungs = list(TRAINING.rungs)
    assert len(rungs) >= 18
    order = ["pelvis-tucked", "dish-overhead", "tripod", "wall-handstand", "handstand-free"]
    order += ["back-roll-handstand", "cast-handstand", "giant-straps", "giant-backward"]
    assert [one for one in rungs if one in order] == order
    assert len({one.place for one in TRAINING.rungs.values()}) == len(rungs)


def test_every_rung_leans_only_on_rungs_below_it() -> None:
    for name, rung in TRAINING.rungs.items():
        assert all(TRAINING.rungs[below].place < rung.place for below in rung.rungs), name


def test_every_rung_says_its_care_and_refers_to_a_licensed_clinician() -> None:
    for name, rung in TRAINING.rungs.items():
        assert "licensed clinician" in rung.care, name
        assert rung.reason, name
        assert rung.loads, name


def test_a_rung_asks_no_less_than_the_rungs_it_leans_on() -> None:
    for name, rung in TRAINING.rungs.items():
        for below in rung.rungs:
            before = TRAINING.rungs[below]
            for capacity, most in before.capacities.items():
                assert rung.capacities.get(capacity, most) <= most, (name, below, capacity)
            seconds = {hold.test: hold.seconds for hold in rung.holds}
            for hold in before.holds:
                assert seconds.get(hold.test, hold.seconds) >= hold.seconds, (name, below)


def test_wrist_pain_bars_everything_on_the_hands() -> None:
    barred = set(TRAINING.bars["wrist_pain"].loads)
    on_hands = [name for name, rung in TRAINING.rungs.items() if "weight_on_hands" in rung.loads]
    free = [name for name, rung in TRAINING.rungs.items() if not barred & set(rung.loads)]
    assert {"tripod", "wall-handstand", "support-tall", "cast-level"} <= set(on_hands)
    assert set(free) & set(on_hands) == set()
    assert "line-prone" in free


def test_a_club_changes_one_threshold_and_the_version_changes(tmp_path: Path) -> None:
    theirs = club(tmp_path, "[wall-handstand.capacities]\nshoulder_flexion_deg = 6.0\n")
    ours = TRAINING.rungs["wall-handstand"]
    changed = theirs.rungs["wall-handstand"]
    assert changed.capacities["shoulder_flexion_deg"] == 6.0
    assert changed.capacities["hip_extension_deg"] == ours.capacities["hip_extension_deg"]
    assert theirs.version != TRAINING.version


def test_a_club_changes_how_sure_ready_is(tmp_path: Path) -> None:
    assert club(tmp_path, "[settings.ladder_sure]\nvalue = 0.9\n").setting("ladder_sure") == 0.9


def test_the_example_of_the_documentation_loads(tmp_path: Path) -> None:
    text = (DOCS / "ladder.md").read_text(encoding="utf-8")
    (example,) = re.findall(r"```toml\n(.*?)```", text, flags=re.DOTALL)
    theirs = club(tmp_path, example)
    assert "handstand-walk" in tomllib.loads(example)
    assert "handstand-walk" in theirs.rungs


NEW = """
[own]
title = "Our own rung"
what = "What she does."
place = 999
care = "Stop at pain."
source = "common practice"
"""

BOW = 'test = "handstand", measure = "bow_max_pct"'
HELD = '{ test = "hold-front", seconds = 5.0 }'


@pytest.mark.parametrize(
    ("rungs", "told"),
    [
        (NEW.replace('title = "Our own rung"\n', ""), "rungs.toml: own.title: Field required"),
        (NEW, "rungs.toml: own: what does it lean on?"),
        (NEW + 'rungs = ["own"]', "own → own: leads back to itself by 'rungs'"),
        (NEW + 'rungs = ["nowhere"]', "own.rungs: no rung is called 'nowhere'"),
        ('[tripod]\nrungs = ["tripod-line"]', "leads back to itself by 'rungs'"),
        (NEW + "capacities = { courage_deg = 1.0 }", "no capacity is called 'courage_deg'"),
        (NEW + 'meanwhile = ["nothing"]', "own.meanwhile: no exercise is called 'nothing'"),
        (NEW + 'holds = [{ test = "prone-sides", seconds = 5.0 }]', "'prone-sides' is no hold"),
        (NEW + 'holds = [{ test = "hold-front", seconds = -5.0 }]', "holds.0.seconds"),
        (
            NEW + 'measures = [{ test = "x", measure = "bow_max_pct", most = 1.0 }]',
            "no test is called 'x'",
        ),
        (
            NEW + 'measures = [{ test = "handstand", measure = "hip_height_cm", most = 1.0 }]',
            "handstand has no measure 'hip_height_cm'",
        ),
        (
            NEW + 'measures = [{ test = "handstand", measure = "bow_max_pct" }]',
            "bow_max_pct needs 'least' or 'most'",
        ),
        (
            NEW + f"measures = [{{ {BOW}, least = 5.0, most = 5.0 }}]",
            "bow_max_pct: 'least' must be below 'most'",
        ),
        (
            NEW + f"holds = [{HELD}, {HELD}]",
            "hold_log_s of hold-front is asked for twice",
        ),
        (NEW + 'rungs = ["tripod"]\nloads = ["moonlight"]', "rungs.toml: own.loads.0"),
        (NEW.replace("common practice", "hearsay"), "no source is called 'hearsay'"),
        ("[settings.ladder_sure]\nvalue = 1.0\n", "0 < ladder_missing < 0.5 ≤ ladder_sure < 1"),
        (
            '[settings.weeks]\nvalue = 1\nunit = "weeks"\nsource = "common practice"\n',
            "settings.weeks: plan.toml has it too",
        ),
    ],
)
def test_a_fault_of_a_clubs_ladder_is_told_with_its_path(
    tmp_path: Path, rungs: str, told: str
) -> None:
    assert told in faults(tmp_path, rungs)


def test_every_fault_is_told_at_once(tmp_path: Path) -> None:
    told = faults(tmp_path, NEW + 'rungs = ["nowhere"]\nmeanwhile = ["nothing"]\n')
    assert "nowhere" in told
    assert "nothing" in told
