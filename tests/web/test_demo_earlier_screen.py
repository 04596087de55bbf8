"""The demo's invented earlier screen: named as invented, without pictures, added once."""

from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest
from club_pages import ClubSite, open_club

from application_doubles import PRONE
from chordline.application.marks import HandMarks
from chordline.application.measure_photo import MeasureRequest
from chordline.cli.demo_earlier import NAMED, add_earlier_screens
from chordline.core.body.measurement import Mark


@pytest.fixture
def site(tmp_path: Path) -> Iterator[ClubSite]:
    with open_club(tmp_path) as opened_club:
        yield opened_club


def test_an_earlier_screen_is_bent_from_todays_marks_and_shows_as_change(site: ClubSite) -> None:
    her = site.add("Amara", 13)
    tests = {test: {"hip": 0.0, "shoulder": -20.0} for test in ("prone-overhead", "prone-raised")}
    today = site.screen(her, tests, day=date.today(), kept=True)
    assert add_earlier_screens(site.app) == 1
    with site.app.records.reading() as tx:
        later, earlier = tx.gymnasts.view(her.id).screens
    assert later.screen.id == today
    assert {one.photo.content_key for one in earlier.photos} == {None}
    assert all(one.photo.name.startswith(NAMED) for one in earlier.photos)
    assert {one.marks.author for one in earlier.photos if one.marks} == {NAMED}
    marks = HandMarks("left", None, {name: Mark(*at, 3.0, "hand") for name, at in PRONE.items()})
    for one in earlier.photos:
        assert one.measurement is not None
        request = MeasureRequest(one.photo.test or "", marks=marks)
        picture = site.app.pictures.read(later.photos[0].photo)
        now = site.app.measure_by_hand().measure(picture, request).measures
        then = one.measurement.record["measures"]
        for joint, bent in (("shoulder", 14.0), ("hip", 0.0)):
            name = f"{joint}_opening_deg"
            assert now[name].value - then[name]["value"] == pytest.approx(bent, abs=0.1)
    assert add_earlier_screens(site.app) == 0


def test_nobody_of_that_card_gets_nothing(site: ClubSite) -> None:
    site.screen(site.add("Ada", 7))
    site.add("Amara", 13)
    assert add_earlier_screens(site.app) == 0
