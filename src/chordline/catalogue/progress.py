"""Reads the numbers about change through time and builds what the core takes of them."""

from importlib import resources
from pathlib import Path

import numpy as np

from chordline.catalogue.capacity_model import build_capacity_model
from chordline.catalogue.entries import (
    find_misnamed,
    find_unknown_parts,
    find_unsourced,
    read_entries,
)
from chordline.catalogue.loader import read_tables
from chordline.catalogue.progress_schema import CapacityMotion, LastingEntry, ProgressCatalogue
from chordline.catalogue.schema import Catalogue, Setting
from chordline.core.progress.change import ChangeRules
from chordline.core.progress.retest import RetestRules
from chordline.core.progress.timeline import Marker, ProgressModel
from chordline.errors import CatalogueError

_FILE = "progress.toml"
_PARTS = ("capacities", "lasting", "settings")
_SHARES = (
    "misfit_share",
    "real_change",
    "change_told",
    "retest_power",
    "known_share",
    "doubt_share",
)
_WEEKS = ("retest_earliest_weeks", "retest_latest_weeks")
_FACTORS = ("fast_growth_factor",)


def load_progress(catalogue: Catalogue, club: Path | None = None) -> ProgressCatalogue:
    """Return the numbers about change, with a club's own laid over them.

    Parameters
    ----------
    catalogue : Catalogue
        Names the capacities, nuisances and sources that this one speaks of.
    club : Path, optional
        The folder of the club's catalogue.

    Raises
    ------
    CatalogueError
        With every fault and its path.
    """
    ours = resources.files("chordline.catalogue") / "data"
    tables, version = read_tables(ours, club, (_FILE,))
    table = tables[_FILE]
    faults = find_unknown_parts(_FILE, table, _PARTS)
    capacities = read_entries(
        CapacityMotion, f"{_FILE}: capacities", table.get("capacities", {}), faults
    )
    lasting = read_entries(LastingEntry, f"{_FILE}: lasting", table.get("lasting", {}), faults)
    settings = read_entries(Setting, f"{_FILE}: settings", table.get("settings", {}), faults)
    faults += find_unsourced(f"{_FILE}: capacities", capacities, catalogue.sources)
    faults += find_unsourced(f"{_FILE}: lasting", lasting, catalogue.sources)
    faults += find_unsourced(f"{_FILE}: settings", settings, catalogue.sources)
    for part, given, wanted in (
        ("capacities", table.get("capacities", {}), list(catalogue.capacities)),
        ("lasting", table.get("lasting", {}), list(catalogue.nuisances)),
        ("settings", table.get("settings", {}), [*_SHARES, *_WEEKS, *_FACTORS]),
    ):
        faults += find_misnamed(f"{_FILE}: {part}", given, wanted)
    faults += _impossible(settings)
    if faults:
        raise CatalogueError(tuple(faults))
    return ProgressCatalogue(
        version=version, capacities=capacities, lasting=lasting, settings=settings
    )


def _impossible(settings: dict[str, Setting]) -> list[str]:
    faults = [
        f"{_FILE}: settings.{name}.value: must lie between 0 and 1"
        for name in _SHARES
        if name in settings and not 0.0 <= settings[name].value <= 1.0
    ]
    faults += [
        f"{_FILE}: settings.{name}.value: must be above one half: less is no more than a guess"
        for name in ("real_change", "retest_power")
        if name in settings and not 0.5 < settings[name].value < 1.0
    ]
    faults += [
        f"{_FILE}: settings.{name}.value: must be at least 1: growth widens the wander"
        for name in _FACTORS
        if name in settings and settings[name].value < 1.0
    ]
    known, doubt = settings.get("known_share"), settings.get("doubt_share")
    if known and doubt and not known.value < doubt.value:
        faults.append(f"{_FILE}: settings.known_share.value: must be below doubt_share")
    weeks = [settings[name].value for name in _WEEKS if name in settings]
    if len(weeks) == len(_WEEKS) and not 0.0 < weeks[0] <= weeks[1]:
        faults.append(f"{_FILE}: settings.{_WEEKS[0]}.value: must not be after {_WEEKS[1]}")
    return faults


def build_progress_model(catalogue: Catalogue, progress: ProgressCatalogue) -> ProgressModel:
    """Return the model of the core."""
    per_root_week = [
        progress.capacities[name].wander_per_root_week for name in catalogue.capacities
    ]
    return ProgressModel(
        capacities=build_capacity_model(catalogue),
        wander_variance_per_day=np.square(per_root_week) / 7.0,
        misfit_share=progress.setting("misfit_share"),
    )


def build_marker(catalogue: Catalogue, progress: ProgressCatalogue, *, by_hand: bool) -> Marker:
    """Return who set the landmarks of a screen: a hand or the networks."""
    nuisances = catalogue.nuisances.items()
    lasting = [progress.lasting[name] for name, _ in nuisances]
    return Marker(
        name="hand" if by_hand else "auto",
        offset_sds=np.array([one.hand_sd if by_hand else one.sd for _, one in nuisances]),
        lasting_shares=np.array([one.hand if by_hand else one.auto for one in lasting]),
    )


def build_change_rules(catalogue: Catalogue, progress: ProgressCatalogue) -> ChangeRules:
    """Return when a change is called real."""
    return ChangeRules(
        sure=progress.setting("real_change"),
        told=progress.setting("change_told"),
        worth=np.array([progress.capacities[name].worth for name in catalogue.capacities]),
    )


def build_retest_rules(catalogue: Catalogue, progress: ProgressCatalogue) -> RetestRules:
    """Return the limits of re-testing."""
    prior_sds = np.array([one.prior_sd for one in catalogue.capacities.values()])
    return RetestRules(
        earliest_days=round(7.0 * progress.setting("retest_earliest_weeks")),
        latest_days=round(7.0 * progress.setting("retest_latest_weeks")),
        power=progress.setting("retest_power"),
        known_sd=progress.setting("known_share") * prior_sds,
        doubt_sd=progress.setting("doubt_share") * prior_sds,
    )
