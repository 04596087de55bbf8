"""What every page needs: the application, the club, the day, and who is at the screen."""

from dataclasses import dataclass
from datetime import date
from typing import Annotated
from urllib.parse import unquote

from fastapi import Depends, Request

from chordline.application.accounts.records import Signed
from chordline.application.club.records import Club
from chordline.bootstrap import App
from chordline.errors import ChordlineError
from chordline.web.measuring import Measuring
from chordline.web.planning import Planning

#: Cookie with the name that a coach gave on this device.
COACH_COOKIE = "coach"
#: What somebody is called who gave no name.
SOMEBODY = "A coach"


@dataclass
class Desk:
    """The application behind the pages.

    Attributes
    ----------
    app : App
    measuring : Measuring
        The worker that measures what waits.
    planning : Planning
        Makes the plans that are asked for.
    """

    app: App
    measuring: Measuring
    planning: Planning

    @property
    def club(self) -> Club:
        """The club."""
        return self.app.club()

    @property
    def locked(self) -> bool:
        """Whether the pictures wait for their passphrase, or their key cannot be read."""
        try:
            return self.app.vault.locked
        except ChordlineError:
            return True

    def today(self) -> date:
        """Return the day in the gym: this machine's own."""
        return date.today()


def _desk(request: Request) -> Desk:
    desk: Desk = request.app.state.desk
    return desk


def _coach(request: Request) -> str:
    """Return who is at this screen: whoever is logged in, or as far as she said so."""
    signed: Signed | None = getattr(request.state, "signed", None)
    if signed is not None:
        return signed.account.name
    return unquote(request.cookies.get(COACH_COOKIE, "")).strip()[:100] or SOMEBODY


AtDesk = Annotated[Desk, Depends(_desk)]
Coach = Annotated[str, Depends(_coach)]
