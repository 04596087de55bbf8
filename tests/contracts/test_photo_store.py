"""What a store of pictures promises, on every way of keeping them."""

import os
import random
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from chordline.adapters.media.photo_store import FolderPhotoStore
from chordline.application.club.photo_store import PhotoStore
from chordline.errors import PhotoStoreError
from killed_writers import picture, write_until_killed


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return tmp_path / "pictures"


@pytest.fixture
def store(folder: Path) -> PhotoStore:
    return FolderPhotoStore(folder)


def test_a_picture_comes_back_as_it_was_given(store: PhotoStore, folder: Path):
    key = store.put(b"picture")
    assert store.open(key) == b"picture"
    assert FolderPhotoStore(folder).open(key) == b"picture"
    assert store.has(key)


def test_the_same_picture_is_kept_once(store: PhotoStore):
    assert store.put(b"picture") == store.put(b"picture")
    assert store.put(b"another") != store.put(b"picture")
    assert len(list(store.keys())) == 2


def test_the_same_picture_from_eight_tablets_is_kept_once(store: PhotoStore, folder: Path):
    with ThreadPoolExecutor(8) as pool:
        keys = set(pool.map(store.put, [picture(1)] * 16))
    assert list(store.keys()) == list(keys)
    assert not list(folder.glob("unfinished-*"))


def test_a_deleted_picture_is_gone(store: PhotoStore):
    key = store.put(b"picture")
    assert store.delete(key)
    assert not store.delete(key)
    assert not store.has(key)
    with pytest.raises(PhotoStoreError, match="not kept"):
        store.open(key)


@pytest.mark.parametrize(
    "key",
    [
        "",
        "..",
        "../../etc/passwd",
        "/etc/passwd",
        "plain-",
        "a" * 64,
        "plain-" + "A" * 64,
        "plain-" + "١" * 64,
        "plain-" + "a" * 63 + "/",
        "plain-" + "a" * 64 + "\n",
        "plain-\0" + "a" * 63,
    ],
)
def test_no_word_from_outside_reaches_a_file(store: PhotoStore, key: str):
    for deed in (store.open, store.has, store.delete):
        with pytest.raises(PhotoStoreError):
            deed(key)


def test_a_damaged_picture_is_told_and_mended_by_giving_it_again(store: PhotoStore, folder: Path):
    key = store.put(b"picture")
    (file,) = folder.glob("*/plain-*")
    file.write_bytes(b"pic")
    with pytest.raises(PhotoStoreError, match="damaged"):
        store.open(key)
    assert store.put(b"picture") == key
    assert store.open(key) == b"picture"


def test_pictures_are_for_their_owner_only(store: PhotoStore, folder: Path):
    store.put(b"picture")
    (file,) = folder.glob("*/plain-*")
    assert [path.stat().st_mode & 0o077 for path in (folder, file.parent, file)] == [0, 0, 0]


def test_a_folder_that_is_none_is_told(tmp_path: Path):
    (tmp_path / "file").write_bytes(b"")
    with pytest.raises(PhotoStoreError):
        FolderPhotoStore(tmp_path / "file")


def test_what_a_kill_left_is_swept_away_but_not_what_is_being_written(folder: Path):
    FolderPhotoStore(folder)
    for name, age_s in (("unfinished-old", 2 * 3600.0), ("unfinished-new", 1.0)):
        (folder / name).write_bytes(b"half")
        os.utime(folder / name, (time.time() - age_s,) * 2)
    FolderPhotoStore(folder)
    assert [path.name for path in folder.glob("unfinished-*")] == ["unfinished-new"]


@pytest.mark.slow
def test_kills_lose_no_acknowledged_picture_and_leave_no_half_one(folder: Path):
    moments = random.Random(7)
    acknowledged: set[str] = set()
    for kill in range(10):
        acknowledged |= set(
            write_until_killed(
                "photos", str(folder), first=kill * 10_000, after_s=moments.uniform(0.0, 0.08)
            )
        )
        store = FolderPhotoStore(folder)
        there = set(store.keys())
        assert acknowledged <= there
        assert all(store.open(key) for key in there)
    assert len(acknowledged) > 10
