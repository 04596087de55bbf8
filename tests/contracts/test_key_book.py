"""Wrapped keys in the records, and every file under the key of the gymnast whose it is."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from chordline.adapters.db.records import SqlRecords
from chordline.adapters.vault.club_vault import ClubVault
from chordline.adapters.vault.ring import export_ring, import_ring
from chordline.adapters.vault.store import SealedPhotoStore
from chordline.application.club.records import Club, GymnastRecord
from chordline.application.club.seal_pictures import SealPictures
from chordline.errors import NotThereError, PhotoStoreError, VaultError
from club_stories import MONDAY, found_club, new_photo
from vault_stories import CHEAP, plant_plain


class Story:
    """A club with Ada and Bea, a vault and a store."""

    def __init__(self, records: SqlRecords, folder: Path) -> None:
        self.records = records
        self.club: Club
        self.girls: list[GymnastRecord]
        self.club, self.girls = found_club(records, "Ada", "Bea")
        self.vault = ClubVault(folder / "club.key", is_new=lambda: True, cost=CHEAP)
        self.folder = folder / "photos"
        self.store = SealedPhotoStore(
            self.folder, self.vault, wrapped=self.wrapped, unfiled=lambda: self.key_of(None)
        )
        self.seal = SealPictures(records, self.store)

    def wrapped(self, key_id: str) -> bytes | None:
        with self.records.reading() as tx:
            found = tx.keys.get(key_id)
        return None if found is None else found.wrapped

    def key_of(self, gymnast_id: int | None) -> str:
        with self.records.transaction() as tx:
            return self.store.key_for(tx.keys, self.club.id, gymnast_id)

    def file(self, content_key: str, gymnast_id: int | None) -> int:
        with self.records.transaction() as tx:
            screen = None if gymnast_id is None else tx.screens.on(gymnast_id, MONDAY).id
            new = replace(new_photo(content_key, screen_id=screen), content_key=content_key)
            return tx.photos.file(self.club.id, new).photo.id

    def content_key(self, photo_id: int) -> str:
        with self.records.reading() as tx:
            key = tx.photos.get(photo_id).content_key
        assert key is not None
        return key

    def to_seal(self) -> int:
        with self.records.reading() as tx:
            return tx.keys.count_misplaced(self.club.id)


@pytest.fixture
def story(records: SqlRecords, tmp_path: Path) -> Story:
    return Story(records, tmp_path / "data")


def test_a_gymnast_has_one_key_and_nobody_yet_another(story: Story):
    ada, bea = story.girls
    ids = [story.key_of(one) for one in (ada.id, bea.id, None, ada.id, None)]
    assert ids[0] == ids[3]
    assert ids[2] == ids[4]
    assert len(set(ids)) == 3
    with story.records.transaction() as tx:
        stands = tx.keys.add(story.club.id, ada.id, key_id="f" * 32, wrapped=b"late")
        assert stands.id == ids[0]
        assert [one.gymnast_id for one in tx.keys.all(story.club.id)] == [ada.id, bea.id, None]


def test_a_key_of_a_transaction_that_failed_is_not_there(story: Story):
    def fail() -> None:
        with story.records.transaction() as tx:
            story.store.key_for(tx.keys, story.club.id, story.girls[0].id)
            tx.gymnasts.get(99)

    with pytest.raises(NotThereError):
        fail()
    with story.records.reading() as tx:
        assert tx.keys.all(story.club.id) == ()


def test_a_gymnasts_key_goes_with_her(story: Story):
    ada = story.girls[0]
    key = story.store.put(b"picture", story.key_of(ada.id))
    photo_id = story.file(key, ada.id)
    with story.records.transaction() as tx:
        assert tx.gymnasts.erase(ada.id) == (key,)
    story.store.forget_keys()
    with pytest.raises(NotThereError):
        story.content_key(photo_id)
    with pytest.raises(PhotoStoreError, match="was erased"):
        story.store.open(key)


def test_plain_unfiled_and_moved_files_come_under_their_gymnasts_key(story: Story):
    ada, bea = story.girls
    hers = story.key_of(ada.id)
    pictures = {
        story.file(plant_plain(story.folder, b"plain"), ada.id): (b"plain", hers),
        story.file(story.store.put(b"nobody's"), ada.id): (b"nobody's", hers),
        story.file(story.store.put(b"moved", story.key_of(bea.id)), ada.id): (b"moved", hers),
        story.file(story.store.put(b"well", hers), ada.id): (b"well", hers),
        story.file(plant_plain(story.folder, b"whose?"), None): (b"whose?", story.key_of(None)),
    }
    assert story.to_seal() == 4
    done = story.seal.all(story.club.id)
    assert (done.sealed, done.unreadable, story.to_seal()) == (4, (), 0)
    for photo_id, (content, key_id) in pictures.items():
        assert key_id in story.content_key(photo_id)
        assert story.store.open(story.content_key(photo_id)) == content
    assert len(list(story.store.keys())) == 5
    assert story.seal.all(story.club.id).sealed == 0


def test_a_photo_filed_under_somebody_is_sealed_under_her_key_at_once(story: Story):
    ada = story.girls[0]
    photo_id = story.file(story.store.put(b"picture"), None)
    with story.records.transaction() as tx:
        screen = tx.screens.on(ada.id, MONDAY)
        tx.photos.move(photo_id, screen_id=screen.id, test=None)
    story.seal.filed("photo", photo_id)
    story.seal.filed("photo", photo_id)
    assert story.key_of(ada.id) in story.content_key(photo_id)
    assert list(story.store.keys()) == [story.content_key(photo_id)]


def test_what_cannot_be_read_stays_and_is_told(story: Story):
    plain = plant_plain(story.folder, b"plain")
    (story.folder / plain[6:8] / plain).write_bytes(b"other")
    photo_id = story.file(plain, story.girls[0].id)
    assert story.seal.all(story.club.id).unreadable == (plain,)
    assert story.content_key(photo_id) == plain
    assert list(story.store.keys()) == [plain]


def test_a_photo_that_was_moved_while_it_was_sealed_is_left_to_the_next_time(story: Story):
    ada, bea = story.girls
    photo_id = story.file(story.store.put(b"picture"), ada.id)
    with story.records.reading() as tx:
        one = tx.keys.misplaced_one("photo", photo_id)
    assert one is not None
    with story.records.transaction() as tx:
        tx.photos.move(photo_id, screen_id=tx.screens.on(bea.id, MONDAY).id, test=None)
        assert not tx.keys.replace(one, "sealed-" + "a" * 32 + "-" + "b" * 32)
    assert story.content_key(photo_id) == one.content_key


def test_the_key_of_nobody_goes_only_where_nothing_is_under_it(story: Story):
    key_id = story.key_of(None)
    photo_id = story.file(story.store.put(b"picture"), None)
    with story.records.transaction() as tx:
        assert not tx.keys.retire_unfiled(story.club.id)
        tx.photos.remove(photo_id)
    with story.records.transaction() as tx:
        assert tx.keys.retire_unfiled(story.club.id)
        assert not tx.keys.retire_unfiled(story.club.id)
    assert story.key_of(None) != key_id


def test_a_ring_brings_back_the_keys_of_those_who_are_there(story: Story):
    ada, bea = story.girls
    keys = {
        story.store.put(b"ada", story.key_of(ada.id)),
        story.store.put(b"bea", story.key_of(bea.id)),
        story.store.put(b"nobody"),
    }
    with story.records.reading() as tx:
        ring = export_ring(tx, story.club.id, story.vault)
    with story.records.transaction() as tx:
        tx.gymnasts.erase(bea.id)
        hers = tx.keys.of(story.club.id, ada.id)
        assert hers is not None
    # As in records that were restored without their keys.
    _forget_keys(story)
    with story.records.transaction() as tx:
        came = import_ring(tx, story.club.id, story.vault, ring)
    assert (came.taken, len(came.left_out)) == (2, 1)
    story.store.forget_keys()
    opened = {story.store.open(key) for key in keys if came.left_out[0] not in key}
    assert opened == {b"ada", b"nobody"}
    with story.records.transaction() as tx:
        assert import_ring(tx, story.club.id, story.vault, ring).taken == 2


@pytest.mark.parametrize(
    "damage",
    [
        lambda ring: b"",
        lambda ring: b"[]",
        lambda ring: ring.replace(b'"gymnast": 1', b'"gymnast": 2'),
        lambda ring: ring.replace(b"ring/1", b"ring/2"),
    ],
)
def test_a_ring_that_was_changed_is_refused(story: Story, damage: Callable[[bytes], bytes]):
    story.key_of(story.girls[0].id)
    with story.records.transaction() as tx:
        ring = export_ring(tx, story.club.id, story.vault)
        assert damage(ring) != ring
        with pytest.raises(VaultError):
            import_ring(tx, story.club.id, story.vault, damage(ring))


def _forget_keys(story: Story) -> None:
    from chordline.adapters.db.vault_schema import VAULT_KEY  # noqa: PLC0415

    with story.records.transaction() as tx:
        tx.keys._session.connection.execute(VAULT_KEY.delete())
