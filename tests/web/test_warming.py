"""Progress read ahead of its pages."""

from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path

import pytest
from club_pages import ClubSite, open_club

from chordline.application.progress.told import Progress
from chordline.errors import NotThereError
from chordline.web.warming import Warming

TODAY = date.today()


@pytest.fixture
def site(tmp_path: Path) -> Iterator[ClubSite]:
    with open_club(tmp_path) as opened_club:
        yield opened_club


class Asked:
    """Progress that remembers who was asked for; one of them is gone."""

    def __init__(self, site: ClubSite, gone: int | None = None) -> None:
        self._hers = site.app.her_progress
        self._gone = gone
        self.of: list[int] = []

    def __call__(self, gymnast_id: int, *, today: date) -> Progress:
        self.of.append(gymnast_id)
        if gymnast_id == self._gone:
            raise NotThereError("gymnast", gymnast_id)
        return self._hers(gymnast_id, today=today)


def read_ahead(site: ClubSite, asked: Asked) -> None:
    warming = Warming(
        site.app.records,
        lambda: asked,  # type: ignore[arg-type, return-value]
        club_id=lambda: site.app.club().id,
        later_s=0.0,
    )
    warming.start()
    warming.join()


def test_those_who_were_screened_are_read_the_latest_first_whoever_is_gone(site: ClubSite) -> None:
    early, never, late = (site.add(name, card) for card, name in enumerate(("Ada", "Bo", "Cleo")))
    site.screen(early, day=TODAY - timedelta(days=90))
    site.screen(late, day=TODAY - timedelta(days=2))
    asked = Asked(site, gone=late.id)
    read_ahead(site, asked)
    assert asked.of == [late.id, early.id]
    assert never.id not in asked.of


def test_an_end_in_the_middle_is_heard(site: ClubSite) -> None:
    site.screen(site.add("Ada", 7), day=TODAY)
    asked = Asked(site)
    warming = Warming(
        site.app.records,
        lambda: asked,  # type: ignore[arg-type, return-value]
        club_id=lambda: site.app.club().id,
        later_s=60.0,
    )
    warming.start()
    warming.stop()
    assert asked.of == []
