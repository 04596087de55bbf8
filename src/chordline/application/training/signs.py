"""Signs that hold an exercise back: reported ones and those that her photos show; what they bar."""

from collections.abc import Iterable, Sequence
from datetime import date
from typing import Final, get_args

from chordline.application.club.her_screen import flags_on
from chordline.application.club.records import NoteRecord
from chordline.catalogue.schema import Catalogue
from chordline.catalogue.training_schema import Load, TrainingCatalogue

_EVERY_LOAD: Final[frozenset[str]] = frozenset(get_args(Load))


def open_signs(notes: Sequence[NoteRecord], catalogue: Catalogue) -> tuple[str, ...]:
    """Return the reported signs that nobody has closed."""
    # On the last of all days nothing is open that was ever closed.
    return flags_on(notes, date.max, catalogue)


def seen_signs(
    notes: Sequence[NoteRecord], stops: Iterable[str], screened_on: date, catalogue: Catalogue
) -> tuple[str, ...]:
    """Return the signs that her latest photos show by themselves.

    Parameters
    ----------
    notes : sequence of NoteRecord
        All of hers.
    stops : iterable of str
        The signs for which the findings of that screen stop something.
    screened_on : date
    catalogue : Catalogue

    Notes
    -----
    A sign that was noted then and has been closed since stops her no more.
    """
    then = flags_on(notes, screened_on, catalogue)
    return tuple(
        dict.fromkeys(one for one in stops if one in catalogue.referrals and one not in then)
    )


def barred_loads(signs: Iterable[str], training: TrainingCatalogue) -> frozenset[str]:
    """Return the loads that signs bar; a sign without an entry bars every load."""
    return frozenset(
        load
        for sign in signs
        for load in (training.bars[sign].loads if sign in training.bars else _EVERY_LOAD)
    )


def tests_stopped_by(signs: Iterable[str], catalogue: Catalogue) -> tuple[str, ...]:
    """Return the tests that are not to be done while signs are open."""
    stops = [catalogue.referrals[sign] for sign in signs if sign in catalogue.referrals]
    return tuple(
        name
        for name, test in catalogue.tests.items()
        if any(name in stop.stops or test.group in stop.stops_groups for stop in stops)
    )
