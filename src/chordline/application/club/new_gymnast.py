"""A gymnast comes to the club, and gets a card."""

from datetime import date

from chordline.application.club.growth_reference import GrowthReference
from chordline.application.club.ports import Records, Tx
from chordline.application.club.records import Consent, GymnastRecord, NewGymnast
from chordline.application.club.refile import refile_unowned
from chordline.errors import RefusedInputError

#: Numbers that a printed card can have.
CARDS = range(1000)


class AddGymnast:
    """Use case: take one gymnast in."""

    def __init__(self, records: Records) -> None:
        self._records = records

    def __call__(
        self,
        club_id: int,
        *,
        name: str,
        card: int | None = None,
        next_card: bool = False,
        birth_date: date | None = None,
        growth_reference: GrowthReference | None = None,
        consent: Consent = Consent(),  # noqa: B008  # frozen
        group_id: int | None = None,
        token: str | None = None,
    ) -> GymnastRecord:
        """Return the new gymnast; a form that is sent twice takes her in once.

        Parameters
        ----------
        club_id : int
        name : str
        card : int, optional
        next_card : bool
            Give her the lowest free card where none is named.
        birth_date : date, optional
        growth_reference : {'girls', 'boys'}, optional
        consent : Consent
        group_id : int, optional
        token : str, optional
            Of the form.

        Raises
        ------
        RefusedInputError
            For an empty name, a taken card, an impossible date, or a form that was sent before.
        """
        name = " ".join(name.split())
        if not name:
            raise RefusedInputError("write a name")
        with self._records.transaction() as tx:
            if token is not None and not tx.first_time(token):
                raise AlreadySentError
            if card is None and next_card:
                card = free_card(tx, club_id)
            new = NewGymnast(name, card, birth_date, consent, growth_reference)
            her = tx.gymnasts.add(club_id, new)
            if group_id is not None:
                tx.clubs.put_in_group(group_id, [her.id])
            if card is not None:
                refile_unowned(tx, club_id)
        return her


class AlreadySentError(RefusedInputError):
    """A form that was sent before; what it asked for was done then."""

    def __init__(self) -> None:
        super().__init__("this form was sent before; what it asked for was done then")


def free_card(tx: Tx, club_id: int) -> int | None:
    """Return the lowest card from 1 on that nobody has, or None where all are given."""
    taken = tx.gymnasts.cards(club_id)
    return next((card for card in CARDS[1:] if card not in taken), None)


class GiveCards:
    """Use case: give everybody without a card one."""

    def __init__(self, records: Records) -> None:
        self._records = records

    def __call__(self, club_id: int) -> int:
        """Return how many got a card, in the order of their names."""
        with self._records.transaction() as tx:
            given = tx.gymnasts.give_cards(club_id, [card for card in CARDS if card])
            if given:
                refile_unowned(tx, club_id)
        return given
