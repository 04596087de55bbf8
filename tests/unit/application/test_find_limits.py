"""Judging a screen: what is refused, put aside, stopped, compared, and said."""

from dataclasses import replace

import numpy as np
import pytest

from chordline.application.find_limits import FindLimits, ScreenInput
from chordline.application.findings import Findings
from chordline.application.findings_json import findings_to_json
from chordline.application.findings_words import undecided_in_words
from chordline.catalogue.segments import our_segments
from chordline.core.body.measurement import Measurement, Trust
from chordline.core.body.verdict import Verdict
from chordline.core.capacity.observed import Held
from chordline.errors import WrongUseError
from screen_stories import CATALOGUE, FIND, AtLeast, judge, photo, story

HIP = "hip_opening_deg"


def screen(*photos: Measurement, **more: object) -> ScreenInput:
    return ScreenInput("Ada", 7, "Monday", photos, **more)  # type: ignore[arg-type]


def verdicts(found: Findings) -> dict[str, Verdict]:
    return {one.name: one.verdict for one in found.capacities}


def club(**settings: float) -> FindLimits:
    """A club that lays its own numbers over ours."""
    own = {
        name: CATALOGUE.settings[name].model_copy(update={"value": value})
        for name, value in settings.items()
    }
    settings = {**CATALOGUE.settings, **own}
    return FindLimits(CATALOGUE.model_copy(update={"settings": settings}), our_segments())


# --- nothing, and bad input -----------------------------------------------------------------


def test_an_empty_screen_has_no_limiter_and_asks_for_the_best_first_test() -> None:
    found = judge(screen())
    assert (found.limiters, found.undecided, found.faults) == ((), (), ())
    assert found.next_test is not None
    assert set(verdicts(found).values()) == {Verdict.CANNOT_TELL}
    assert {one.words for one in found.capacities} == {"not tested yet"}


def without_error(one: Measurement) -> Measurement:
    sure = {name: replace(m, sd=0.0, systematic={}) for name, m in one.measures.items()}
    return replace(one, measures=sure, covariance=np.zeros_like(one.covariance))


def test_a_measure_without_error_is_put_aside_and_told() -> None:
    found = judge(screen(without_error(photo("prone-sides", {"hip": -30}))))
    assert found.limiters == ()
    [fault] = found.faults
    assert (fault.measure, fault.source) == (HIP, "prone-sides.jpg")
    assert findings_to_json(found)["put_aside"][0]["why"] == fault.why


def test_a_value_that_is_no_number_is_put_aside_and_the_rest_is_used() -> None:
    found = judge(screen(photo("prone-raised", {"hip": np.nan, "shoulder": -25})))
    assert [fault.measure for fault in found.faults] == [HIP]
    assert [one.capacity for one in found.limiters] == ["shoulder_flexion_deg"]


def test_a_test_that_the_catalogue_does_not_know_is_put_aside() -> None:
    stranger = replace(photo("prone-sides", {"hip": -30}), test="prone-lifted")
    found = judge(screen(stranger, held=(Held("holds.csv", "hold-long", 30.0, 0.05, False),)))
    assert [(fault.source, fault.test) for fault in found.faults] == [
        ("prone-sides.jpg", "prone-lifted"),
        ("holds.csv", "hold-long"),
    ]
    assert found.minutes_spent == 0.0


def test_a_test_of_the_battery_without_a_row_is_no_fault_and_takes_its_time() -> None:
    found = judge(screen(photo("hold-head", {"hip": 0, "shoulder": 0})))
    assert found.faults == ()
    assert found.minutes_spent == CATALOGUE.tests["hold-head"].minutes


def test_a_photo_that_needs_a_look_does_not_count() -> None:
    doubtful = photo("prone-raised", {"hip": 0, "shoulder": -30}, trust=Trust(False, ("turned",)))
    found = judge(screen(doubtful))
    assert found.limiters == ()
    assert found.not_used == ("prone-raised.jpg: turned",)
    assert found.minutes_spent == 0.0


def test_an_unknown_sign_names_the_known_ones() -> None:
    with pytest.raises(WrongUseError, match="back_pain_arching"):
        judge(screen(flags=("sore",)))


# --- two takes, two sides -------------------------------------------------------------------


def test_contradicting_takes_are_named_and_shown_not_averaged() -> None:
    """-45 and -5 average to a clear limiter."""
    takes = [
        photo("prone-raised", {"hip": 0, "shoulder": value}, name=name)
        for value, name in ((-45, "one.jpg"), (-5, "two.jpg"))
    ]
    found = judge(screen(*takes))
    assert found.limiters == ()
    assert verdicts(found)["shoulder_flexion_deg"] is Verdict.CANNOT_TELL
    assert {fault.source for fault in found.faults} == {"one.jpg", "two.jpg"}
    assert all("take the test again" in fault.why for fault in found.faults)


def test_a_contradicted_measure_makes_no_compensation() -> None:
    takes = [
        photo("prone-active", {"hip": value, "shoulder": 0}, name=f"{value}.jpg")
        for value in (0, 40)
    ]
    base = photo("prone-raised", {"hip": 0, "shoulder": 0})
    assert [c.measure for c, _ in judge(screen(base, takes[1])).compensations] == [HIP]
    assert judge(screen(base, *takes)).compensations == ()


def test_takes_that_agree_count_both() -> None:
    one = judge(screen(photo("prone-raised", {"hip": 0, "shoulder": -10})))
    two = judge(screen(*[photo("prone-raised", {"hip": 0, "shoulder": -10}, name=n) for n in "ab"]))
    shoulder = [c.name for c in one.capacities].index("shoulder_flexion_deg")
    assert two.faults == ()
    assert two.capacities[shoulder].sd < one.capacities[shoulder].sd


def sides(left: float, right: float) -> Findings:
    return judge(
        screen(
            photo("prone-overhead", {"hip": 0, "shoulder": left}, name="left.jpg", near="left"),
            photo("prone-overhead", {"hip": 0, "shoulder": right}, name="right.jpg", near="right"),
        )
    )


def test_a_difference_between_her_sides_stops_lifts_and_asks_for_a_clinician() -> None:
    found = sides(-2.0, -24.0)
    [stop] = found.stops
    assert stop.flag == "one_sided"
    assert {"prone-raised", "prone-active", "handstand"} <= set(stop.tests)
    assert "clinician" in stop.advice
    assert "by 22°" in found.cautions[0]
    assert "left.jpg, right.jpg" in found.cautions[0]


def test_sides_that_agree_within_error_stop_nothing() -> None:
    assert sides(-2.0, -8.0).stops == ()


def test_two_takes_of_one_side_are_no_difference_between_sides() -> None:
    takes = [photo("prone-overhead", {"hip": 0, "shoulder": v}, name=f"{v}") for v in (-2, -24)]
    assert judge(screen(*takes)).stops == ()


# --- signs ----------------------------------------------------------------------------------


@pytest.mark.parametrize("flag", CATALOGUE.referrals)
def test_a_sign_stops_tests_and_is_no_diagnosis(flag: str) -> None:
    told = {"prone_sides": {"hip": -18}, "prone_raised": {"shoulder": -20}}
    plain, flagged = judge(story(**told)), judge(story(**told, flags=(flag,)))
    assert flagged.capacities == plain.capacities
    assert flagged.limiters == plain.limiters
    [stop] = flagged.stops
    assert stop.tests
    offered = [offer.test for offer in flagged.more_tests]
    offered += [one.ask_test for one in flagged.undecided if one.ask_test]
    offered += [flagged.next_test.test] if flagged.next_test else []
    assert not set(offered) & set(stop.tests)
    cautions = findings_to_json(flagged)["cautions"]
    assert any("clinician" in caution for caution in cautions)


def test_the_test_to_decide_is_never_a_stopped_one() -> None:
    free = judge(story(prone_sides={"hip": -18}))
    numb = judge(story(prone_sides={"hip": -18}, flags=("numbness",)))
    assert free.undecided[0].ask_test == "supine-braced"
    assert numb.undecided[0].ask_test is None
    assert "no test left tells more today" in numb.undecided[0].sentence
    assert numb.next_test is None


def test_signs_are_told_once() -> None:
    assert len(judge(screen(flags=("pain", "pain"))).stops) == 1


# --- what is said ---------------------------------------------------------------------------


def test_reasons_add_up_when_all_are_told() -> None:
    [limiter] = judge(story(prone_overhead={"shoulder": -20}, prone_raised={})).limiters
    shifts = [reason.shift for reason in limiter.reasons]
    prior = FIND.model.prior(by_hand=True)
    i = prior.states.index("shoulder_flexion_deg")
    found = judge(story(prone_overhead={"shoulder": -20}, prone_raised={}))
    assert sum(shifts) == pytest.approx(found.belief.mean[i] - prior.mean[i], abs=1e-9)
    assert shifts == sorted(shifts, reverse=True)
    assert "closed by 20° (adds" in limiter.reasons[0].sentence


def test_at_most_three_reasons_and_none_that_speaks_against() -> None:
    told = {
        "prone_overhead": {"shoulder": -22},
        "prone_raised": {"shoulder": -26},
        "prone_active": {"shoulder": -30},
        "supine_overhead": {"shoulder": -18},
        "handstand": {"shoulder": 2, "ear": 24, "off_vertical": 1},
    }
    [limiter] = [
        one for one in judge(story(**told)).limiters if one.capacity == "shoulder_flexion_deg"
    ]
    assert len(limiter.reasons) <= 3
    assert all(reason.shift > 0.0 for reason in limiter.reasons)
    assert "handstand" not in {reason.test for reason in limiter.reasons}


def test_a_measure_that_speaks_against_is_no_reason() -> None:
    told = story(prone_raised={"shoulder": -30}, handstand={"shoulder": 0})
    [limiter] = judge(told).limiters
    assert [reason.test for reason in limiter.reasons] == ["prone-raised"]


def test_a_hold_is_told_in_seconds_and_as_a_share_of_the_target() -> None:
    [limiter] = judge(story(holds={"hold_front": 20})).limiters
    assert "20 s in shape (shorter than expected)" in limiter.reasons[0].sentence
    assert limiter.words.endswith("% of the target")


def test_a_capped_hold_is_told_as_at_least_and_is_no_limiter() -> None:
    found = judge(story(holds={"hold_front": AtLeast(60)}))
    front = next(one for one in found.capacities if one.name == "front_chain_s")
    assert front.tested
    assert front.p_limiter < 0.1
    assert front.verdict is Verdict.ON_THE_LINE


def test_hips_on_the_floor_clear_the_hip_flexors_but_say_too_little_of_the_pelvis() -> None:
    """Loose hips would hide a pelvis that is not tucked; a flat seam would not."""
    joints = judge(story(prone_sides={}, prone_out={}))
    assert verdicts(joints)["hip_extension_deg"] is Verdict.ON_THE_LINE
    assert verdicts(joints)["pelvic_tuck_deg"] is Verdict.CANNOT_TELL
    pelvis = next(one for one in joints.capacities if one.name == "pelvic_tuck_deg")
    assert pelvis.words == "these tests tell too little"
    seam = judge(story(prone_sides={}, supine_sides={"seam": 6}, supine_braced={"seam": 2}))
    assert verdicts(seam)["pelvic_tuck_deg"] is Verdict.ON_THE_LINE


def test_between_on_the_line_and_short_lies_close() -> None:
    found = judge(story(prone_raised={"shoulder": -5}, prone_overhead={"shoulder": -5}))
    assert verdicts(found)["shoulder_flexion_deg"] is Verdict.CLOSE


def test_the_ask_says_which_marks_its_photo_needs_where_nothing_finds_them() -> None:
    def ask(capacity: str, test: str) -> str:
        return undecided_in_words((capacity,), test, CATALOGUE)

    rounding = ask("upper_back_rounding_deg", "prone-rounded")
    assert rounding.endswith("Mark the outline of the back on the photo.")
    assert "Mark" not in ask("shoulder_flexion_deg", "prone-raised")


def test_words_never_name_the_person() -> None:
    found = judge(story(prone_sides={"hip": -18}, prone_raised={"shoulder": -25}))
    said = [one.words for one in found.capacities] + [one.sentence for one in found.undecided]
    assert not any("Ada" in words for words in said)


def test_json_names_limiters_open_questions_and_the_next_test() -> None:
    json = findings_to_json(judge(story(prone_sides={"hip": -18}, prone_raised={"shoulder": -25})))
    assert json["schema"] == "chordline.findings/1"
    assert json["limiters"][0]["capacity"] == "shoulder_flexion_deg"
    assert json["undecided"][0]["capacities"] == ["hip_extension_deg", "pelvic_tuck_deg"]
    assert json["undecided"][0]["ask_test"] == "supine-braced"
    assert set(json["capacities"]) == set(CATALOGUE.capacities)
    assert json["minutes_spent"] == 1.0


# --- what to test next ----------------------------------------------------------------------


def test_time_spent_counts_a_test_once() -> None:
    takes = [photo("prone-raised", {"hip": 0, "shoulder": -3}, name=name) for name in "ab"]
    assert judge(screen(*takes)).minutes_spent == CATALOGUE.tests["prone-raised"].minutes


def test_a_settled_screen_asks_for_nothing_more() -> None:
    well = story(
        prone_sides={},
        prone_rounded={"upper_back": -25, "lower_back": -5},
        prone_overhead={},
        prone_raised={},
        prone_active={},
        supine_sides={"seam": 6},
        supine_braced={"seam": 0},
        handstand={"ear": 22, "off_vertical": 1},
        dish_back={"ear": 22},
        dish_overhead={"shoulder": 0, "neck": 28},
        holds={"hold_front": AtLeast(90), "hold_back": AtLeast(90)},
    )
    assert club(short_screen_minutes=1000.0)(well).next_test is None


def test_the_next_test_is_the_best_offer_and_not_done_yet() -> None:
    found = judge(story(prone_sides={"hip": -18}))
    assert found.next_test == found.more_tests[0]
    assert "prone-sides" not in {offer.test for offer in found.more_tests}
    assert found.next_test is not None
    assert "yes-or-no questions" in found.next_test.sentence


def test_beyond_the_short_screens_time_only_what_tells_rivals_apart_is_offered() -> None:
    lying = {"prone_overhead": {}, "prone_raised": {}, "prone_active": {}, "prone_out": {}}
    decided = judge(story(prone_sides={}, **lying, holds={"hold_front": AtLeast(60)}))
    rivals = judge(story(prone_sides={"hip": -18}, **lying, holds={"hold_front": AtLeast(60)}))
    assert decided.minutes_spent > CATALOGUE.setting("short_screen_minutes")
    assert decided.next_test is None
    assert decided.more_tests[0].gain_bits > 0.2
    assert rivals.next_test is not None
    assert rivals.next_test.test == "supine-braced"
    assert rivals.next_test.sentence.endswith("It tells hip flexors from pelvic control.")


def test_a_test_that_no_longer_fits_makes_room_for_a_shorter_one() -> None:
    told = story(prone_sides={}, prone_overhead={}, prone_raised={}, prone_active={})
    roomy, tight = club(short_screen_minutes=3.0)(told), club(short_screen_minutes=2.5)(told)
    assert roomy.next_test is not None
    assert tight.next_test is not None
    assert (roomy.next_test.test, roomy.next_test.minutes) == ("handstand", 1.0)
    assert tight.more_tests[0].test == "handstand"
    assert tight.next_test.minutes == 0.5


def test_a_club_that_asks_for_more_certainty_names_less() -> None:
    """-14 once: about nine in ten."""
    told = story(prone_raised={"shoulder": -14})
    assert [one.capacity for one in judge(told).limiters] == ["shoulder_flexion_deg"]
    assert club(sure=0.99)(told).limiters == ()


def test_automatic_landmarks_are_believed_less_than_marks_by_hand() -> None:
    by_hand = story(prone_raised={"shoulder": -14})
    auto = replace(
        by_hand,
        measurements=tuple(
            replace(one, landmarks={n: replace(m, origin="auto") for n, m in one.landmarks.items()})
            for one in by_hand.measurements
        ),
    )
    sd = [
        next(c.sd for c in judge(one).capacities if c.name == "shoulder_flexion_deg")
        for one in (by_hand, auto)
    ]
    assert sd[1] > sd[0] * 1.05


# --- compensations --------------------------------------------------------------------------


def test_each_tests_own_unsteadiness_is_reckoned_with() -> None:
    """Relaxed on the mat she repeats better than on her hands, by the model's rows."""
    found = judge(story(prone_sides={"hip": 0}, prone_out={"hip": -9}))
    [(change, _)] = found.compensations
    row = CATALOGUE.model["prone-out"][HIP]
    own = 2.0 * (2.1**2 + 1.0**2) + 2.0 * row.repeat_sd**2
    assert change.sd == pytest.approx(np.sqrt(own))
