"""The forecast's section: its sentences, and that it stands on page and paper."""

import io
import re
from dataclasses import replace

import pytest
from pypdf import PdfReader
from sample_findings import CATALOGUE, capacity_of, findings, judged_sheet
from sample_forecast import FORECAST, FREE, handstand, told
from test_sheet_page import Page

from chordline.adapters.printing.forecast_view import TITLE, ForecastView, view_forecast
from chordline.adapters.printing.press import SheetPress
from chordline.application.forecast.forecast_words import RANGE_ONLY
from chordline.application.sheet_forecast import (
    forecast_for_sheet,
    gains_in_words,
    handstand_among,
    today_line,
)
from chordline.core.body.measurement import Measurement, Trust


def shown(forecast: object = FORECAST, photo: Measurement | None = None) -> ForecastView:
    return view_forecast(told(forecast, photo), photo)  # type: ignore[arg-type]


def plain(words: str) -> str:
    return re.sub(r"\s+", " ", words.replace("\u00a0", " "))


def test_everything_is_said_in_words() -> None:
    view = shown(photo=handstand())
    assert "3.0 % ± 0.9 %" in plain(view.headline)
    assert "shoulders, passive stop it first" in view.headline.lower()
    assert "the lower back arched by 28°" in view.posture
    assert "10° more of shoulders, passive" in view.gain
    assert "Her photo bows 6.4 % ± 1.5 %" in plain(view.gap)
    assert view.figures == 3
    assert view.range_only == RANGE_ONLY
    assert view.stance[0].startswith("She stands over the hand")


def test_no_number_is_parted_from_its_error() -> None:
    assert " ±" not in shown().headline
    assert " %" not in shown().headline


def test_payoffs_are_ranked_and_small_ones_left_out() -> None:
    assert [plain(one) for one in shown().payoffs] == [
        "per degree of shoulders, passive: 0.07 % ± 0.04 %",
        "per degree of shoulders, active: 0.05 % ± 0.01 %",
        "per 1 % of shoulder push: 0.03 % ± 0.01 %",
    ]
    assert [(one.capacity, one.most) for one in shown().levers] == [
        ("shoulder_flexion_deg", 20),
        ("shoulder_active_lag_deg", 20),
        ("shoulder_push_pct", 10),
    ]


def test_a_payoff_that_reads_as_nothing_is_no_row() -> None:
    payoffs = {name: replace(one, value=0.1 * one.value) for name, one in FORECAST.payoffs.items()}
    assert [one.capacity for one in shown(replace(FORECAST, payoffs=payoffs)).levers] == [
        "shoulder_flexion_deg"
    ]


def test_where_nothing_stops_her_nothing_is_offered() -> None:
    view = shown(FREE)
    assert (view.gain, view.payoffs, view.levers, view.figures) == ("", (), (), 1)
    assert "Nothing in her range stops" in view.headline
    assert "dot" not in view.key
    assert "dot" in shown().key


def test_without_a_photo_there_is_no_gap_and_one_line_less() -> None:
    assert shown().gap == ""
    assert shown().figures == 2


def test_a_photo_that_needs_a_look_says_nothing_of_a_gap() -> None:
    doubtful = replace(handstand(), trust=Trust(False, ("the hip is doubtful",)))
    view = shown(photo=doubtful)
    assert view.gap == ""
    assert "needs a look" in view.drawing


def test_a_trusted_handstand_is_taken_before_a_doubtful_one() -> None:
    good = handstand()
    doubtful = replace(good, photo="other.jpg", trust=Trust(False, ("x",)))
    dish = replace(good, test="dish-overhead")
    assert handstand_among((dish, doubtful, good)) is good
    assert handstand_among((dish, doubtful)) is doubtful
    assert handstand_among((dish,)) is None


@pytest.mark.parametrize(
    ("stopped_by", "joint"),
    [
        ("shoulder_flexion_deg", "shoulder"),
        ("shoulder_active_lag_deg", "shoulder"),
        ("shoulder_push_pct", "shoulder"),
        ("hip_extension_deg", "hip"),
        ("pelvic_tuck_deg", "trunk"),
        ("trunk arching", "trunk"),
        ("wrist", "wrist"),
        ("balance at the knuckles", "wrist"),
        (None, None),
    ],
)
def test_the_joint_that_stops_the_line(stopped_by: str | None, joint: str | None) -> None:
    line = today_line(replace(FORECAST, stopped_by=stopped_by), CATALOGUE)
    assert line.stopped_at == joint


def test_what_was_tried_is_said() -> None:
    gains = {"shoulder_flexion_deg": 10.0, "shoulder_push_pct": -5.0, "hip_extension_deg": 0.0}
    said = gains_in_words(gains, CATALOGUE)
    assert said == "With 10° more of shoulders, passive and 5 % less of shoulder push"
    assert gains_in_words({}, CATALOGUE) == ""


def test_what_is_not_tested_is_named_and_what_was_not_asked_is_silent() -> None:
    assert forecast_for_sheet(findings(), CATALOGUE) is None
    untested = tuple(
        capacity_of(one.name, None, "not tested yet") if one.name == "hip_extension_deg" else one
        for one in findings().capacities
    )
    missing = forecast_for_sheet(findings(capacities=untested), CATALOGUE)
    assert missing is not None
    view = view_forecast(missing, None)
    assert view.missing == "Cannot tell yet: hip flexors not tested."
    assert (view.drawing, view.headline) == ("", "")
    sheet = replace(judged_sheet(), forecast=missing)
    page = Page(SheetPress().to_html(sheet)).words
    assert view.missing in page
    assert RANGE_ONLY not in page


ORDER = (
    "What limits her",
    TITLE,
    "the straightest line she can reach bows 3.0 % ± 0.9 %",
    "The front of the body is to the right",
    "Cannot tell yet",
    "All capacities",
)


def test_the_page_has_the_section_after_what_limits_her() -> None:
    html = SheetPress().to_html(replace(judged_sheet(), forecast=told(photo=handstand())))
    words = plain(Page(html).words)
    order = [words.index(part) for part in ORDER]
    assert order == sorted(order)
    assert RANGE_ONLY in words
    assert html.count('class="cl-hands"') == 1
    assert TITLE not in SheetPress().to_html(judged_sheet())


def test_the_paper_has_it_with_its_captions_and_is_the_same_every_time() -> None:
    sheet = replace(judged_sheet(), forecast=told(photo=handstand()))
    pdf = SheetPress().to_pdf(sheet)
    words = plain(" ".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages))
    order = [words.index(part) for part in (ORDER[0], ORDER[1], ORDER[2], *ORDER[4:])]
    assert order == sorted(order)
    assert "per degree of shoulders, passive: 0.07 % ± 0.04 %" in words
    assert "Reachable today" in words
    assert SheetPress().to_pdf(sheet) == pdf
