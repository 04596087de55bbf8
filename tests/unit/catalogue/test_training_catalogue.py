"""The exercise catalogue as a coach would check it, and a club's faulty files told by path."""

from collections import Counter
from collections.abc import Callable, Iterable
from pathlib import Path

import pytest

from chordline.catalogue.loader import load_catalogue
from chordline.catalogue.training import load_training
from chordline.catalogue.training_schema import ExerciseEntry, TrainingCatalogue
from chordline.core.planning.problem import KINDS
from chordline.errors import CatalogueError

CATALOGUE = load_catalogue()
TRAINING = load_training(CATALOGUE)
EXERCISES = TRAINING.exercises
#: Common practice: one unhurried repetition takes at least so long.
LEAST_REPETITION_S = 3.0
NEVER_ALONE = {"upside_down", "neck_loaded", "hanging", "impact", "back_arched", "back_loaded"}
GROUP_OF = {
    "hip_extension_deg": "hip_flexors",
    "shoulder_flexion_deg": "chest_lats",
    "shoulder_active_lag_deg": "shoulder_lifters",
    "pelvic_tuck_deg": "pelvis",
    "upper_back_rounding_deg": "upper_back",
    "front_chain_s": "front_chain",
    "back_chain_s": "back_chain",
    "shoulder_push_pct": "shoulder_push",
    "neck_flexion_deg": "neck",
    "hand_balance_deg": "hands",
}


def named(keep: Callable[[str, ExerciseEntry], bool]) -> list[str]:
    return [name for name, one in EXERCISES.items() if keep(name, one)]


def fed(exercises: Iterable[ExerciseEntry]) -> Counter[str]:
    return Counter(capacity for one in exercises for capacity in one.feeds)


def turn_min(one: ExerciseEntry) -> float:
    """Return the least time of a turn [min] by its dose alone."""
    dose = one.dose
    turns = dose.sets * (2 if dose.each_side else 1)
    work_s = dose.seconds or (dose.reps or 0) * LEAST_REPETITION_S
    return (turns * work_s + (turns - 1) * dose.rest_s) / 60


def test_there_are_many_exercises_and_each_kind_has_its_share() -> None:
    kinds = Counter(one.kind for one in EXERCISES.values())
    assert len(EXERCISES) >= 90
    assert set(kinds) == set(KINDS)
    assert min(kinds.values()) >= 8


def test_every_capacity_is_fed_by_several() -> None:
    counts = fed(EXERCISES.values())
    assert [name for name in CATALOGUE.capacities if counts[name] < 5] == []


def test_a_turn_has_time_for_its_dose_and_fits_into_a_round() -> None:
    most_min = TRAINING.setting("round_min")
    assert named(lambda _, one: not turn_min(one) <= one.minutes <= most_min) == []


def test_the_weekly_dose_is_a_turn_at_least_and_within_what_the_group_may_have() -> None:
    groups = TRAINING.groups
    assert (
        named(
            lambda _, one: (
                not one.minutes <= one.weekly_dose_min <= groups[one.group].most_weekly_min
            )
        )
        == []
    )


def test_an_exercise_counts_for_the_group_of_what_it_feeds_most_of_all() -> None:
    assert named(lambda _, one: GROUP_OF[next(iter(one.feeds))] != one.group) == []


def test_every_exercise_says_when_to_stop_and_who_then_looks() -> None:
    assert named(lambda _, one: "licensed clinician" not in one.care) == []
    assert len({one.care for one in EXERCISES.values()}) == len(EXERCISES)


def test_titles_and_words_are_told_apart() -> None:
    for words in ("title", "how", "fault"):
        counts = Counter(getattr(one, words) for one in EXERCISES.values())
        assert [text for text, count in counts.items() if count > 1] == []


def test_no_word_judges_the_child() -> None:
    for one in EXERCISES.values():
        said = f"{one.position} {one.how} {one.watch} {one.fault} {one.care}".lower()
        assert [word for word in ("lazy", "bad ", "weak", "fat", "clumsy") if word in said] == []


def test_what_stands_on_the_hands_carries_weight_on_them() -> None:
    on_hands = named(
        lambda name, one: (
            "hand_balance_deg" in one.feeds
            or any(part in name for part in ("handstand", "tripod", "kick-up", "plank-tucked"))
        )
    )
    assert len(on_hands) >= 20
    assert [
        name
        for name in on_hands
        if not {"weight_on_hands", "wrist_bent_back"} <= set(EXERCISES[name].loads)
    ] == []


def test_nobody_is_upside_down_or_on_the_neck_without_somebody_beside() -> None:
    # A light press of the own hand loads the neck too, but the child sits.
    assert named(lambda _, one: "upside_down" in one.loads and one.spotter == "none") == []


def test_a_tripod_has_a_coach_a_mat_and_a_neck_that_bends() -> None:
    tripods = {name: one for name, one in EXERCISES.items() if name.startswith("tripod")}
    assert len(tripods) >= 3
    for name, one in tripods.items():
        assert {"neck_loaded", "upside_down"} <= set(one.loads), name
        assert one.spotter == "coach", name
        assert "mat" in one.equipment, name
        assert one.from_age_y >= 8, name
        assert one.needs["neck_flexion_deg"] <= 20, name


def test_closed_shoulders_have_tripods_but_no_handstands() -> None:
    closed = 18.0
    allowed = {
        name: one
        for name, one in EXERCISES.items()
        if one.needs.get("shoulder_flexion_deg", closed) >= closed
    }
    assert {"tripod-knees-on-elbows", "tripod-straight", "box-kneel-chest-sink"} <= set(allowed)
    assert [
        name
        for name in (
            "small-kick-ups",
            "sideways-exit",
            "kick-up-to-wall",
            "wall-walk-up",
            "spotted-free-hold",
            "free-hold-short",
            "wall-handstand-shrugs",
            "handstand-quarter-turn",
            "back-roll-to-handstand",
            "hang-dish-to-line",
            "giant-rise-lying",
        )
        if name in allowed
    ] == []


def test_a_dish_is_barred_by_back_pain_on_arching() -> None:
    dishes = named(lambda _, one: "dish" in f"{one.title} {one.position}".lower())
    barred = set(TRAINING.bars["back_pain_arching"].loads)
    assert len(dishes) >= 5
    assert [name for name in dishes if not barred & set(EXERCISES[name].loads)] == []


def test_what_is_done_at_home_is_safe_alone() -> None:
    home = named(lambda _, one: one.home)
    assert len(home) >= 25
    assert [name for name in home if NEVER_ALONE & set(EXERCISES[name].loads)] == []
    assert [name for name in home if EXERCISES[name].spotter != "none"] == []
    assert [name for name in home if EXERCISES[name].level != 1 or EXERCISES[name].hard] == []
    # At home there is a wall and a broomstick.
    assert {thing for name in home for thing in EXERCISES[name].equipment} <= {"wall", "stick"}


def test_home_has_something_for_every_capacity_but_balance() -> None:
    counts = fed(one for one in EXERCISES.values() if one.home)
    assert [name for name in CATALOGUE.capacities if counts[name] < 3] == ["hand_balance_deg"]


def test_sore_wrists_leave_work_for_every_capacity_but_balance() -> None:
    barred = set(TRAINING.bars["wrist_pain"].loads)
    counts = fed(one for one in EXERCISES.values() if not barred & set(one.loads))
    assert [name for name in CATALOGUE.capacities if counts[name] < 3] == ["hand_balance_deg"]
    assert counts["hand_balance_deg"] == 0


def test_easier_and_harder_mirror_each_other() -> None:
    for name, one in EXERCISES.items():
        assert [other for other in one.harder if name not in EXERCISES[other].easier] == []
        assert [other for other in one.easier if name not in EXERCISES[other].harder] == []


def test_a_harder_neighbour_asks_for_no_less_experience() -> None:
    for name, one in EXERCISES.items():
        lower = [other for other in one.harder if EXERCISES[other].level < one.level]
        assert lower == [], name


def test_gains_are_assumptions_with_a_reason_and_an_honest_doubt() -> None:
    for name, one in EXERCISES.items():
        for capacity, feed in one.feeds.items():
            assert feed.source == "assumption", (name, capacity)
            assert feed.reason, (name, capacity)
            assert 0.5 <= feed.sd / feed.gain <= 1.0, (name, capacity)


def faults_of(tmp_path: Path, file: str, text: str) -> str:
    folder = tmp_path / "training"
    folder.mkdir()
    (folder / f"{file}.toml").write_text(text, encoding="utf-8")
    with pytest.raises(CatalogueError) as told:
        load_training(CATALOGUE, tmp_path)
    return str(told.value)


RUNG = """
[club-rung]
title = "A rung of the club"
what = "What it is."
place = 900
rungs = ["{needs}"]
care = "Stop at pain."
source = "common practice"
"""


@pytest.mark.parametrize(
    ("file", "text", "told"),
    [
        (
            "exercises_range",
            "[kneeling-lunge-tucked]\nequipment = ['trapeze']\n",
            "exercises_range.toml: kneeling-lunge-tucked.equipment: "
            "no equipment is called 'trapeze'",
        ),
        (
            "exercises_range",
            "[kneeling-lunge-arm-up]\nharder = ['kneeling-lunge-tucked']\n",
            "kneeling-lunge-tucked → kneeling-lunge-arm-up → kneeling-lunge-tucked: "
            "leads back to itself by 'harder'",
        ),
        (
            "rungs",
            RUNG.format(needs="club-rung"),
            "club-rung → club-rung: leads back to itself by 'rungs'",
        ),
        ("rungs", RUNG.format(needs="moon"), "rungs.toml: club-rung.rungs: no rung is called"),
        (
            "exercises_strength",
            "[forearm-plank.dose]\nreps = 8\n",
            "exercises_strength.toml: forearm-plank.dose: either 'reps' or 'seconds'",
        ),
        (
            "exercises_strength",
            "[forearm-plank]\nkind = 'range'\n",
            "exercises_strength.toml: forearm-plank.kind: 'range' belongs into another file",
        ),
        (
            "exercises_control",
            "[prone-tuck]\ngroup = 'knees'\n",
            "exercises_control.toml: prone-tuck.group: no muscle group is called 'knees'",
        ),
        (
            "exercises_control",
            "[prone-tuck.feeds.pelvic_tuck_deg]\nreason = ''\n",
            "exercises_control.toml: prone-tuck.feeds.pelvic_tuck_deg.reason: an assumption needs",
        ),
        (
            "exercises_control",
            "[prone-tuck]\nloads = ['courage']\n",
            "exercises_control.toml: prone-tuck.loads.0",
        ),
        (
            "exercises_shape",
            "[prone-tuck]\ntitle = 'Twice'\n",
            "exercises_shape.toml: prone-tuck.kind: Field required",
        ),
    ],
)
def test_a_faulty_club_file_is_told_by_its_path(
    tmp_path: Path, file: str, text: str, told: str
) -> None:
    assert told in faults_of(tmp_path, file, text)


def with_club(tmp_path: Path, text: str) -> TrainingCatalogue:
    folder = tmp_path / "training"
    folder.mkdir()
    (folder / "exercises_range.toml").write_text(text, encoding="utf-8")
    return load_training(CATALOGUE, tmp_path)


def test_a_club_changes_one_number_of_an_exercise(tmp_path: Path) -> None:
    theirs = with_club(tmp_path, "[kneeling-lunge-tucked.dose]\nseconds = 20\n")
    ours = EXERCISES["kneeling-lunge-tucked"]
    changed = theirs.exercises["kneeling-lunge-tucked"]
    assert (changed.dose.seconds, changed.dose.sets) == (20, ours.dose.sets)
    assert changed.how == ours.how
    assert theirs.version != TRAINING.version


def test_the_example_of_the_guide_loads(tmp_path: Path) -> None:
    guide = Path(__file__).resolve().parents[3] / "docs" / "exercises.md"
    example = guide.read_text(encoding="utf-8").partition("```toml\n")[2].partition("```")[0]
    theirs = with_club(tmp_path, example)
    added = set(theirs.exercises) - set(EXERCISES)
    assert len(added) == 1
    assert turn_min(theirs.exercises[added.pop()]) <= TRAINING.setting("round_min")


def test_the_guide_says_what_every_load_means() -> None:
    guide = Path(__file__).resolve().parents[3] / "docs" / "exercises.md"
    text = guide.read_text(encoding="utf-8")
    loads = {load for one in EXERCISES.values() for load in one.loads}
    assert loads == set(TRAINING.bars["pain"].loads)
    assert [load for load in sorted(loads) if f"| `{load}` |" not in text] == []
