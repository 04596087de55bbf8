from datetime import date

from chordline.application.club.records import Consent, worry_of


def test_consent_holds_through_its_last_day():
    assert Consent().holds_on(date(2099, 1, 1))
    assert Consent(until=date(2026, 6, 30)).holds_on(date(2026, 6, 30))
    assert not Consent(until=date(2026, 6, 30)).holds_on(date(2026, 7, 1))


def test_nothing_is_allowed_until_the_family_says_so():
    silent = Consent()
    assert not (silent.measure)
    assert not (silent.keep_pictures)
    assert not (silent.show_to_squad)


def test_each_doubt_adds_to_the_worry():
    assert worry_of({"trust": {"accepted": True, "reasons": []}}) is None
    assert worry_of({"trust": {"accepted": False, "reasons": []}}) == 1.0
    assert worry_of({"trust": {"accepted": False, "reasons": ["a", "b", "c"]}}) == 3.0
