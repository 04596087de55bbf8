"""The demo club's invented sizes: enough for a speed, and given once."""

from datetime import date, timedelta
from importlib import resources
from pathlib import Path

import pytest

from chordline.application.growth.told import Speed
from chordline.bootstrap import App
from chordline.cli.demo import _found_club, _measure_earlier


class _NextMonth(date):
    @classmethod
    def today(cls) -> date:
        return date.today() + timedelta(days=30)


def test_some_of_the_demo_club_have_grown_and_a_later_demo_adds_no_past(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    app = App(data=tmp_path)
    club = Path(str(resources.files("chordline.demo") / "club"))
    try:
        _found_club(app, club)
        with app.records.reading() as tx:
            girls = [tx.gymnasts.with_card(app.club().id, card) for card in range(11, 17)]
            sizes = {her.card: len(tx.gymnasts.sizes(her.id)) for her in girls if her is not None}
        assert sizes == {**dict.fromkeys((11, 14, 15), 1), **dict.fromkeys((12, 13, 16), 3)}
        fast = {}
        for her in girls:
            assert her is not None
            told = app.tell_growth()(her.id, day=date.today())
            assert [one.code for one in told.checks if one.contradicts] == []
            if isinstance(told.speed, Speed):
                fast[her.card] = told.retest_sooner
        assert fast == {12: False, 13: False, 16: True}
        monkeypatch.setattr("chordline.cli.demo.date", _NextMonth)
        _measure_earlier(app)
        with app.records.reading() as tx:
            assert [len(tx.gymnasts.sizes(her.id)) for her in girls if her is not None] == list(
                sizes.values()
            )
    finally:
        app.records.close()
