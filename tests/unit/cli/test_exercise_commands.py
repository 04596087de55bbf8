import json
from collections.abc import Callable

import pytest
import typer

from chordline.bootstrap import build_app
from chordline.cli.exercises import exercises
from chordline.errors import WrongUseError

Run = Callable[..., str]
TRAINING = build_app().training


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]) -> Run:
    app = typer.Typer()
    app.command()(exercises)

    def run_it(*words: str) -> str:
        capsys.readouterr()
        typer.main.get_command(app).main(list(words), standalone_mode=False)
        return capsys.readouterr().out

    return run_it


def test_without_words_every_exercise_is_listed_with_its_dose(run: Run) -> None:
    told = run()
    assert [name for name in TRAINING.exercises if f" {name} " not in told] == []
    assert "2\u00a0×\u00a030\u00a0s, each side" in told


def test_a_key_tells_everything_and_the_caution_comes_before_how(run: Run) -> None:
    told = run("kneeling-lunge-tucked")
    entry = TRAINING.exercises["kneeling-lunge-tucked"]
    assert told.index(entry.care) < told.index(entry.how)
    assert entry.fault in told
    assert "Assumption" in told
    assert "kneeling-lunge-arm-up" in told


def test_words_capacity_and_home_narrow_the_list(run: Run) -> None:
    found = [
        json.loads(line)
        for line in run("hollow", "--for", "hip_extension_deg", "--home", "--json").splitlines()
    ]
    assert found
    for one in found:
        assert one["home"]
        assert "hip_extension_deg" in one["feeds"]
        assert "hollow" in json.dumps(one).lower()


def test_one_exercise_as_json(run: Run) -> None:
    assert json.loads(run("forearm-plank", "--json"))["title"] == "Forearm hold"


def test_an_unknown_capacity_is_wrong_use(run: Run) -> None:
    with pytest.raises(WrongUseError, match="no capacity is called so"):
        run("--for", "wings")


def test_nothing_found_lists_nothing(run: Run) -> None:
    assert run("zebra") == ""
