"""How straight a handstand she can reach: on her page and sheet, and asked by a script."""

import re
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any
from xml.etree import ElementTree as ET

import numpy as np
import pytest
from club_pages import CLOSED, MARCH, ClubSite, level_faults, open_club, words_of

from chordline.application.forecast.forecast_line import GAINS, ForecastLine
from chordline.application.forecast.forecast_words import RANGE_ONLY
from chordline.application.measurement_json import measurement_from_json, measurement_to_json
from chordline.core.body.measurement import Mark, Measure
from chordline.web.api.forecast import Asked

TITLE = "On the hands: how straight today"
#: The handstand as she stands: shoulders behind, feet over the hands.
STANDING = {
    "wrist": (800.0, 1000.0),
    "shoulder": (760.0, 790.0),
    "hip": (790.0, 600.0),
    "knee": (800.0, 440.0),
    "malleolus": (806.0, 290.0),
}


@pytest.fixture
def site(tmp_path: Path) -> Iterator[ClubSite]:
    with open_club(tmp_path) as opened_club:
        yield opened_club


def ask(site: ClubSite, her: int, **gains: Any) -> dict[str, Any]:
    answer = site.client.get(f"/api/gymnasts/{her}/forecast", params=gains)
    assert answer.status_code == 200, answer.text
    told: dict[str, Any] = answer.json()
    return told


def stand_up(site: ClubSite, screen: int) -> None:
    """Let the marks of her handstand stand where a handstand's marks stand."""
    with site.app.records.transaction() as tx:
        photos = tx.screens.view(screen).photos
        one = next(one for one in photos if one.photo.test == "handstand")
        assert one.measurement is not None
        measurement = measurement_from_json(dict(one.measurement.record))
        marks = {name: Mark(x, y, 3.0, "hand") for name, (x, y) in STANDING.items()}
        size = len(measurement.measures)
        standing = replace(
            measurement,
            landmarks=marks,
            near_side="left",
            measures={**measurement.measures, "bow_max_pct": Measure(-5.8, 0.5, "pct", {})},
            covariance=np.pad(measurement.covariance, (0, 1)) + np.diag([0.0] * size + [0.25]),
        )
        tx.photos.save_measurement(
            one.photo.id,
            measurement_to_json(standing),
            revision=one.photo.revision,
            marks_version=None,
            catalogue=site.app.catalogue.version,
        )
    site.app.judge_screen(screen)


def figures(drawing: str) -> list[str]:
    root = ET.fromstring(drawing)
    return [one.text or "" for one in root.iter() if one.get("font-size") == "17"]


def test_the_page_tells_it_after_what_limits_her(site: ClubSite) -> None:
    her = site.add("Ada", 7)
    stand_up(site, site.screen(her))
    page = site.page(f"/gymnasts/{her.id}")
    said = words_of(page)
    order = [said.index(one) for one in ("What limits her", TITLE, RANGE_ONLY, "Pictures")]
    assert order[0] < order[1] < order[2]
    hands = said[order[1] :]
    assert re.search(r"stop it first: the straightest line she can reach bows \d\.\d % ±", hands)
    assert re.search(r"10° more of shoulders, passive would straighten it most", hands)
    assert '<a href="#hands">' in page
    drawing = re.search(r'<svg[^>]*class="cl-hands".*?</svg>', page, re.DOTALL)
    assert drawing is not None
    assert figures(drawing[0])[:2] == ["Her photo", "Reachable today"]
    assert level_faults(page) == []
    assert len(page.encode()) < 150_000


def test_without_a_script_nothing_asks_to_be_moved(site: ClubSite) -> None:
    her = site.add("Ada", 7)
    site.screen(her)
    page = site.page(f"/gymnasts/{her.id}")
    form = re.search(r"<form[^>]*data-what-if[^>]*>", page)
    assert form is not None
    assert form[0].endswith(" hidden>")
    sliders = re.findall(r'<input type="range"[^>]*>', page)
    assert len(sliders) >= 2
    for one in sliders:
        name = re.search(r'name="(\w+)"', one)
        assert name is not None
        assert name[1] in GAINS
        assert f'<label for="try-{name[1]}">' in page
        assert f'max="{10 if name[1].endswith("_pct") else 20}"' in one


def test_what_must_be_tested_first_is_named(site: ClubSite) -> None:
    her = site.add("Ada", 7)
    site.screen(her, {"prone-sides": {"hip": 0.0}})
    page = site.page(f"/gymnasts/{her.id}")
    assert "Cannot tell yet: shoulders, passive not tested." in words_of(page)
    assert "cl-hands" not in page
    assert "data-what-if" not in page
    told = ask(site, her.id)
    assert (told["forecast"], told["words"], told["drawing"]) == (None, None, "")
    assert told["missing"] == "Cannot tell yet: shoulders, passive not tested."
    assert ask(site, her.id, shoulder_flexion_deg=5)["forecast"] is None


def test_a_page_whose_findings_are_kept_makes_no_forecast(
    site: ClubSite, monkeypatch: pytest.MonkeyPatch
) -> None:
    her = site.add("Ada", 7)
    site.screen(her)

    def refuse(*_: object, **__: object) -> None:
        raise AssertionError("a forecast was made")

    monkeypatch.setattr(ForecastLine, "__call__", refuse)
    assert TITLE in site.page(f"/gymnasts/{her.id}")
    assert ask(site, her.id)["forecast"] is not None


def test_the_sheets_have_it(site: ClubSite) -> None:
    screen = site.screen(site.add("Ada", 7))
    stand_up(site, screen)
    page = site.page(f"/screens/{screen}/sheet.html")
    assert page.count('class="cl-hands"') == 1
    assert TITLE in words_of(page)
    assert "Her photo bows" in words_of(page)
    assert site.client.get(f"/screens/{screen}/sheet.pdf").status_code == 200


def test_a_gain_straightens_what_is_drawn_and_said(site: ClubSite) -> None:
    her = site.add("Ada", 7)
    stand_up(site, site.screen(her))
    today = ask(site, her.id)
    better = ask(site, her.id, shoulder_flexion_deg=10, shoulder_push_pct=2.5)
    assert better["gains"] == {"shoulder_flexion_deg": 10.0, "shoulder_push_pct": 2.5}
    assert today["gains"] == {}
    bows = [one["forecast"]["bow_max_pct"]["mean"] for one in (today, better)]
    assert bows[1] < bows[0] - 0.3
    assert f"{bows[1]:.1f}\u00a0%" in better["words"]["headline"]
    assert today["words"]["asked"] == ""
    asked = "With 10° more of shoulders, passive and 2.5 % more of shoulder push"
    assert better["words"]["asked"] == asked
    drawn = figures(better["drawing"])
    assert drawn[:2] == ["Her photo", "Reachable today"]
    assert " ".join(drawn[2:]) == asked
    assert f"bow {bows[0]:.1f} %" in better["drawing"]


def test_an_older_screen_is_asked_by_its_number_and_must_be_hers(site: ClubSite) -> None:
    her, other = site.add("Ada"), site.add("Bea")
    straight = {
        test: {**one, "shoulder": 2.0} for test, one in CLOSED.items() if "sides" not in test
    }
    old = site.screen(her, {"prone-sides": CLOSED["prone-sides"], **straight}, day=MARCH)
    new = site.screen(her)
    theirs = site.screen(other)
    assert ask(site, her.id)["screen_id"] == new
    before = ask(site, her.id, screen=old)
    assert before["screen_id"] == old
    assert before["forecast"]["bow_max_pct"] != ask(site, her.id)["forecast"]["bow_max_pct"]
    assert f"forecast?screen={old}" not in site.page(f"/gymnasts/{her.id}")
    assert f"forecast?screen={new}" in site.page(f"/gymnasts/{her.id}")
    address = f"/api/gymnasts/{her.id}/forecast"
    assert site.client.get(address, params={"screen": theirs}).status_code == 404
    assert site.client.get(address, params={"screen": 9999}).status_code == 404


def test_nobody_and_nothing_have_none(site: ClubSite) -> None:
    assert site.client.get("/api/gymnasts/99/forecast").status_code == 404
    her = site.add("Ada")
    assert site.client.get(f"/api/gymnasts/{her.id}/forecast").status_code == 404


@pytest.mark.parametrize(
    "asked",
    [
        "shoulder_flexion_deg=61",
        "shoulder_flexion_deg=-61",
        "shoulder_flexion_deg=nan",
        "shoulder_flexion_deg=inf",
        "shoulder_flexion_deg=more",
        "shoulder_flexion_deg=",
        "neck_flexion_deg=5",
        "screen=0",
        "screen=x",
    ],
)
def test_what_cannot_be_gained_is_refused_with_a_reason(site: ClubSite, asked: str) -> None:
    her = site.add("Ada")
    site.screen(her, {"prone-sides": {"hip": 0.0}})
    answer = site.client.get(f"/api/gymnasts/{her.id}/forecast?{asked}")
    assert answer.status_code == 422
    assert answer.json()["faults"][0]["at"] == asked.partition("=")[0]


def test_every_gain_of_the_forecast_can_be_asked() -> None:
    assert set(Asked.model_fields) - {"screen"} == set(GAINS)
