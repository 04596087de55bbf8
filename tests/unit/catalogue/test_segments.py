"""Segment tables: every fault is found and told with its path."""

from collections.abc import Callable
from importlib import resources

import pytest

from chordline.catalogue.segments import load_segments
from chordline.errors import CatalogueError

FOLDER = resources.files("chordline.catalogue") / "data" / "segments"


def reading(file: str, old: str, new: str) -> Callable[[str], str]:
    """A reader of our files in which one text stands changed."""

    def read(name: str) -> str:
        text = (FOLDER / name).read_text(encoding="utf-8")
        if name == file:
            assert old in text
            return text.replace(old, new, 1)
        return text

    return read


@pytest.mark.parametrize(
    ("file", "old", "new", "fault"),
    [
        ("winter_2009.csv", "0.081,1,0,", "0.091,1,0,", "winter-2009.whole: the masses make 1.01"),
        ("winter_2009.csv", "0.433,0.567,0.302", "0.433,0.467,0.302", "Leg.cm_dist"),
        ("winter_2009.csv", "0.302,0.528", "0.302,0.538", "Leg.rg_prox: 0.538 is not sqrt"),
        (
            "winter_2009.csv",
            "Thigh,GTR-KJC,0.1",
            "Thigh,GTR-KJC,1.1",
            "winter_2009.csv: Thigh.mass",
        ),
        ("winter_2009.csv", "0.495,0.116", "0.495,1.116", "misprints: Head neck.rg_prox"),
        ("tables.toml", "consistent = 1.116", "consistent = 1.216", "Head neck.rg_prox: 1.216"),
        ("tables.toml", 'segment = "Leg"', 'segment = "Lag"', "no line is called 'Lag'"),
        ("tables.toml", "C7T1 = 0.93", "C7T1 = 1.20", "winter-2009.places: the trunk's centre"),
        ("tables.toml", "VERT = 858.5", "VERT = 868.5", "de-leva-1996-female.same: "),
        ("tables.toml", "OMPH = 181.5\n", "", "de-leva-1996-female.places: OMPH"),
        ("tables.toml", 'link = "foot"', 'link = "toe"', "parts.8.link"),
        ("tables.toml", 'source = "de-leva-1996"', 'source = "x"', "no source is called 'x'"),
        ("de_leva_1996_male.csv", "0.4346,0.4486", "0.4346,0.4686", "de-leva-1996-male.same"),
        ("lengths.toml", 'source = "drillis-contini-1966"', 'source = "y"', "called 'y'"),
        ("lengths.toml", "[thigh]", "[thig]", "lengths.toml: thigh is missing"),
        ("handstand.toml", "[margin]", "[margins]", "handstand.toml: margin is missing"),
        ("handstand.toml", "[margin]", "[margin", "segments: "),
    ],
)
def test_a_fault_is_told_with_its_path(file: str, old: str, new: str, fault: str) -> None:
    with pytest.raises(CatalogueError) as told:
        load_segments(reading(file, old, new))
    assert any(fault in one for one in told.value.faults), told.value.faults


def test_all_faults_are_told_at_once() -> None:
    with pytest.raises(CatalogueError) as told:
        load_segments(reading("winter_2009.csv", "0.302,0.528,0.643", "0.302,0.538,0.653"))
    assert len(told.value.faults) == 2


def test_a_changed_byte_changes_the_version() -> None:
    ours = load_segments().version
    assert load_segments().version == ours
    assert load_segments(reading("handstand.toml", "value = 20.0", "value = 21.0")).version != ours


def test_every_table_makes_a_whole_body_on_every_link() -> None:
    segments = load_segments()
    assert len(segments.tables) == 3
    for parts in segments.all_parts():
        assert parts.mass.sum() == pytest.approx(1.0, abs=1e-12)


def test_lengths_of_the_links_make_her_stature_from_shoulder_to_ankle() -> None:
    fractions = load_segments().link_fractions()
    body = sum(fractions[link] for link in ("upper_trunk", "lower_trunk", "thigh", "shank"))
    # Shoulder height less ankle height, of drillis-contini-1966 (memory).
    assert body == pytest.approx(0.818 - 0.039, abs=0.0005)
