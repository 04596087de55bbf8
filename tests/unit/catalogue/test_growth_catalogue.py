"""Growth catalogue: every fault is found and told with its path; a club's files lie over ours."""

from importlib import resources
from pathlib import Path

import pytest

from chordline.catalogue.growth import FOLDER, load_growth, our_growth
from chordline.errors import CatalogueError

OURS = resources.files("chordline.catalogue") / "data" / FOLDER


def club_with(tmp_path: Path, file: str, text: str) -> Path:
    folder = tmp_path / FOLDER
    folder.mkdir(exist_ok=True)
    (folder / file).write_text(text, encoding="utf-8")
    return tmp_path


def changed(file: str, old: str, new: str) -> str:
    text = (OURS / file).read_text(encoding="utf-8")
    assert old in text
    return text.replace(old, new, 1)


@pytest.mark.parametrize(
    ("file", "old", "new", "fault"),
    [
        ("height_for_age.csv", "sex,age", "sex,months", "height_for_age.csv: the first line"),
        (
            "height_for_age.csv",
            "2,120,1,138.6363",
            "2,120,1,183.6363",
            "height_for_age.csv: sex 2, month 120.m: 183.6363",
        ),
        (
            "height_for_age.csv",
            "2,120,1,138.6363,0.04614\n",
            "",
            "month 121: comes after month 119",
        ),
        ("bmi_for_age.csv", "1,60,-0.7151,", "1,60,-0.7151,-", "bmi_for_age.csv: line 2.m: "),
        ("bmi_for_age.csv", "1,61,-0.7387,15.2641,0.08390", "1,61,-0.7387,15.2641,0.09390", ".s: "),
        ("maturity.toml", '"leg_cm", "sitting_cm"', '"leg", "sitting_cm"', "mirwald_girl.terms.0"),
        ("maturity.toml", "from_years = 8.0", "from_years = 10.0", "mirwald_girl.: Value error"),
        ("maturity.toml", 'source = "mirwald-2002"', 'source = "x"', "no source is called 'x'"),
        ("settings.toml", "value = 0.5", "value = -0.5", "stature_sd.value: must be above 0"),
        ("settings.toml", 'reason = "One trained', 'reason = ""\n# "', "stature_sd.reason: an"),
        ("tables.toml", '"bmi_for_age.csv"', '"../bmi.csv"', "bmi_for_age.file: there is no"),
        ("tables.toml", "skewed = true", 'skewed = "some"', "bmi_for_age.skewed"),
    ],
)
def test_a_fault_is_told_with_its_path(
    tmp_path: Path, file: str, old: str, new: str, fault: str
) -> None:
    with pytest.raises(CatalogueError) as told:
        load_growth(club_with(tmp_path, file, changed(file, old, new)))
    assert any(fault in one for one in told.value.faults), told.value.faults


def test_a_table_without_one_sex_is_a_fault(tmp_path: Path) -> None:
    lines = (OURS / "weight_for_age.csv").read_text(encoding="utf-8").splitlines()
    boys = "\n".join(line for line in lines if not line.startswith("2,"))
    with pytest.raises(CatalogueError, match="no rows for the sex 2"):
        load_growth(club_with(tmp_path, "weight_for_age.csv", boys))


def test_an_entry_that_is_no_table_is_a_fault(tmp_path: Path) -> None:
    with pytest.raises(CatalogueError, match=r"tables.toml: waist.file"):
        load_growth(club_with(tmp_path, "tables.toml", "waist = 3\n"))


def test_a_club_sets_its_own_threshold_and_the_version_changes(tmp_path: Path) -> None:
    theirs = load_growth(club_with(tmp_path, "settings.toml", "[fast_growth]\nvalue = 8.0\n"))
    assert theirs.setting("fast_growth") == 8.0
    assert our_growth().setting("fast_growth") != 8.0
    assert theirs.version != our_growth().version


def test_a_clubs_own_growth_table_takes_the_place_of_ours(tmp_path: Path) -> None:
    text = (OURS / "height_for_age.csv").read_text(encoding="utf-8")
    taller = "\n".join(
        f"{sex},{age},{power},{float(median) * 1.02},{spread}"
        for sex, age, power, median, spread in (line.split(",") for line in text.splitlines()[1:])
    )
    theirs = load_growth(club_with(tmp_path, "height_for_age.csv", f"sex,age,l,m,s\n{taller}\n"))
    table, ours = (c.table("height_for_age", "girl") for c in (theirs, our_growth()))
    assert table is not None
    assert ours is not None
    assert table.median == pytest.approx(1.02 * ours.median)
    assert theirs.version != our_growth().version
