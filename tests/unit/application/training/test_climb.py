"""From the records to the ladder: which screen counts, whose error, who said what."""

import json
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Any

import numpy as np
import pytest

from chordline.adapters.db.records import SqlRecords
from chordline.application.club.records import (
    Consent,
    FindingsRecord,
    GymnastRecord,
    HoldRecord,
    MeasurementRecord,
    NewGymnast,
    NoteRecord,
    PhotoRecord,
    ScreenRecord,
)
from chordline.application.club.views import GymnastView, PhotoView, ScreenView
from chordline.application.findings_json import findings_to_json
from chordline.application.measurement_json import measurement_to_json
from chordline.application.training.climb import Climbed, ClimbedRung, climb
from chordline.application.training.climb_json import SCHEMA, ladder_to_json
from chordline.application.training.climb_known import Known, read_known
from chordline.application.training.climb_words import (
    brief_in_words,
    chance_in_words,
    joint_in_words,
    said_in_words,
)
from chordline.application.training.her_ladder import HerLadder
from chordline.application.training.records import SkillRecord
from chordline.catalogue.training import load_training
from chordline.core.body.measurement import Measurement, Trust
from chordline.core.capacity.model import Belief
from chordline.errors import ImpossibleRecordError, NotThereError, RefusedInputError
from screen_stories import CATALOGUE, judge, photo, story

TRAINING = load_training(CATALOGUE)
MONDAY = date(2025, 9, 1)
NOW = datetime(2025, 9, 1, 17, tzinfo=UTC)
ADA = GymnastRecord(1, 1, "Ada", 7, date(2013, 9, 2), Consent(), None, 1)
Tests = Mapping[str, Mapping[str, float]]


def photo_view(measurement: Measurement, number: int) -> PhotoView:
    record = PhotoRecord(
        **{
            **dict.fromkeys(PhotoRecord.__dataclass_fields__),
            "id": number,
            "name": f"{number}.jpg",
            "test": measurement.test,
            "state": "measured",
        }
    )
    kept = MeasurementRecord(
        number, number, 1, None, measurement_to_json(measurement), "hand marks", "x", NOW
    )
    return PhotoView(record, None, kept)


def screen(
    tests: Tests,
    *,
    day: date = MONDAY,
    holds: Sequence[tuple[str, float, bool]] = (),
    also: Sequence[Measurement] = (),
    flags: tuple[str, ...] = (),
    judged: bool = True,
) -> ScreenView:
    told = story(flags=flags, **{name.replace("-", "_"): shown for name, shown in tests.items()})
    measurements = (*told.measurements, *also)
    findings = None
    if judged:
        found = judge(replace(told, measurements=measurements))
        findings = FindingsRecord(1, 1, day, findings_to_json(found), "x", (), NOW, True)
    return ScreenView(
        screen=ScreenRecord(1, 1, day, 1),
        photos=tuple(photo_view(one, i) for i, one in enumerate(measurements)),
        holds=tuple(
            HoldRecord(i, 1, test, seconds, cap, "Coach", NOW)
            for i, (test, seconds, cap) in enumerate(holds)
        ),
        findings=findings,
    )


def known(
    *screens: ScreenView,
    notes: tuple[NoteRecord, ...] = (),
    skills: tuple[SkillRecord, ...] = (),
    belief: Belief | None = None,
) -> Known:
    view = GymnastView(ADA, (), (), notes, screens)
    return read_known(
        view, skills, today=MONDAY, catalogue=CATALOGUE, training=TRAINING, belief=belief
    )


def ladder(her: Known) -> Climbed:
    return climb(her, catalogue=CATALOGUE, training=TRAINING)


def rung(climbed: Climbed, id: str) -> ClimbedRung:
    return next(one for one in climbed.rungs if one.id == id)


def sign(flag: str, *, noted_on: date = MONDAY, closed_on: date | None = None) -> NoteRecord:
    return NoteRecord(1, 1, noted_on, "flag", flag, "", "Coach", closed_on)


HIPS = ("prone-sides", "hip_opening_deg")


def test_a_measures_error_holds_all_of_a_takes_and_what_she_changes() -> None:
    value = known(screen({"prone-sides": {"hip": -5.0}})).measures[HIPS]
    measure = photo("prone-sides", {"hip": -5.0}).measures["hip_opening_deg"]
    repeat = CATALOGUE.model["prone-sides"]["hip_opening_deg"].repeat_sd
    assert value.value == pytest.approx(-5.0)
    assert value.sd == pytest.approx(np.hypot(measure.total_sd, repeat), abs=1e-3)


def test_two_takes_are_averaged_but_are_no_surer_than_one() -> None:
    again = photo("prone-sides", {"hip": -7.0}, name="again.jpg")
    once = known(screen({"prone-sides": {"hip": -5.0}})).measures[HIPS]
    twice = known(screen({"prone-sides": {"hip": -5.0}}, also=[again])).measures[HIPS]
    assert twice.value == pytest.approx(-6.0)
    assert twice.sd == once.sd


def test_takes_that_contradict_each_other_are_not_read() -> None:
    again = photo("prone-sides", {"hip": -40.0}, name="again.jpg")
    her = known(screen({"prone-sides": {"hip": 0.0}}, also=[again]))
    assert HIPS not in her.measures
    assert HIPS in her.put_aside
    (asked,) = rung(ladder(her), "line-prone").unknown
    assert asked.put_aside
    assert asked.ask_test == "prone-sides"


def test_a_photo_that_needs_a_look_does_not_count() -> None:
    doubtful = photo("prone-sides", {"hip": 0.0}, trust=Trust(False, ("the hip is doubtful",)))
    view = screen({})
    refused = replace(photo_view(doubtful, 9).photo, state="refused")
    view = replace(view, photos=(replace(photo_view(doubtful, 9), photo=refused),))
    assert known(view).measures == {}


def test_a_short_screen_does_not_hide_what_the_one_before_told() -> None:
    before = screen(
        {"prone-sides": {"hip": -20.0}, "prone-raised": {"shoulder": -3.0}},
        day=MONDAY - timedelta(weeks=3),
        holds=[("hold-front", 40.0, False)],
    )
    now = screen({"prone-sides": {"hip": -2.0}})
    her = known(now, before)
    assert her.measures[HIPS].value == pytest.approx(-2.0)
    assert her.capacities["hip_extension_deg"].day == MONDAY
    assert her.capacities["shoulder_flexion_deg"].day == MONDAY - timedelta(weeks=3)
    assert her.holds["hold-front"].seconds == 40.0
    assert her.screened_on == MONDAY


def test_an_old_screen_counts_no_more() -> None:
    weeks = CATALOGUE.setting("screen_due_weeks")
    tests = {"prone-raised": {"shoulder": -3.0}}
    just = screen(tests, day=MONDAY - timedelta(weeks=weeks))
    old = screen(tests, day=MONDAY - timedelta(weeks=weeks, days=1))
    assert "shoulder_flexion_deg" in known(screen({"prone-sides": {}}), just).capacities
    assert "shoulder_flexion_deg" not in known(screen({"prone-sides": {}}), old).capacities
    assert "shoulder_flexion_deg" in known(old).capacities


def test_the_hold_that_was_entered_last_counts_with_its_cap() -> None:
    holds = [("hold-front", 60.0, False), ("hold-front", 30.0, True)]
    held = known(screen({}, holds=holds)).holds["hold-front"]
    assert (held.seconds, held.reached_cap) == (30.0, True)
    repeat = CATALOGUE.model["hold-front"]["hold_log_s"].repeat_sd
    assert held.rel_sd == pytest.approx(np.hypot(CATALOGUE.setting("hold_rel_sd"), repeat))


def test_a_screen_that_nobody_judged_tells_measures_only() -> None:
    her = known(screen({"prone-sides": {"hip": 0.0}}, judged=False))
    assert her.capacities == {}
    assert rung(ladder(her), "line-prone").standing == "ready"


def test_open_signs_count_and_closed_ones_do_not() -> None:
    assert known(notes=(sign("wrist_pain"),)).signs == ("wrist_pain",)
    assert known(notes=(sign("wrist_pain", closed_on=MONDAY),)).signs == ()
    pain = NoteRecord(1, 1, MONDAY, "pain", None, "knee", "Coach", None)
    remark = NoteRecord(2, 1, MONDAY, "remark", None, "tired", "Coach", None)
    assert known(notes=(pain, remark)).signs == ("pain",)
    assert known(notes=(sign("no_such_sign"),)).signs == ()


def test_a_sign_that_the_photos_show_counts_without_a_note() -> None:
    left = photo("prone-raised", {"hip": 0.0, "shoulder": 0.0}, name="l.jpg", near="left")
    right = photo("prone-raised", {"hip": 0.0, "shoulder": -30.0}, name="r.jpg", near="right")
    view = screen({}, also=[left, right])
    assert known(view).signs == ("one_sided",)
    barred = rung(ladder(known(view)), "handstand-free")
    assert barred.judged.rung.barred_by == ("one_sided",)


def test_a_sign_that_was_closed_since_the_screen_bars_nothing() -> None:
    closed = sign("wrist_pain", noted_on=MONDAY - timedelta(days=3), closed_on=MONDAY)
    view = screen({"prone-sides": {}}, day=MONDAY - timedelta(days=1), flags=("wrist_pain",))
    assert known(view, notes=(closed,)).signs == ()


def test_a_rung_that_the_ladder_has_no_more_is_kept_apart() -> None:
    skills = (SkillRecord(1, "tripod", MONDAY, "Bea"), SkillRecord(1, "gone", MONDAY, "Bea"))
    climbed = ladder(known(skills=skills))
    assert [one.rung for one in climbed.elsewhere] == ["gone"]
    tripod = rung(climbed, "tripod")
    assert said_in_words(tripod, TRAINING) == "She has it since 1 Sep 2025, said by Bea."
    assert brief_in_words(tripod, catalogue=CATALOGUE, training=TRAINING) == ""


def test_who_has_the_wall_handstand_pushed_tall_is_not_asked_for_the_wall_handstand() -> None:
    climbed = ladder(known(skills=(SkillRecord(1, "wall-push", MONDAY, "Bea"),)))
    wall = rung(climbed, "wall-handstand")
    assert wall.standing == "had"
    assert "Handstand at the wall, pushed tall" in said_in_words(wall, TRAINING)


def test_ages_are_whole_years() -> None:
    assert known().age_y == 11


def test_a_sign_of_which_the_catalogue_says_nothing_bars_everything_that_loads() -> None:
    silent = TRAINING.model_copy(update={"bars": {}})
    climbed = climb(known(notes=(sign("wrist_pain"),)), catalogue=CATALOGUE, training=silent)
    for one in climbed.rungs:
        loads = silent.rungs[one.id].loads
        assert not loads or one.judged.rung.barred_by == ("wrist_pain",)
        assert all(not silent.exercises[name].loads for name in one.meanwhile)
    assert any(one.meanwhile for one in climbed.rungs)


def test_what_hangs_together_changes_the_chance_and_not_the_standing() -> None:
    tests: Tests = {"prone-sides": {"hip": -6.0}, "supine-sides": {"seam": 14.0}}
    view = screen(tests)
    belief = judge(story(prone_sides={"hip": -6.0}, supine_sides={"seam": 14.0})).belief
    alone, together = ladder(known(view)), ladder(known(view, belief=belief))
    one, other = rung(alone, "wall-handstand"), rung(together, "wall-handstand")
    assert belief.correlation("hip_extension_deg", "pelvic_tuck_deg") < -0.1
    assert one.judged.p != other.judged.p
    assert [r.standing for r in alone.rungs] == [r.standing for r in together.rungs]
    assert "independent" in joint_in_words(alone)
    assert "independent" not in joint_in_words(together)


def test_a_chance_is_told_with_what_is_least_sure() -> None:
    her = known(screen({"prone-sides": {}, "prone-overhead": {"shoulder": -9.0}}))
    line = rung(ladder(her), "line-overhead")
    told = chance_in_words(line, CATALOGUE)
    assert told.startswith("Chance that all of it clears together: ")
    assert "Least sure: on the stomach, arms over the ears on the floor, shoulders" in told


def test_a_chance_is_never_rounded_up_to_what_is_asked() -> None:
    her = known(screen({"prone-sides": {"hip": -10.0 + 1.62 * 3.245}}))
    line = rung(ladder(her), "line-prone")
    assert line.judged.p is not None
    assert 0.945 < line.judged.p < 0.95
    assert line.standing == "close"
    assert "94 %" in chance_in_words(line, CATALOGUE)


def test_the_record_is_plain_json_with_every_rung() -> None:
    climbed = ladder(known(screen({"prone-sides": {}}, holds=[("hold-front", 16.0, True)])))
    record: dict[str, Any] = ladder_to_json(climbed, catalogue=CATALOGUE, training=TRAINING)
    again = json.loads(json.dumps(record))
    assert again["schema"] == SCHEMA
    assert [one["rung"] for one in again["rungs"]] == list(TRAINING.rungs)
    held = next(one for one in again["rungs"] if one["rung"] == "held-face-down")
    gate = next(one for one in held["gates"] if one["kind"] == "hold")
    assert gate["at_least"] is True
    assert gate["state"] == "unknown"
    assert gate["ask_test"] == "hold-front"
    assert again["together"] == "independent"
    assert "club's own" in again["thresholds"]


class NoJudge:
    """Nobody here was screened."""

    def read(self, *args: object) -> object:
        raise AssertionError


def use_case(records: SqlRecords) -> HerLadder:
    nobody: Any = NoJudge()
    return HerLadder(records, nobody, nobody, catalogue=CATALOGUE, training=TRAINING)


def taken_in(records: SqlRecords, *names: str) -> list[GymnastRecord]:
    with records.transaction() as tx:
        club = tx.clubs.add("Turnverein")
        return [tx.gymnasts.add(club.id, NewGymnast(name)) for name in names]


def test_a_coach_says_that_she_has_a_rung_and_takes_it_back(records: SqlRecords) -> None:
    (ada,) = taken_in(records, "Ada")
    use = use_case(records)
    use.say(ada.id, "tripod", reached_on=MONDAY, today=MONDAY, author="Bea")
    said = rung(use.of(ada.id, today=MONDAY), "tripod").said
    assert said == SkillRecord(ada.id, "tripod", MONDAY, "Bea")
    use.take_back(ada.id, "tripod")
    assert rung(use.of(ada.id, today=MONDAY), "tripod").said is None


def test_what_cannot_be_is_refused_and_changes_nothing(records: SqlRecords) -> None:
    (ada,) = taken_in(records, "Ada")
    use = use_case(records)
    with pytest.raises(RefusedInputError, match="no rung is called 'moon'; the ladder has pelvis"):
        use.say(ada.id, "moon", reached_on=MONDAY, today=MONDAY, author="Bea")
    tomorrow = MONDAY + timedelta(days=1)
    with pytest.raises(ImpossibleRecordError):
        use.say(ada.id, "tripod", reached_on=tomorrow, today=MONDAY, author="Bea")
    with pytest.raises(NotThereError):
        use.say(999, "tripod", reached_on=MONDAY, today=MONDAY, author="Bea")
    with pytest.raises(NotThereError):
        use.of(999, today=MONDAY)
    with pytest.raises(RefusedInputError):
        use.take_back(ada.id, "moon")
    assert use.of(ada.id, today=MONDAY).known.skills == {}


def test_a_form_that_is_sent_twice_counts_once(records: SqlRecords) -> None:
    (ada,) = taken_in(records, "Ada")
    use = use_case(records)
    for author in ("Bea", "Cleo"):
        use.say(ada.id, "tripod", reached_on=MONDAY, today=MONDAY, author=author, token="t")
    said = rung(use.of(ada.id, today=MONDAY), "tripod").said
    assert said is not None
    assert said.author == "Bea"


def test_a_club_stands_by_name_and_in_pages(records: SqlRecords) -> None:
    girls = taken_in(records, "Cleo", "Ada", "Bea")
    use = use_case(records)
    first = use.of_club(girls[0].club_id, today=MONDAY, limit=2)
    assert [one.known.name for one in first.rows] == ["Ada", "Bea"]
    assert first.total == 3
    second = use.of_club(girls[0].club_id, today=MONDAY, limit=2, after=first.next)
    assert [one.known.name for one in second.rows] == ["Cleo"]
    assert second.next is None


def test_a_rung_that_left_the_ladder_can_be_taken_back(records: SqlRecords) -> None:
    (ada,) = taken_in(records, "Ada")
    with records.transaction() as tx:
        tx.training.say_skill(ada.id, "gone", reached_on=MONDAY, author="Bea")
    use = use_case(records)
    assert [one.rung for one in use.of(ada.id, today=MONDAY).elsewhere] == ["gone"]
    use.take_back(ada.id, "gone")
    assert use.of(ada.id, today=MONDAY).elsewhere == ()
