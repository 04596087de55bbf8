"""What a family's words allow, and when a picture has to go."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from chordline.application.club.consent import (
    ConsentRules,
    KeptPicture,
    NotAllowedError,
    allowed_on,
    as_said,
    check_measuring,
    ends_soon,
    goes_on,
    rules_of,
    stand_of,
)
from chordline.application.club.records import Consent
from chordline.catalogue.loader import load_catalogue

RULES = ConsentRules(
    must_be_said=False, correct_days=7, unmeasured_days=14, grace_days=30, remind_days=30
)
DAY = date(2025, 9, 1)
ALL = Consent(measure=True, keep_pictures=True, show_to_squad=True, said_on=date(2025, 1, 1))
MEASURED = KeptPicture(DAY, measured=True)
WAITS = KeptPicture(DAY, measured=False)


def after(days: int) -> date:
    return DAY + timedelta(days=days)


def test_the_catalogue_gives_these_rules():
    assert rules_of(load_catalogue()) == RULES


def test_whom_nobody_asked_is_measured_and_shown_to_nobody():
    silent = allowed_on(Consent(), DAY, RULES)
    assert (silent.stand, silent.measure, silent.keep_pictures) == ("not_asked", True, True)
    assert not silent.show_to_squad
    assert "ask" in silent.told[0]
    assert goes_on(Consent(), MEASURED, after(999), RULES) is None


def test_a_club_can_ask_for_a_yes_before_anything_is_measured():
    strict = replace(RULES, must_be_said=True)
    with pytest.raises(NotAllowedError, match="Ask the family"):
        check_measuring(Consent(), DAY, strict)
    check_measuring(ALL, DAY, strict)
    assert goes_on(Consent(), WAITS, DAY, strict) == after(14)
    assert goes_on(Consent(), MEASURED, DAY, strict) is None


def test_three_noes_with_a_day_are_a_no_and_without_one_nobody_was_asked():
    assert stand_of(Consent(), DAY) == "not_asked"
    no = Consent(said_on=DAY)
    assert stand_of(no, DAY) == "holds"
    with pytest.raises(NotAllowedError):
        check_measuring(no, DAY, RULES)


def test_a_consent_holds_through_its_last_day_and_then_nothing_new_is_allowed():
    until = replace(ALL, until=DAY)
    check_measuring(until, DAY, RULES)
    with pytest.raises(NotAllowedError, match="run out"):
        check_measuring(until, after(1), RULES)
    ended = allowed_on(until, after(1), RULES)
    assert (ended.stand, ended.measure, ended.show_to_squad) == ("ended", False, False)
    assert "2 Oct 2025" in ended.told[0]
    assert goes_on(until, MEASURED, after(1), RULES) == date(2025, 10, 2)


def test_the_reminder_comes_within_its_days_and_not_for_what_has_ended():
    assert ends_soon(replace(ALL, until=after(30)), DAY, RULES)
    assert not ends_soon(replace(ALL, until=after(31)), DAY, RULES)
    assert not ends_soon(replace(ALL, until=after(-1)), DAY, RULES)
    assert not ends_soon(ALL, DAY, RULES)


def test_a_picture_that_may_not_be_kept_goes_once_it_was_looked_at_or_after_a_week():
    measured_only = replace(ALL, keep_pictures=False)
    assert goes_on(measured_only, MEASURED, DAY, RULES) == after(7)
    assert goes_on(measured_only, replace(MEASURED, checked=True), DAY, RULES) == DAY
    assert goes_on(measured_only, WAITS, DAY, RULES) == after(14)
    assert goes_on(ALL, MEASURED, after(999), RULES) is None


def test_a_wrong_click_costs_no_pictures_of_years_at_once():
    taken_back = replace(ALL, keep_pictures=False, said_on=after(400))
    for kept in (MEASURED, replace(MEASURED, checked=True)):
        assert goes_on(taken_back, kept, after(400), RULES) == after(407)


def test_what_may_not_be_measured_waits_for_the_family_and_then_goes():
    no = replace(ALL, measure=False)
    assert goes_on(no, WAITS, DAY, RULES) == after(14)
    # What was measured before stays: keeping is allowed.
    assert goes_on(no, MEASURED, DAY, RULES) is None


def test_taking_ticks_away_is_a_no_of_today():
    withdrawn = as_said(ALL, Consent(said_on=ALL.said_on), DAY)
    assert withdrawn.said_on == DAY
    assert stand_of(withdrawn, DAY) == "holds"
    assert as_said(Consent(), Consent(), DAY).said_on is None
    assert as_said(ALL, Consent(), DAY).said_on == DAY
    told = replace(ALL, measure=False, said_on=after(-3))
    assert as_said(ALL, told, DAY).said_on == after(-3)
    assert as_said(ALL, replace(ALL, said_by="her mother"), DAY).said_on == ALL.said_on
