"""What progress is judged with, built once from the catalogue."""

from dataclasses import dataclass
from pathlib import Path

from chordline.catalogue.progress import (
    build_change_rules,
    build_marker,
    build_progress_model,
    build_retest_rules,
    load_progress,
)
from chordline.catalogue.schema import Catalogue
from chordline.core.progress.change import ChangeRules
from chordline.core.progress.retest import RetestRules
from chordline.core.progress.timeline import Marker, ProgressModel


@dataclass(frozen=True)
class ProgressNumbers:
    """The model with its rules.

    Attributes
    ----------
    catalogue : Catalogue
    model : ProgressModel
    by_hand, by_networks : Marker
        Who set the landmarks of a screen.
    changes : ChangeRules
    retests : RetestRules
    fast_growth_factor : float, at least 1
        By how much the wander of a gymnast is multiplied who surely grows fast.
    """

    catalogue: Catalogue
    model: ProgressModel
    by_hand: Marker
    by_networks: Marker
    changes: ChangeRules
    retests: RetestRules
    fast_growth_factor: float

    def growth_factor(self, chance: float | None) -> float:
        """Return by how much growth multiplies the wander.

        Parameters
        ----------
        chance : float or None
            Probability that she grows fast; None = not known, which is taken for no.
        """
        return 1.0 if chance is None else 1.0 + chance * (self.fast_growth_factor - 1.0)

    def place(self, capacity: str) -> int:
        """Return the place of a capacity in the model."""
        return self.model.names.index(capacity)


def read_numbers(catalogue: Catalogue, club: Path | None = None) -> ProgressNumbers:
    """Return the numbers, with those of a club's own catalogue folder laid over ours."""
    progress = load_progress(catalogue, club)
    return ProgressNumbers(
        catalogue=catalogue,
        model=build_progress_model(catalogue, progress),
        by_hand=build_marker(catalogue, progress, by_hand=True),
        by_networks=build_marker(catalogue, progress, by_hand=False),
        changes=build_change_rules(catalogue, progress),
        retests=build_retest_rules(catalogue, progress),
        fast_growth_factor=progress.setting("fast_growth_factor"),
    )
