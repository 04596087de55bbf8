"""From a photo in the records to its measurement, whoever is killed or quicker."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from stored_photos import Gym, hand_marks, open_gym

from application_doubles import PRONE, body_of
from chordline.application.club.records import NewGymnast
from chordline.application.club.refile import refile_unowned


@pytest.fixture
def gym(tmp_path: Path) -> Iterator[Gym]:
    with open_gym(tmp_path) as gym:
        yield gym


def measurements(gym: Gym, photo_id: int) -> int:
    with gym.records.reading() as tx:
        return len(tx.photos.measurements(photo_id))


def test_it_is_filed_by_its_name_and_measured(gym: Gym) -> None:
    photo = gym.measured("1_prone-overhead.jpg")
    assert gym.owner(photo.id) == "Ida Sol"
    assert photo.state == "measured"
    view = gym.view(photo.id)
    assert view.measurement is not None
    assert view.measurement.model == "fake"


def test_the_card_in_the_picture_says_whose_it_is(gym: Gym) -> None:
    gym.cards.numbers = (1,)
    assert gym.owner(gym.measured("prone-overhead.jpg").id) == "Ida Sol"


def test_its_screen_is_judged(gym: Gym) -> None:
    photo = gym.measured()
    with gym.records.reading() as tx:
        findings = tx.screens.findings(photo.screen_id or 0)
    assert findings[0].up_to_date


def test_a_photo_that_nobody_owns_needs_a_look(gym: Gym) -> None:
    photo = gym.measured("prone-overhead.jpg")
    assert (photo.state, photo.screen_id) == ("needs_look", None)
    assert "choose whose photo it is" in (photo.reason or "")


def test_a_photo_of_no_test_is_refused_until_one_is_chosen(gym: Gym) -> None:
    photo = gym.measured("0.jpg")
    assert photo.state == "refused"
    assert "choose the test" in (photo.reason or "")


def test_where_nobody_is_found_the_reason_is_kept(gym: Gym) -> None:
    gym.poses.bodies = ()
    photo = gym.measured()
    assert photo.state == "refused"
    assert (photo.reason or "").startswith("no body was found")


def test_a_picture_that_is_gone_is_told(gym: Gym) -> None:
    photo = gym.bring()
    gym.store.kept.clear()
    gym.work()
    assert gym.view(photo.id).photo.reason == "this picture is not there any more"


def test_a_photo_taken_out_while_it_waited_stops_nobody(gym: Gym) -> None:
    first = gym.bring(content=b"a")
    second = gym.bring("1_prone-out.jpg", content=b"b")
    gym.move.take_out(first.id)
    gym.work()
    assert gym.view(second.id).photo.state == "measured"


def test_a_failure_of_ours_is_told_and_stops_nobody(
    gym: Gym, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(rgb: object) -> Any:
        raise ZeroDivisionError("in the finder")

    monkeypatch.setattr(gym.poses, "find", fail, raising=False)
    photo = gym.measured()
    assert photo.state == "refused"
    assert "ZeroDivisionError: in the finder" in (photo.reason or "")
    monkeypatch.undo()
    assert gym.measured("1_prone-overhead.jpg", content=b"b").state == "measured"


def test_a_job_whose_photo_was_measured_since_does_nothing(gym: Gym) -> None:
    photo = gym.bring()
    gym.measure(photo.id)
    assert gym.work() == 1
    assert measurements(gym, photo.id) == 1


def test_what_a_coach_said_stays_when_two_measured_at_once(
    gym: Gym, monkeypatch: pytest.MonkeyPatch
) -> None:
    photo = gym.bring("0_handstand.jpg")
    find = gym.poses.find
    confirmed = []

    def slow(rgb: Any) -> Any:
        if not confirmed:
            confirmed.append(True)
            gym.check(photo.id, hand_marks(), base_version=0, confirmed=True, author="Kim")
        return find(rgb)

    gym.measure._file(gym.view(photo.id), ())
    monkeypatch.setattr(gym.poses, "find", slow, raising=False)
    gym.work()
    after = gym.view(photo.id).photo
    assert (after.state, after.checked_by) == ("measured", "Kim")


def test_a_photo_that_nobody_owned_is_looked_at_again(gym: Gym) -> None:
    photo = gym.measured("7_prone-overhead.jpg")
    assert photo.screen_id is None
    with gym.records.transaction() as tx:
        tx.gymnasts.add(gym.club.id, NewGymnast("Noa Falk", card=7))
        assert refile_unowned(tx, gym.club.id) == 1
    gym.work()
    assert gym.owner(photo.id) == "Noa Falk"


def test_a_photo_that_ends_the_program_three_times_does_not_wait_for_ever(
    gym: Gym, monkeypatch: pytest.MonkeyPatch
) -> None:
    photo = gym.bring()

    class KilledError(BaseException):
        pass

    def kill(rgb: object) -> Any:
        raise KilledError

    monkeypatch.setattr(gym.poses, "find", kill, raising=False)
    for _ in range(3):
        assert gym.view(photo.id).photo.state == "waiting"
        with pytest.raises(KilledError):
            gym.work()
        with gym.records.transaction() as tx:
            tx.jobs.give_back()
    assert gym.work() == 0
    after = gym.view(photo.id).photo
    assert after.state == "refused"
    assert "set the marks by hand" in (after.reason or "")


def test_the_side_of_the_marks_comes_before_the_side_said(gym: Gym) -> None:
    photo = gym.measured()
    with gym.records.transaction() as tx:
        tx.photos.say(photo.id, near_side="right", front=None, person=None)
        tx.photos.save_marks(photo.id, hand_marks(), base_version=0, author="Kim")
    gym.measure(photo.id)
    view = gym.view(photo.id)
    assert view.measurement is not None
    assert view.measurement.record["near_side"] == "left"


def test_one_of_several_people_is_chosen_by_number(gym: Gym) -> None:
    gym.poses.bodies = (body_of(PRONE, scale=0.5), body_of(PRONE, scale=0.5, shift_px=800.0))
    photo = gym.measured()
    assert "2 people were found" in (photo.reason or "")
    with gym.records.transaction() as tx:
        tx.photos.say(photo.id, near_side=None, front=None, person=2)
    gym.measure(photo.id)
    view = gym.view(photo.id)
    assert view.measurement is not None
    assert view.measurement.record["landmarks"]["hip"]["x_px"] > 800.0
