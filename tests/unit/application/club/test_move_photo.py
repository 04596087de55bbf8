"""The coach says whose photo it is, which test; or takes it out."""

from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest
from stored_photos import Gym, open_gym

from chordline.application.club.move_photo import Said
from chordline.errors import ImpossibleRecordError, NotThereError, RefusedInputError
from club_stories import MONDAY, TUESDAY


@pytest.fixture
def gym(tmp_path: Path) -> Iterator[Gym]:
    with open_gym(tmp_path) as gym:
        yield gym


def test_it_moves_to_her_screen_of_the_day_and_is_measured_again(gym: Gym) -> None:
    photo = gym.measured()
    said = Said(gym.girls[1].id, "prone-out", day=TUESDAY)
    after = gym.move(photo.id, said, today=TUESDAY)
    assert (after.state, after.test) == ("waiting", "prone-out")
    assert (gym.owner(photo.id), gym.day(photo.id)) == ("Ida Sol", TUESDAY)
    gym.work()
    assert gym.view(photo.id).photo.state == "measured"


def test_without_a_day_it_keeps_its_own(gym: Gym) -> None:
    photo = gym.measured()
    gym.move(photo.id, Said(gym.girls[1].id, "prone-overhead"), today=TUESDAY)
    assert gym.day(photo.id) == MONDAY


def test_the_screen_that_it_left_is_judged_without_it(gym: Gym) -> None:
    photo = gym.measured()
    gym.move(photo.id, Said(gym.girls[1].id, "prone-overhead"), today=TUESDAY)
    with gym.records.reading() as tx:
        assert tx.screens.findings(photo.screen_id or 0)[0].up_to_date
        assert len(tx.screens.findings(photo.screen_id or 0)) == 2


def test_saying_what_is_known_changes_nothing(gym: Gym) -> None:
    photo = gym.measured()
    after = gym.move(photo.id, Said(gym.girls[0].id, "prone-overhead"), today=TUESDAY)
    assert after == photo
    assert gym.waiting() == 0


def test_without_an_owner_the_card_is_asked_again(gym: Gym) -> None:
    photo = gym.bring(gymnast_id=gym.girls[1].id)
    gym.work()
    gym.cards.numbers = (0,)
    gym.move(photo.id, Said(None, "prone-overhead"), today=TUESDAY)
    gym.work()
    assert gym.owner(photo.id) == "Mila Berg"


def test_a_day_without_an_owner_is_refused(gym: Gym) -> None:
    photo = gym.measured("prone-out.jpg")
    with pytest.raises(RefusedInputError, match="say whose photo it is as well"):
        gym.move(photo.id, Said(None, "prone-out", day=MONDAY), today=TUESDAY)


def test_impossible_things_change_nothing(gym: Gym) -> None:
    photo = gym.measured()
    her = gym.girls[0].id
    with pytest.raises(RefusedInputError, match="no test is called"):
        gym.move(photo.id, Said(her, "cartwheel"), today=TUESDAY)
    with pytest.raises(ImpossibleRecordError, match="future"):
        gym.move(photo.id, Said(her, None, day=TUESDAY + timedelta(1)), today=TUESDAY)
    with pytest.raises(NotThereError):
        gym.move(photo.id, Said(99, "prone-out"), today=TUESDAY)
    assert gym.view(photo.id).photo == photo


def test_a_photo_without_its_picture_does_not_lose_its_measurement(gym: Gym) -> None:
    photo = gym.measured()
    with gym.records.transaction() as tx:
        tx.photos.forget_picture(photo.id)
    with pytest.raises(RefusedInputError, match="cannot be measured again"):
        gym.move(photo.id, Said(gym.girls[1].id, "prone-overhead"), today=TUESDAY)
    with pytest.raises(RefusedInputError, match="cannot be measured again"):
        gym.move.measure_again(photo.id)
    assert gym.owner(photo.id) == "Mila Berg"
    assert gym.view(photo.id).photo.state == "measured"


def test_measuring_again_is_done_although_it_is_measured(gym: Gym) -> None:
    photo = gym.measured()
    gym.move.measure_again(photo.id)
    gym.work()
    with gym.records.reading() as tx:
        assert len(tx.photos.measurements(photo.id)) == 2


def test_taken_out_nothing_of_it_is_left(gym: Gym) -> None:
    photo = gym.measured()
    gym.move.take_out(photo.id)
    assert gym.store.kept == {}
    with pytest.raises(NotThereError):
        gym.view(photo.id)
    with pytest.raises(NotThereError):
        gym.move.take_out(photo.id)
