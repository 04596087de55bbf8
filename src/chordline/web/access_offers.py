"""What a page offers whom: answered from the table that the gate enforces, so said once."""

from dataclasses import dataclass
from urllib.parse import urlsplit

from fastapi import Request

from chordline.application.accounts.records import Signed
from chordline.application.club.ports import Tx
from chordline.web.access import ACCESS, RANKS, AccessPlan, Least


@dataclass(frozen=True)
class Offers:
    """Answers a template whether whoever reads its page may use a route.

    Attributes
    ----------
    plan : AccessPlan
    role : str or None
        One of `RANKS`; None where nobody logs in and this machine may do everything.
    """

    plan: AccessPlan
    role: Least | None

    def may(self, route: str) -> bool:
        """Return whether she may use a route, named as in the table, e.g. ``POST /studies``.

        Raises
        ------
        LookupError
            Where the table has no such route: it was renamed, and its page was not.
        """
        least = ACCESS.get(route)
        if least is None:
            raise LookupError(f"web/access.py has no route '{route}'")
        return self._reaches(least)

    def may_open(self, address: str) -> bool:
        """Return whether she may open an address of ours, e.g. ``/photos/7?queue=1``.

        Raises
        ------
        LookupError
            Where no route has this address.
        """
        found = self.plan.find("GET", urlsplit(address).path)
        if found is None:
            raise LookupError(f"no route has the address '{address}'")
        return self._reaches(found[0].least)

    def _reaches(self, least: Least) -> bool:
        return self.role is None or RANKS.index(self.role) >= RANKS.index(least)


def offers_of(request: Request) -> Offers:
    """Return what the page of a request may offer."""
    plan: AccessPlan = request.app.state.access
    signed: Signed | None = getattr(request.state, "signed", None)
    if signed is not None:
        return Offers(plan, signed.account.role)
    return Offers(plan, "open" if getattr(request.state, "login_needed", False) else None)


def sees_pictures_of(request: Request, tx: Tx, gymnast_id: int) -> bool:
    """Return whether whoever asks is given pictures of a gymnast; the gate asks the same."""
    signed: Signed | None = getattr(request.state, "signed", None)
    if signed is None or not signed.sees_only_what_may_be_shown:
        return True
    return tx.trail.may_show("gymnast", gymnast_id)
