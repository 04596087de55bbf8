"""Reads the numbers and words of the live line and builds what the core takes of them."""

from collections.abc import Mapping
from importlib import resources
from pathlib import Path

from chordline.catalogue.entries import (
    find_misnamed,
    find_unknown_parts,
    find_unsourced,
    read_entries,
)
from chordline.catalogue.loader import read_tables
from chordline.catalogue.schema import (
    Catalogue,
    MeasureEntry,
    MeasureName,
    Record,
    Setting,
    Sourced,
    TestEntry,
)
from chordline.core.body.measures import ALL_MEASURES
from chordline.core.motion.live import LiveFilter, ToneRules
from chordline.errors import CatalogueError

_FILE = "live.toml"
_PARTS = ("settings", "order", "words")
_SETTINGS = (
    "lag_s",
    "forget_s",
    "margin",
    "dwell_s",
    "least_body_share",
    "border_share",
    "side_memory_s",
    "side_switch_log_odds",
    "let_go_s",
    "forget_her_s",
    "notice_s",
    "sure_side",
    "keep_session_s",
    "quiet_s",
    "most_sessions",
    "most_bytes",
    "most_px",
    "frame_px",
    "frame_quality",
    "least_gap_s",
    "roll_sd_deg",
)
#: Strays are told in shares of the on-line limit up to it, and from there to 2 at the close limit.
ON, CLOSE = 1.0, 2.0


class LiveOrder(Sourced):
    """Which measures are told, the most telling first."""

    measures: tuple[MeasureName, ...]


class LiveWords(Record):
    """A measure's shape in the few words that are read from the mat."""

    label: str
    zero: str
    positive: str
    negative: str


class LiveCatalogue(Record):
    """All records of the live line; `version` changes with any of its files."""

    version: str
    settings: dict[str, Setting]
    order: tuple[MeasureName, ...]
    words: dict[str, LiveWords]

    def setting(self, name: str) -> float:
        """Return a setting's value."""
        return self.settings[name].value

    @property
    def filter(self) -> LiveFilter:
        """How landmarks are smoothed."""
        return LiveFilter(lag_s=self.setting("lag_s"), forget_s=self.setting("forget_s"))

    @property
    def tone_rules(self) -> ToneRules:
        """When a tone changes, for strays as `stray_of` tells them."""
        return ToneRules(
            on=ON, close=CLOSE, margin=self.setting("margin"), dwell_s=self.setting("dwell_s")
        )

    def told_of(self, test: TestEntry) -> tuple[str, ...]:
        """Return the measures that are read in a test, the most telling first."""
        return tuple(name for name in self.order if name in test.measures)


def stray_of(value: float, entry: MeasureEntry) -> float:
    """Return a distance from the aligned shape, 1 at the on-line limit and 2 at the close one.

    Parameters
    ----------
    value : float
        Size of the stray in the measure's unit, ≥ 0.
    entry : MeasureEntry
    """
    if value <= entry.on_line:
        return ON * value / entry.on_line
    return ON + (CLOSE - ON) * (value - entry.on_line) / (entry.close - entry.on_line)


def load_live(catalogue: Catalogue, club: Path | None = None) -> LiveCatalogue:
    """Return the numbers and words of the live line, with a club's own laid over them.

    Raises
    ------
    CatalogueError
        With every fault and its path.
    """
    ours = resources.files("chordline.catalogue") / "data"
    tables, version = read_tables(ours, club, (_FILE,))
    table = tables[_FILE]
    faults = find_unknown_parts(_FILE, table, _PARTS)
    given = table.get("settings", {})
    settings = read_entries(Setting, f"{_FILE}: settings", given, faults)
    worded = table.get("words", {})
    words = read_entries(LiveWords, f"{_FILE}: words", worded, faults)
    orders = read_entries(LiveOrder, _FILE, {"order": table.get("order", {})}, faults)
    faults += find_unsourced(f"{_FILE}: settings", settings, catalogue.sources)
    faults += find_unsourced(_FILE, orders, catalogue.sources)
    faults += find_misnamed(f"{_FILE}: settings", given, _SETTINGS)
    faults += [
        f"{_FILE}: settings.{name}.value: must be above 0"
        for name, setting in settings.items()
        if not setting.value > 0.0
    ]
    faults += [
        f"{_FILE}: words.{name}: no measure is called so"
        for name in words
        if name not in ALL_MEASURES
    ]
    faults += [
        f"{_FILE}: words.{name} is missing"
        for order in orders.values()
        for name in order.measures
        if isinstance(worded, Mapping) and name not in worded
    ]
    if not faults and not 2.0 * settings["margin"].value < CLOSE - ON:
        faults.append(f"{_FILE}: settings.margin.value: must be below one half")
    if faults:
        raise CatalogueError(tuple(faults))
    return LiveCatalogue(
        version=version, settings=settings, order=orders["order"].measures, words=words
    )
