"""Stored findings in words: the same as said when they were found."""

from chordline.application.club.told import NOTHING_MEASURED, tell_findings, tell_in_a_line
from chordline.application.findings_json import findings_to_json
from chordline.application.summary import NO_LIMITER, limits_in_words, open_names
from chordline.core.body.verdict import Verdict
from screen_stories import CATALOGUE, judge, story

CLOSED = judge(
    story(
        prone_sides={"hip": 0},
        prone_overhead={"shoulder": -26},
        prone_raised={"shoulder": -26},
        prone_active={"shoulder": -27},
        flags=("wrist_pain",),
    )
)


def test_the_words_are_those_of_the_findings() -> None:
    told = tell_findings(findings_to_json(CLOSED), CATALOGUE)
    said = tuple(f"{one.label}: {one.words} ({one.sure})" for one in told.limiters)
    assert said == limits_in_words(CLOSED)
    assert told.open == open_names(CLOSED)
    assert told.stops == tuple(stop.label for stop in CLOSED.stops) == ("Wrist pain",)
    assert told.no_limiter == ""
    assert all(one.known_to.startswith("± ") for one in told.limiters)
    assert tell_in_a_line(told).startswith(said[0])


def test_cells_have_a_verdict_only_where_something_was_tested() -> None:
    cells = tell_findings(findings_to_json(CLOSED), CATALOGUE).cells
    assert list(cells) == list(CATALOGUE.capacities)
    assert cells["shoulder_flexion_deg"].verdict is Verdict.SHORT
    assert cells["front_chain_s"].verdict is None
    assert cells["front_chain_s"].known_to == ""


def test_nothing_measured_is_not_nothing_found() -> None:
    empty = tell_findings(findings_to_json(judge(story())), CATALOGUE)
    assert empty.no_limiter == NOTHING_MEASURED
    straight = judge(story(prone_sides={"hip": 0}, prone_raised={"shoulder": 0}))
    assert tell_findings(findings_to_json(straight), CATALOGUE).no_limiter == NO_LIMITER


def test_what_the_catalogue_has_no_more_is_left_out() -> None:
    smaller = CATALOGUE.model_copy(
        update={
            "capacities": {
                name: entry
                for name, entry in CATALOGUE.capacities.items()
                if name != "shoulder_flexion_deg"
            },
            "referrals": {},
        }
    )
    told = tell_findings(findings_to_json(CLOSED), smaller)
    assert "shoulder_flexion_deg" not in told.cells
    assert all(one.label != "Shoulders, passive" for one in told.limiters)
    assert told.stops == ()
