"""Reads the numbers about videos and builds what the core takes of them."""

from importlib import resources
from pathlib import Path
from typing import Annotated, Literal

from pydantic import Field

from chordline.catalogue.entries import (
    find_misnamed,
    find_unknown_parts,
    find_unsourced,
    read_entries,
)
from chordline.catalogue.loader import read_tables
from chordline.catalogue.schema import Catalogue, Record, Setting, Sourced
from chordline.core.body.measures import ALL_MEASURES
from chordline.core.motion.arrival import ArrivalRules
from chordline.core.motion.shape import HoldRules, ShapeLimit
from chordline.errors import CatalogueError

_FILE = "motion.toml"
_PARTS = ("settings", "limits")
_SETTINGS = (
    "longest_video_s",
    "hold_cutoff_hz",
    "arrival_cutoff_hz",
    "sway_cutoff_hz",
    "bridge_s",
    "landmark_memory_s",
    "noise_window_s",
    "settle_s",
    "shortest_break_s",
    "certainty",
    "most_lost_share",
    "arrival_within_deg",
    "arrival_still_deg_per_s",
    "arrival_settle_s",
    "arrival_certainty",
    "timing_rel_sd",
)


class ShapeLimitEntry(Sourced):
    """How far a measure may stray in the holds of some groups of tests; as `ShapeLimit`."""

    groups: tuple[Literal["lying", "hold", "hands", "dish"], ...]
    measure: str
    enter: Annotated[float, Field(ge=0)]
    leave: Annotated[float, Field(gt=0)]
    still_per_s: Annotated[float, Field(gt=0)]
    sense: Literal["closing", "opening", "both"]
    against: Literal["line", "start"]

    def limit(self) -> ShapeLimit:
        """Return the limit of the core."""
        return ShapeLimit(
            measure=self.measure,
            enter=self.enter,
            leave=self.leave,
            still_per_s=self.still_per_s,
            sense=self.sense,
            against=self.against,
        )


class MotionCatalogue(Record):
    """All records about videos; `version` changes with any of its files."""

    version: str
    settings: dict[str, Setting]
    limits: dict[str, ShapeLimitEntry]

    def setting(self, name: str) -> float:
        """Return a setting's value."""
        return self.settings[name].value

    def limits_of(self, group: str) -> tuple[ShapeLimit, ...]:
        """Return what a hold of a group of tests may not leave; empty where none is held."""
        return tuple(one.limit() for one in self.limits.values() if group in one.groups)

    @property
    def hold_rules(self) -> HoldRules:
        """When a hold begins, breaks, and cannot be told."""
        return HoldRules(
            settle_s=self.setting("settle_s"),
            shortest_break_s=self.setting("shortest_break_s"),
            certainty=self.setting("certainty"),
            most_lost_share=self.setting("most_lost_share"),
        )

    @property
    def arrival_rules(self) -> ArrivalRules:
        """What counts as arrived in a handstand."""
        return ArrivalRules(
            within_deg=self.setting("arrival_within_deg"),
            still_deg_per_s=self.setting("arrival_still_deg_per_s"),
            settle_s=self.setting("arrival_settle_s"),
            certainty=self.setting("arrival_certainty"),
        )


def load_motion(catalogue: Catalogue, club: Path | None = None) -> MotionCatalogue:
    """Return the numbers about videos, with a club's own laid over them.

    Raises
    ------
    CatalogueError
        With every fault and its path.
    """
    ours = resources.files("chordline.catalogue") / "data"
    tables, version = read_tables(ours, club, (_FILE,))
    table = tables[_FILE]
    faults = find_unknown_parts(_FILE, table, _PARTS)
    settings = read_entries(Setting, f"{_FILE}: settings", table.get("settings", {}), faults)
    limits = read_entries(ShapeLimitEntry, f"{_FILE}: limits", table.get("limits", {}), faults)
    faults += find_unsourced(f"{_FILE}: settings", settings, catalogue.sources)
    faults += find_unsourced(f"{_FILE}: limits", limits, catalogue.sources)
    given = table.get("settings", {})
    faults += find_misnamed(f"{_FILE}: settings", given, _SETTINGS)
    for name, setting in settings.items():
        if not setting.value > 0.0 and name != "landmark_memory_s":
            faults.append(f"{_FILE}: settings.{name}.value: must be above 0")
    for name, one in limits.items():
        if one.measure not in ALL_MEASURES:
            faults.append(f"{_FILE}: limits.{name}.measure: no measure is called '{one.measure}'")
        if not one.enter <= one.leave:
            faults.append(f"{_FILE}: limits.{name}.enter: must not be above leave")
    if not faults:
        faults += _impossible(settings)
    if faults:
        raise CatalogueError(tuple(faults))
    return MotionCatalogue(version=version, settings=settings, limits=limits)


def _impossible(settings: dict[str, Setting]) -> list[str]:
    """Return what shares and probabilities cannot be."""
    faults = [
        f"{_FILE}: settings.{name}.value: must be from one half to below 1"
        for name in ("certainty", "arrival_certainty")
        if not 0.5 <= settings[name].value < 1.0
    ]
    if not settings["most_lost_share"].value < 1.0:
        faults.append(f"{_FILE}: settings.most_lost_share.value: must be below 1")
    if settings["landmark_memory_s"].value < 0.0:
        faults.append(f"{_FILE}: settings.landmark_memory_s.value: must not be below 0")
    return faults
