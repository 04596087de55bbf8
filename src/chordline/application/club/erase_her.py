"""A gymnast is erased, and her family gets a receipt that is kept nowhere."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Final

from chordline.application.accounts.records import THIS_MACHINE
from chordline.application.club.her_record import KeepHer, WhatIsLost
from chordline.application.club.ports import Records
from chordline.application.days import day_in_words

#: Who erased, where nobody logs in.
SOMEBODY_HERE: Final = "whoever was at the club's machine"


@dataclass(frozen=True)
class EraseReceipt:
    """What was erased, for the family.

    Attributes
    ----------
    club, gymnast : str
    number : int
        The number that she had; it is all that stays in the records.
    erased_on : str
        Day and time in words.
    by : str
    erased : tuple of str
        What is gone, each with how many.
    copies : tuple of str
        Copies that still hold something of hers, and what has to be done with each.
    said : tuple of str
        What that means.
    """

    club: str
    gymnast: str
    number: int
    erased_on: str
    by: str
    erased: tuple[str, ...]
    copies: tuple[str, ...]
    said: tuple[str, ...]


class EraseHer:
    """Use case: erase a gymnast and return the receipt."""

    def __init__(
        self,
        records: Records,
        keep_her: KeepHer,
        copies_to_replace: Callable[[], Sequence[str]],
    ) -> None:
        """Take the parts.

        Parameters
        ----------
        records, keep_her
        copies_to_replace : callable
            Returns, in words, the copies that still hold who was erased; asked after erasing.
        """
        self._records = records
        self._keep_her = keep_her
        self._copies_to_replace = copies_to_replace

    def __call__(self, gymnast_id: int, *, token: str | None = None) -> EraseReceipt | None:
        """Erase her; None where the form was sent before."""
        lost = self._keep_her.what_is_lost(gymnast_id)
        with self._records.reading() as tx:
            her = tx.gymnasts.get(gymnast_id)
            club = next(one.name for one in tx.clubs.all() if one.id == her.club_id)
        name = self._keep_her.erase(gymnast_id, token=token)
        if not name:
            return None
        with self._records.reading() as tx:
            erased = next(one for one in tx.erased.all() if one.gymnast_number == gymnast_id)
        return EraseReceipt(
            club=club,
            gymnast=name,
            number=gymnast_id,
            erased_on=_moment_in_words(erased.erased_at),
            by=SOMEBODY_HERE if erased.by == THIS_MACHINE else erased.by,
            erased=what_is_lost_in_words(lost),
            copies=tuple(self._copies_to_replace()),
            said=(
                "Her pictures and videos were encrypted with a key of her own. The key is "
                "destroyed and the files are deleted: nobody can open them any more. In backups "
                "that holds once what still is to be done is done.",
                f"The records keep that number {gymnast_id} was erased, when and by whom, and no "
                "name: where an older backup is restored, she is erased again at once. The trail "
                "of who did what keeps its lines, with the number alone.",
                "What was printed, saved or sent before cannot be called back by a program.",
                "This receipt is kept nowhere. It is for the family.",
            ),
        )


def what_is_lost_in_words(lost: WhatIsLost) -> tuple[str, ...]:
    """Return what erasing removes, each with how many."""
    counted = (
        (lost.screens, f"{_counted(lost.screens, 'screen')} and everything found"),
        (
            lost.photos,
            f"{_counted(lost.photos, 'photo')} with all marks and measurements, "
            f"{_counted(lost.pictures, 'kept picture')}",
        ),
        (lost.videos, _counted(lost.videos, "video")),
        (lost.holds, _counted(lost.holds, "hold")),
        (lost.notes, _counted(lost.notes, "note")),
        (lost.sizes, _counted(lost.sizes, "day of body sizes", "days of body sizes")),
    )
    return (
        *(words for count, words in counted if count),
        "her name, card, birth date, consent, attendance, work done and skills",
    )


def receipt_name(receipt: EraseReceipt, day: date) -> str:
    """Return what the receipt's file is called; without her name."""
    return f"erased {receipt.number} {day.isoformat()}.pdf"


def _counted(count: int, one: str, many: str | None = None) -> str:
    return f"{count} {one if count == 1 else many or f'{one}s'}"


def _moment_in_words(moment: datetime) -> str:
    local = moment.astimezone()
    return f"{day_in_words(local.date())}, {local:%H:%M}"
