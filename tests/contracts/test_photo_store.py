"""What a store of pictures promises, on every way of keeping them."""

import io
import os
import random
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from chordline.application.club.photo_store import PhotoStore
from chordline.errors import PhotoStoreError, VaultError
from killed_writers import picture, write_until_killed
from vault_stories import Vaulted, open_vaulted, plant_plain

WAYS = ("sealed", "plain")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return tmp_path / "club"


@pytest.fixture
def vaulted(folder: Path) -> Vaulted:
    return open_vaulted(folder)


@pytest.fixture
def store(vaulted: Vaulted) -> PhotoStore:
    return vaulted.store


def keep(vaulted: Vaulted, folder: Path, content: bytes, way: str) -> str:
    if way == "plain":
        return plant_plain(folder / "photos", content)
    return vaulted.store.put(content, vaulted.key_of(7))


@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize("length", [0, 7, 1 << 18, (1 << 18) + 1, 700_000])
def test_a_picture_comes_back_as_it_was_given(
    vaulted: Vaulted, folder: Path, way: str, length: int
):
    content = random.Random(length).randbytes(length)
    key = keep(vaulted, folder, content, way)
    for opened in (vaulted.store, open_vaulted(folder).store):
        assert opened.open(key) == content
        with opened.open_file(key) as file:
            assert file.read() == content
        assert opened.has(key)
    assert list(vaulted.store.keys()) == [key]


@pytest.mark.parametrize("way", WAYS)
def test_a_file_is_read_at_any_place(vaulted: Vaulted, folder: Path, way: str):
    content = picture(1)
    key = keep(vaulted, folder, content, way)
    moves = random.Random(3)
    with vaulted.store.open_file(key) as file:
        assert file.seek(0, os.SEEK_END) == len(content)
        for _ in range(40):
            at, count = moves.randrange(len(content)), moves.randrange(1, 300_000)
            file.seek(at)
            assert file.read(count) == content[at : at + count]
            assert file.tell() == min(at + count, len(content))


def test_a_stream_that_gives_little_at_a_time_is_kept_whole(vaulted: Vaulted):
    class Trickle(io.BytesIO):
        def read(self, size: int | None = -1, /) -> bytes:
            return super().read(min(size or 1, 40_001))

    key = vaulted.store.put_file(Trickle(picture(2)), vaulted.key_of(7))
    assert vaulted.store.open(key) == picture(2)


def test_every_file_has_a_key_of_its_own(store: PhotoStore):
    assert store.put(b"picture") != store.put(b"picture")
    assert len(list(store.keys())) == 2


def test_eight_tablets_at_once_leave_nothing_unfinished(vaulted: Vaulted, folder: Path):
    key_id = vaulted.key_of(7)
    with ThreadPoolExecutor(8) as pool:
        keys = set(pool.map(lambda number: vaulted.store.put(picture(number), key_id), range(16)))
    assert set(vaulted.store.keys()) == keys
    assert not list((folder / "photos").glob("unfinished-*"))
    assert vaulted.store.in_use(key_id)


@pytest.mark.parametrize("way", WAYS)
def test_a_deleted_picture_is_gone(vaulted: Vaulted, folder: Path, way: str):
    key = keep(vaulted, folder, b"picture", way)
    assert vaulted.store.delete(key)
    assert not vaulted.store.delete(key)
    assert not vaulted.store.has(key)
    for deed in (vaulted.store.open, vaulted.store.open_file):
        with pytest.raises(PhotoStoreError, match="not kept"):
            deed(key)


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
        "sealed-" + "a" * 32,
        "sealed-" + "a" * 32 + "-" + "a" * 31 + "/",
        "sealed-" + "a" * 32 + "-" + "a" * 32 + "\n",
    ],
)
def test_no_word_from_outside_reaches_a_file(store: PhotoStore, key: str):
    for deed in (store.open, store.open_file, store.has, store.delete):
        with pytest.raises(PhotoStoreError):
            deed(key)


@pytest.mark.parametrize("way", WAYS)
def test_a_damaged_picture_is_told(vaulted: Vaulted, folder: Path, way: str):
    key = keep(vaulted, folder, b"picture", way)
    (file,) = (folder / "photos").glob(f"*/{way}-*")
    content = bytearray(file.read_bytes())
    content[-1] ^= 1
    file.write_bytes(content)
    other = vaulted.key_of(8)
    for deed in (vaulted.store.open, lambda damaged: vaulted.store.reseal(damaged, other)):
        with pytest.raises(PhotoStoreError, match="damaged; restore it from a backup"):
            deed(key)
    assert list(vaulted.store.keys()) == [key]


@pytest.mark.parametrize("way", WAYS)
def test_a_picture_can_be_put_under_another_key(vaulted: Vaulted, folder: Path, way: str):
    old = keep(vaulted, folder, picture(1), way)
    hers = vaulted.key_of(8)
    new = vaulted.store.reseal(old, hers)
    assert hers in new
    assert vaulted.store.open(new) == vaulted.store.open(old) == picture(1)


def test_what_an_erased_key_sealed_opens_no_more(vaulted: Vaulted):
    key = vaulted.store.put(b"picture", vaulted.key_of(7))
    vaulted.keys.erase(7)
    vaulted.store.forget_keys()
    with pytest.raises(PhotoStoreError, match="was erased"):
        vaulted.store.open(key)


def test_without_its_club_key_nothing_is_made_anew(vaulted: Vaulted, folder: Path):
    vaulted.key_of(7)
    (folder / "club.key").unlink()
    with pytest.raises(VaultError, match="Put it back from a backup"):
        open_vaulted(folder).key_of(8)
    assert not (folder / "club.key").exists()


def test_pictures_and_the_club_key_are_for_their_owner_only(store: PhotoStore, folder: Path):
    store.put(b"picture")
    (file,) = (folder / "photos").glob("*/sealed-*")
    places = (folder / "photos", file.parent, file, folder / "club.key")
    assert [path.stat().st_mode & 0o077 for path in places] == [0, 0, 0, 0]


def test_a_folder_that_is_none_is_told(tmp_path: Path):
    (tmp_path / "photos").write_bytes(b"")
    with pytest.raises(PhotoStoreError):
        open_vaulted(tmp_path)


def test_what_a_kill_left_is_swept_away_but_not_what_is_being_written(folder: Path):
    open_vaulted(folder)
    for name, age_s in (("unfinished-old", 2 * 3600.0), ("unfinished-new", 1.0)):
        (folder / "photos" / name).write_bytes(b"half")
        os.utime(folder / "photos" / name, (time.time() - age_s,) * 2)
    open_vaulted(folder)
    assert [path.name for path in (folder / "photos").glob("unfinished-*")] == ["unfinished-new"]


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
        store = open_vaulted(folder).store
        there = set(store.keys())
        assert acknowledged <= there
        assert all(store.open(key) for key in there)
    assert len(acknowledged) > 10
