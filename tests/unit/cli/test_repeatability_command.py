"""`chordline repeatability` on a club of its own."""

import json
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import typer

from chordline.application.repeatability.records import NewTask, Reading
from chordline.bootstrap import App, build_app
from chordline.cli.main import app
from club_stories import file_photo, found_club

Run = Callable[..., str]
PHOTOS = 12


@pytest.fixture
def data(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.delenv("CHORDLINE_DATABASE", raising=False)
    monkeypatch.delenv("CHORDLINE_CATALOGUE", raising=False)
    return tmp_path / "data"


@pytest.fixture
def run(data: Path, capsys: pytest.CaptureFixture[str]) -> Run:
    def run_it(*words: str) -> str:
        capsys.readouterr()
        every = ["repeatability", *words, "--data", str(data)]
        typer.main.get_command(app).main(every, standalone_mode=False)
        return capsys.readouterr().out

    return run_it


def study(made: App) -> None:
    """Kim and Lea mark twelve photos twice; Lea reads about 5° more."""
    rng = np.random.default_rng(1)
    club, (anna,) = found_club(made.records, "Anna")
    with made.records.transaction() as tx:
        photos = []
        for i in range(PHOTOS):
            photos.append(file_photo(tx, anna, f"{i}.jpg", "prone-out").id)
        begun = tx.studies.add(club.id, photos=photos, seed=1, twice=True, author="Kim")
        order = [NewTask(photo, turn) for turn in (1, 2) for photo in photos]
        for coach, offset in (("Kim", 0.0), ("Lea", 5.0)):
            for task in tx.studies.join(begun.id, coach, order):
                value = float(-3.0 * photos.index(task.photo_id) + offset + rng.normal(0.0, 1.0))
                reading = Reading(value, 1.0, 0.8, "deg")
                tx.studies.keep(task.id, marks={}, readings={"hip_opening_deg": reading})


def test_a_club_without_a_study_is_told_what_to_photograph(run: Run) -> None:
    told = run()
    assert "no study of marks says anything yet" in told
    assert "Photograph ten gymnasts twice in" in told
    assert "Errors in use: our defaults" in told


def test_a_study_is_told_in_words_with_errors_before_and_after(run: Run, data: Path) -> None:
    made = build_app(data=data)
    study(made)
    made.records.close()
    told = run()
    assert "Kim: all 24 marked" in told
    assert "Hips [hip_opening_deg], 12 photos" in told
    assert "Kim reads" in told
    assert "less than Lea" in told
    assert "Setting a mark: 4 px" in told


def test_json_names_every_form_of_the_icc_and_what_is_in_use(run: Run, data: Path) -> None:
    made = build_app(data=data)
    study(made)
    club = made.club()
    version = made.catalogue.version
    used = made.use_noise().use(club.id, 1, author="Kim")
    assert made.catalogue.version != version
    made.records.close()
    told = json.loads(run("--json"))
    assert told["schema"] == "chordline.repeatability/1"
    hips = told["study"]["measures"]["hip_opening_deg"]
    assert set(hips["between_coaches"]["icc"]) == {
        f"ICC({form},{raters})" for form in "123" for raters in "1k"
    }
    assert hips["sources"]["within_coach"]["sd"] == pytest.approx(1.0, rel=0.4)
    assert hips["pairs"][0]["bias"]["value"] == pytest.approx(-5.0, abs=1.0)
    assert told["in_use"] == dict(used.record) == told["noise"]
