"""What a coach says of a group's training and of the skills."""

from dataclasses import replace
from pathlib import Path

import pytest

from chordline.application.training.defaults import default_training
from chordline.application.training.keep_training import KeepTraining, check_training
from chordline.application.training.records import StaleTrainingError, StationRecord
from chordline.errors import ImpossibleRecordError
from training_stories import OURS, open_group

RUNG = next(iter(OURS.rungs))


def test_what_we_assume_is_what_can_be_and_has_a_place_for_every_equipment() -> None:
    ours = default_training(1)
    check_training(ours, OURS)
    there = {one for station in ours.stations for one in station.equipment}
    assert there == set(OURS.equipment)


def test_with_what_we_assume_every_exercise_has_a_station() -> None:
    stations = [set(one.equipment) for one in default_training(1).stations]
    homeless = [
        name
        for name, one in OURS.exercises.items()
        if not any(set(one.equipment) <= station for station in stations)
    ]
    assert homeless == []


@pytest.mark.parametrize(
    ("wrong", "sentence"),
    [
        ({"weekdays": ()}, "on which days"),
        ({"weekdays": (4, 0)}, "in order"),
        ({"weekdays": (0, 7)}, "in order"),
        ({"minutes": 0}, "1 to 480"),
        ({"stations": ()}, "1 to 20 stations"),
        ({"stations": (StationRecord("A", 1), StationRecord(" a", 1))}, "two stations"),
        ({"stations": (StationRecord("A", 1, ("hoop",)),)}, "no equipment is called 'hoop'"),
    ],
)
def test_what_cannot_be_is_told(wrong: dict, sentence: str) -> None:
    with pytest.raises(ImpossibleRecordError, match=sentence):
        check_training(replace(default_training(1), **wrong), OURS)


def test_a_form_sent_twice_is_saved_once(tmp_path: Path) -> None:
    records, group_id, _ = open_group(tmp_path)
    keep = KeepTraining(records, OURS)
    said = replace(default_training(group_id), minutes=90)
    assert keep.save(said, token="a").version == 1
    assert keep.save(said, token="a").version == 1
    with pytest.raises(StaleTrainingError):
        keep.save(said, token="b")
    records.close()


def test_a_level_said_again_is_the_later_one(tmp_path: Path) -> None:
    records, _, (anna,) = open_group(tmp_path, "Anna")
    keep = KeepTraining(records, OURS)
    keep.say_level(anna.id, 3)
    keep.say_level(anna.id, 2)
    with records.reading() as tx:
        assert tx.training.levels([anna.id]) == {anna.id: 2}
    records.close()
