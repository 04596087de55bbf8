"""Who was erased is erased again where older records bring her back."""

from collections.abc import Sequence

from chordline.application.club.erased import Erased
from chordline.application.club.her_record import KeepHer
from chordline.application.club.ports import Records
from chordline.errors import NotThereError


def who_was_erased(records: Records) -> tuple[Erased, ...]:
    """Return who was erased, to be carried past restoring: older records do not know it."""
    with records.reading() as tx:
        return tx.erased.all()


class EraseAgain:
    """Use case: after restoring, erase everybody who was erased since the backup was made.

    Killed at any moment, it is done by the next call: what is to be erased is on disk first.
    """

    def __init__(self, records: Records, keep_her: KeepHer) -> None:
        self._records = records
        self._keep_her = keep_her

    def __call__(self, known: Sequence[Erased] = ()) -> tuple[int, ...]:
        """Return the numbers of those who were erased again.

        Parameters
        ----------
        known : sequence of Erased
            Who was erased as the records that were replaced told it (`who_was_erased`).
        """
        with self._records.transaction() as tx:
            tx.erased.learn(known)
            by = {one.gymnast_number: one.by for one in tx.erased.all()}
            there = tx.erased.still_there()
        erased = []
        for gymnast_id in there:
            try:
                self._keep_her.erase(gymnast_id, by=by[gymnast_id])
            except NotThereError:
                continue  # somebody else was quicker
            erased.append(gymnast_id)
        return tuple(erased)
