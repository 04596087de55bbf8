"""A photo comes in: kept, filed and queued, or not there at all."""

from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest
from stored_photos import Gym, open_gym

from chordline.adapters.db.photos import SqlPhotos
from chordline.application.club.take_in import Incoming
from chordline.errors import (
    ImpossibleRecordError,
    NotThereError,
    PictureError,
    RecordsBusyError,
    RefusedInputError,
)
from club_stories import MONDAY, TUESDAY


@pytest.fixture
def gym(tmp_path: Path) -> Iterator[Gym]:
    with open_gym(tmp_path) as gym:
        yield gym


def test_it_waits_with_its_test_and_day(gym: Gym) -> None:
    photo = gym.bring("0_prone-out.jpg")
    assert (photo.state, photo.test, photo.taken_on) == ("waiting", "prone-out", MONDAY)
    assert gym.store.has(photo.content_key or "")
    assert gym.waiting() == 1


def test_what_the_coach_said_comes_before_its_name(gym: Gym) -> None:
    photo = gym.bring("0_prone-out.jpg", test="handstand", gymnast_id=gym.girls[1].id)
    assert photo.test == "handstand"
    assert gym.owner(photo.id) == "Ida Sol"
    assert gym.day(photo.id) == MONDAY


def test_the_same_bytes_come_in_once(gym: Gym) -> None:
    first = gym.bring("0_prone-out.jpg")
    again = gym.take_in(gym.club.id, Incoming("x.jpg", b"a", TUESDAY), today=TUESDAY)
    assert again.already_there
    assert again.photo == first
    assert gym.waiting() == 1


@pytest.mark.parametrize(
    ("name", "kept"),
    [
        ("C:\\photos\\a.jpg", "a.jpg"),
        ("../../etc/a.jpg", "a.jpg"),
        ("photos/", "photo"),
        ("", "photo"),
        ("a" * 300 + ".jpg", "a" * 251 + ".jpg"),
    ],
)
def test_only_the_files_own_name_is_kept(gym: Gym, name: str, kept: str) -> None:
    assert gym.bring(name).name == kept


def test_what_is_no_picture_leaves_nothing_behind(gym: Gym) -> None:
    with pytest.raises(PictureError):
        gym.bring(content=b"broken")
    assert gym.store.kept == {}
    assert gym.waiting() == 0


def test_unknown_tests_are_refused(gym: Gym) -> None:
    with pytest.raises(RefusedInputError, match="no test is called 'cartwheel'"):
        gym.bring(test="cartwheel")
    assert gym.store.kept == {}


def test_tomorrows_photos_are_refused(gym: Gym) -> None:
    with pytest.raises(ImpossibleRecordError, match="future"):
        gym.bring(day=TUESDAY + timedelta(days=1))


def test_a_gymnast_who_is_not_there_files_nothing(gym: Gym) -> None:
    with pytest.raises(NotThereError):
        gym.bring(gymnast_id=99)
    assert gym.store.kept == {}
    assert gym.waiting() == 0


def test_a_photo_that_two_tablets_bring_at_once_is_kept_once(
    gym: Gym, monkeypatch: pytest.MonkeyPatch
) -> None:
    first = gym.bring(content=b"same")
    # As for the second tablet, which looked before the first had filed it.
    monkeypatch.setattr(SqlPhotos, "with_sha256", lambda *_: None)
    assert gym.bring(content=b"same") == first
    assert list(gym.store.keys()) == [first.content_key]


def test_a_photo_that_could_not_be_filed_leaves_no_picture(
    gym: Gym, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_: object, **__: object) -> None:
        raise RecordsBusyError

    monkeypatch.setattr(SqlPhotos, "file", fail)
    with pytest.raises(RecordsBusyError):
        gym.bring()
    assert list(gym.store.keys()) == []


def test_a_photo_comes_under_the_key_of_the_gymnast_whose_it_is(gym: Gym) -> None:
    said, told, nobodys = (
        gym.bring("a.jpg", content=b"a", gymnast_id=gym.girls[0].id, test="prone-out"),
        gym.measured("0_prone-out.jpg", content=b"b"),
        gym.measured("none.jpg", content=b"c"),
    )
    with gym.records.transaction() as tx:
        hers = gym.store.key_for(tx.keys, gym.club.id, gym.girls[0].id)
        shared = gym.store.key_for(tx.keys, gym.club.id, None)
    assert hers in (said.content_key or "")
    assert hers in (told.content_key or "")
    assert shared in (nobodys.content_key or "")
