"""What the sheets of training say: kindly to a family, fully to a coach, nothing too much."""

from dataclasses import asdict, replace
from datetime import date

import pytest

from chordline.application.tongue import tongue_of
from chordline.application.training.names import called
from chordline.application.training.planned import read_evening
from chordline.application.training.sheets.coach_plan import (
    CoachPlanSheet,
    make_coach_plan_sheet,
)
from chordline.application.training.sheets.family import FamilySheet, make_family_sheet
from chordline.application.training.sheets.family_words import GOING_WELL, NEXT_STEP
from chordline.application.training.sheets.her import Her
from chordline.application.training.sheets.home import days_a_week, exercises_for_home
from chordline.application.training.sheets.plan_overview import PlanOverview, make_plan_overview
from chordline.application.training.sheets.referral import (
    make_referral_note,
    names_another,
    sign_to_refer,
)
from chordline.application.training.sheets.stations import StationsSheet, make_stations_sheet
from chordline.application.training.signs import barred_loads
from chordline.application.training.words import CARE, LOADS, dose_in_words
from chordline.catalogue.training_schema import Dose
from chordline.errors import RefusedInputError
from training_sheet_samples import (
    CATALOGUE,
    DAY,
    NAMES,
    SHE,
    TRAINING,
    her,
    plan_record,
    sign,
    the_plan,
)

EN, DE = tongue_of("en"), tongue_of("de")
LANGUAGES = ("en", "de", "fr")
#: Nobody says these of a child.
UNKIND = ("bad", "poor", "weak", "fail", "worst", "wrong", "lazy", "problem", "deficit", "rank")
#: What a family does not have to know.
JARGON = ("limiter", "capacity", "payoff", "sd", "chord", "latissimus", "passive", "±", "°")


def family(whose: Her | None = None, language: str = "en") -> FamilySheet:
    return make_family_sheet(
        whose or her(), catalogue=CATALOGUE, training=TRAINING, tongue=tongue_of(language)
    )


def coach(whose: Her | None = None, language: str = "en") -> CoachPlanSheet:
    return make_coach_plan_sheet(
        whose or her(), catalogue=CATALOGUE, training=TRAINING, tongue=tongue_of(language)
    )


def stations(barred: dict[int, set[str]] | None = None, language: str = "en") -> StationsSheet:
    plan = the_plan()
    return make_stations_sheet(
        plan.evenings[0],
        plan.stations,
        group="Thursday group",
        names=NAMES,
        barred=barred or {},
        training=TRAINING,
        tongue=tongue_of(language),
    )


def overview(language: str = "en") -> PlanOverview:
    return make_plan_overview(
        the_plan(),
        group="Thursday group",
        names=NAMES,
        catalogue=CATALOGUE,
        training=TRAINING,
        tongue=tongue_of(language),
    )


def unscreened() -> Her:
    return her(found=None, measurements=(), line=None, screened_on=None)


def said(sheet: object) -> str:
    """All texts of a sheet."""

    def texts(value: object) -> list[str]:
        if isinstance(value, str):
            return [value]
        if isinstance(value, dict):
            return [text for part in value.values() for text in texts(part)]
        if isinstance(value, list | tuple):
            return [text for part in value for text in texts(part)]
        return []

    return "\n".join(texts(asdict(sheet)))  # type: ignore[call-overload]


# --- family ---------------------------------------------------------------------------------------


def test_a_family_reads_what_goes_well_before_what_comes_next() -> None:
    sheet = family()
    assert sheet.well == ("Your hips open all the way.",)
    assert sheet.next_step == "Open shoulders"
    assert 2 <= len(sheet.home) <= 3


def test_a_familys_sheet_never_shames_and_has_no_jargon() -> None:
    words = said(replace(family(), line=None, home=())).casefold().split()
    bare = {one.strip(".,:;!?()") for one in words}
    assert bare.isdisjoint(UNKIND)
    assert bare.isdisjoint(JARGON)


def test_there_are_kind_words_for_every_capacity() -> None:
    assert set(GOING_WELL) == set(NEXT_STEP) == set(CATALOGUE.capacities)


def test_one_who_was_never_screened_gets_a_sheet_without_a_claim() -> None:
    sheet = family(replace(unscreened(), plan=None, hers=None, evenings=()))
    assert sheet.line is None
    assert "not looked at your line yet" in sheet.next_words
    assert sheet.dates == ("Your coach tells you the next date.",)


def test_a_photo_that_needs_a_look_is_not_shown_to_the_family() -> None:
    doubted = tuple(
        replace(one, trust=replace(one.trust, accepted=False)) if one.test == "handstand" else one
        for one in her().measurements
    )
    line = family(her(measurements=doubted)).line
    assert line is not None
    assert line.photo is None


def test_dates_are_her_next_ones_and_none_she_will_miss() -> None:
    whose = her()
    first, *later = whose.evenings
    missing = replace(whose, evenings=(replace(first, absent=(SHE,)), *later))
    assert family(whose).dates[1] == "Tuesday 1 September, 17:15"
    assert family(missing).dates[1] == "Thursday 3 September, 17:15"


def test_an_open_sign_is_answered_kindly_and_bars_what_loads_it() -> None:
    well = her()
    assert well.hers is not None
    asked = replace(well.hers, home=("kneeling-lunge-tucked", *well.hers.home))
    assert "kneeling-lunge-tucked" in exercises_for_home(replace(well, hers=asked), TRAINING, ())
    whose = replace(well, hers=asked, open_notes=(sign("one_sided"),))
    sheet = family(whose)
    assert "Telling us was right." in sheet.waits
    barred = whose.barred(TRAINING)
    loads = [load for one in sheet.home for load in TRAINING.exercises[one.told.id].loads]
    assert barred
    assert barred.isdisjoint(loads)


def test_what_her_photos_show_bars_as_a_reported_sign_does() -> None:
    shown = her(seen=("numbness",))
    assert shown.barred(TRAINING) >= barred_loads(("numbness",), TRAINING)
    for name in exercises_for_home(shown, TRAINING, ()):
        assert not TRAINING.exercises[name].loads
    # Nobody told of it, so nobody is thanked for telling.
    assert family(shown).waits == ""


def test_home_is_what_may_be_done_without_a_coach_at_her_age() -> None:
    hard = next(
        name
        for name, one in TRAINING.exercises.items()
        if not one.home and one.level == 1 and one.from_age_y <= 8
    )
    whose = her()
    assert whose.hers is not None
    asked = replace(whose, hers=replace(whose.hers, home=(hard, *whose.hers.home)))
    assert hard not in exercises_for_home(asked, TRAINING, ())
    small = replace(asked, birth_date=date(2022, 1, 1))
    young = exercises_for_home(small, TRAINING, ())
    assert all(TRAINING.exercises[name].from_age_y <= 4 for name in young)


def test_without_a_plan_home_is_what_feeds_her_limiters() -> None:
    chosen = exercises_for_home(her(hers=None, plan=None), TRAINING, ("shoulder_flexion_deg",))
    assert chosen
    assert all("shoulder_flexion_deg" in TRAINING.exercises[name].feeds for name in chosen)


def test_where_nobody_said_her_age_only_what_any_age_may_do() -> None:
    chosen = exercises_for_home(
        her(hers=None, plan=None, birth_date=None), TRAINING, ("shoulder_flexion_deg",)
    )
    assert all(TRAINING.exercises[name].from_age_y <= 4 for name in chosen)


def test_hard_work_at_home_rests_a_day_between() -> None:
    entry = next(iter(TRAINING.exercises.values()))
    often = entry.model_copy(update={"weekly_dose_min": 40.0, "minutes": 2.0, "hard": True})
    assert days_a_week(often) == 3
    assert days_a_week(often.model_copy(update={"hard": False})) == 5


# --- coach ----------------------------------------------------------------------------------------


def test_a_coach_reads_limiters_with_reasons_and_the_minutes_for_them() -> None:
    sheet = coach()
    assert sheet.limiters[0].headline.startswith("Shoulders, passive: closed by ")
    assert any("±" in reason for reason in sheet.limiters[0].reasons)
    assert [row.weekly for row in sheet.work] == ["12\u00a0min", "9\u00a0min", "7\u00a0min"]
    assert all("±" in value for row in sheet.work for value in (row.missing, row.gain, row.payoff))


def test_what_is_on_the_line_can_wait() -> None:
    assert coach().waits[0] == "On the line: Hip flexors."


def test_what_a_sign_bars_stays_in_no_list_of_exercises() -> None:
    whose = her(open_notes=(sign("wrist_pain"),))
    barred = whose.barred(TRAINING)
    sheet = coach(whose)
    assert sheet.stops[0].startswith("Wrist pain.")
    assert "weight on the hands" in sheet.stops[-1]
    assert all(barred.isdisjoint(TRAINING.exercises[one.told.id].loads) for one in sheet.exercises)
    held = [
        TRAINING.exercises[turn.exercise].title
        for evening in the_plan().evenings
        for turns in evening.rounds
        for turn in turns
        if SHE in turn.gymnasts and not barred.isdisjoint(TRAINING.exercises[turn.exercise].loads)
    ]
    assert held
    assert held[0] in sheet.held_back
    assert coach().held_back == ""


def test_without_a_screen_the_coach_is_told_that_the_plan_is_a_general_one() -> None:
    assert "general one" in coach(unscreened()).no_limiter


def test_what_is_usual_is_no_number_of_one_who_was_never_screened() -> None:
    whose = unscreened()
    assert whose.hers is not None
    sheet = coach(replace(whose, hers=replace(whose.hers, never_screened=True)))
    assert {(row.missing, row.payoff) for row in sheet.work} == {("not tested yet", "–")}


def test_without_a_plan_the_coach_is_told_so() -> None:
    sheet = coach(her(hers=None, plan=None, evenings=()))
    assert sheet.no_work == "There is no plan for her group yet."
    assert sheet.exercises == ()


def test_the_care_sentences_stand_on_what_a_coach_reads() -> None:
    for sheet in (coach(), stations(), overview()):
        assert sheet.care == CARE  # type: ignore[attr-defined]


# --- stations -------------------------------------------------------------------------------------


def test_everybody_has_one_place_in_every_round() -> None:
    for one in stations().rounds:
        placed = [name for cell in one.cells for turn in cell for name in turn.gymnasts]
        assert len(placed) == len(set(placed)) == len(NAMES)
        assert one.resting == ""


def test_rounds_follow_the_clock_after_the_warm_up() -> None:
    assert [one.begins for one in stations().rounds] == [
        "17:25", "17:33", "17:41", "17:49", "17:57",
    ]  # fmt: skip


def test_without_a_clock_rounds_follow_the_minutes() -> None:
    record = {**plan_record()["sessions"][0], "starts_at": None}
    plan = the_plan()
    sheet = make_stations_sheet(
        read_evening(record),
        plan.stations,
        group="G",
        names=NAMES,
        barred={},
        training=TRAINING,
        tongue=EN,
    )
    assert [one.begins for one in sheet.rounds][:2] == ["minute 10", "minute 18"]


def test_a_sign_reported_since_the_plan_makes_a_rest_of_a_turn() -> None:
    everything = {id_: set(LOADS) for id_ in (105,)}
    sheet = stations(everything)  # type: ignore[arg-type]
    for one in sheet.rounds:
        turns = [turn for cell in one.cells for turn in cell if "Elif" in turn.gymnasts]
        assert all(not TRAINING.exercises[turn.told.id].loads for turn in turns)
        assert bool(turns) != ("Elif" in one.resting)
    assert any("Elif" in one.resting for one in sheet.rounds)


def test_who_is_gone_from_the_records_is_on_no_wall() -> None:
    plan = the_plan()
    some = {id_: name for id_, name in NAMES.items() if id_ != 102}
    sheet = make_stations_sheet(
        plan.evenings[0],
        plan.stations,
        group="G",
        names=some,
        barred={},
        training=TRAINING,
        tongue=EN,
    )
    assert "Maximiliane" not in said(sheet)
    assert "23 gymnasts" in sheet.facts


def test_names_on_a_wall_are_short_and_tell_two_apart() -> None:
    names = called(
        {1: "Ada Berg", 2: "Ada Lund", 3: "Bea Holm", 4: "Cleo", 5: "Ida Bo", 6: "Ida By"}
    )
    assert names == {1: "Ada B.", 2: "Ada L.", 3: "Bea", 4: "Cleo", 5: "Ida Bo", 6: "Ida By"}


def test_a_dose_reads_as_sets_times_amount() -> None:
    dose = Dose(sets=3, seconds=20, each_side=True, rest_s=30)
    assert dose_in_words(dose, EN) == "3\u00a0×\u00a020\u00a0s, each side"
    assert dose_in_words(dose, DE) == "3\u00a0×\u00a020\u00a0s je Seite"
    assert dose_in_words(Dose(sets=2, reps=8, rest_s=30), EN) == "2\u00a0×\u00a08"


# --- plan -----------------------------------------------------------------------------------------


def test_the_minutes_of_a_row_are_its_sum() -> None:
    for row in overview().rows:
        assert sum(int(cell.words or 0) for cell in row.cells) == int(row.all_min)


def test_a_plan_says_what_it_is_expected_to_give_and_what_no_plan_could() -> None:
    expected = overview("de").expected
    assert "1,5\u00a0%\u00a0±\u00a01,5\u00a0%" in expected
    assert "5\u00a0%" in expected


def test_a_plans_notes_name_signs_gaps_and_who_was_never_screened() -> None:
    noted = {note for row in overview().rows for note in row.noted}
    assert noted == {"Wrist pain", "not screened yet", "too little: hip flexors, pushing tall"}


# --- referral -------------------------------------------------------------------------------------


def refer(text: str = "", flag: str = "back_pain_arching", **changed: object) -> str:
    note = replace(sign(flag, text), **changed)  # type: ignore[arg-type]
    others = [name for id_, name in NAMES.items() if id_ != SHE]
    made = make_referral_note(
        her(), note, others=others, catalogue=CATALOGUE, training=TRAINING, tongue=EN
    )
    return said(made)


def test_a_note_says_what_was_reported_when_and_what_was_stopped() -> None:
    words = refer("Hurts in the bridge.")
    assert "29 Aug 2026: Back pain on arching." in words
    assert "“Hurts in the bridge.”" in words
    assert "arching the back" in words
    assert "and 9 more" in words


def test_a_note_asks_plainly_and_diagnoses_nothing() -> None:
    words = refer()
    assert "Please examine the child" in words
    assert "not examined, treated or diagnosed anything" in words


def test_words_that_name_another_child_are_left_out() -> None:
    words = refer("She fell on Elif, who is fine.")
    assert "Elif" not in words
    assert "name another child" in words


@pytest.mark.parametrize(
    ("words", "is_named"),
    [
        ("It began on the beam.", False),
        ("Ada said so herself.", False),
        ("Bea saw it.", True),
        ("On Beas mat.", True),
        ("On Bea's mat.", True),
        ("she may go on", False),
    ],
)
def test_another_childs_name_is_known_by_its_capital(words: str, is_named: bool) -> None:
    assert names_another(words, "Ada Berg", ["Bea Berg", "May Holm"]) is is_named


def test_a_remark_and_a_closed_sign_are_no_ground_for_a_note() -> None:
    with pytest.raises(RefusedInputError, match="no sign"):
        refer("Nice day", kind="remark")
    with pytest.raises(RefusedInputError, match="closed"):
        refer(closed_on=DAY)


def test_the_latest_open_sign_is_the_one_to_refer() -> None:
    old, new = sign(id_=4), replace(sign("numbness", id_=6), noted_on=DAY)
    closed = replace(new, id=7, closed_on=DAY)
    assert sign_to_refer([old, closed, new], DAY) == new
    assert sign_to_refer([closed], DAY) is None


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_child_is_alone_on_her_own_sheets(language: str) -> None:
    others = {name.split()[0] for id_, name in NAMES.items() if id_ != SHE} - {"Ada"}
    for sheet in (family(language=language), coach(language=language)):
        words = said(replace(sheet, line=None) if isinstance(sheet, FamilySheet) else sheet)
        assert [name for name in others if name in words.split()] == []


def test_every_load_that_a_sign_bars_has_words() -> None:
    barred = {load for bar in TRAINING.bars.values() for load in bar.loads}
    assert barred <= set(LOADS)
