from pathlib import Path

import numpy as np
import pytest

from chordline.catalogue.progress import load_progress
from chordline.errors import CatalogueError
from progress_squads import AUTO, CHANGE_RULES, HAND, MODEL, PROGRESS, RETEST_RULES
from screen_stories import CATALOGUE


def laid_over(folder: Path, text: str) -> str:
    """Return the faults of a club's file."""
    (folder / "progress.toml").write_text(text, encoding="utf-8")
    with pytest.raises(CatalogueError) as caught:
        load_progress(CATALOGUE, folder)
    return str(caught.value)


def test_every_capacity_wanders_by_about_half_its_spread_in_eight_weeks() -> None:
    """The rule that progress.toml states, half as far again where something is learned."""
    for name, entry in PROGRESS.capacities.items():
        share = entry.wander_per_root_week * np.sqrt(8.0) / CATALOGUE.capacities[name].prior_sd
        assert 0.47 < share < 0.78, name


def test_the_smallest_change_worth_knowing_moves_a_word() -> None:
    for name, entry in PROGRESS.capacities.items():
        half = CATALOGUE.capacities[name].threshold / 2.0
        assert half <= entry.worth <= 1.25 * half, name


def test_a_capacity_is_known_where_a_word_would_be_said_of_it() -> None:
    assert PROGRESS.setting("known_share") == CATALOGUE.setting("worded")


def test_doubt_begins_where_she_is_known_no_better_than_before_the_first_test() -> None:
    prior_sds = [one.prior_sd for one in CATALOGUE.capacities.values()]
    np.testing.assert_allclose(RETEST_RULES.doubt_sd, prior_sds)


def test_the_wander_is_per_day() -> None:
    weekly = [entry.wander_per_root_week for entry in PROGRESS.capacities.values()]
    np.testing.assert_allclose(7.0 * MODEL.wander_variance_per_day, np.square(weekly))


def test_marks_by_hand_and_by_the_networks_have_their_own_offsets() -> None:
    assert (HAND.name, AUTO.name) == ("hand", "auto")
    assert (AUTO.offset_sds > HAND.offset_sds).all()


def test_a_club_may_change_a_number(tmp_path: Path) -> None:
    text = "[settings.retest_latest_weeks]\nvalue = 20.0\n"
    (tmp_path / "progress.toml").write_text(text, encoding="utf-8")
    progress = load_progress(CATALOGUE, tmp_path)
    assert progress.setting("retest_latest_weeks") == 20.0
    assert progress.version != PROGRESS.version
    assert RETEST_RULES.latest_days == 84
    assert CHANGE_RULES.sure == 0.95


def test_every_fault_is_told_with_its_path(tmp_path: Path) -> None:
    faults = laid_over(
        tmp_path,
        """
[capacities.wings_deg]
wander_per_root_week = 1.0
worth = 1.0
source = "hearsay"
[lasting.hip_offset_deg]
auto = 1.5
[settings.real_change]
value = 0.4
[settings.misfit_share]
value = 2.0
[settings.retest_earliest_weeks]
value = 30.0
[settings.known_share]
value = 1.0
[more]
""",
    )
    for part in (
        "capacities.wings_deg: unknown",
        "capacities.wings_deg.source: no source",
        "lasting.hip_offset_deg.auto",
        "settings.real_change.value: must be above one half",
        "settings.misfit_share.value: must lie between 0 and 1",
        "settings.retest_earliest_weeks.value: must not be after",
        "settings.known_share.value: must be below doubt_share",
        "progress.toml: more: no part",
    ):
        assert part in faults
