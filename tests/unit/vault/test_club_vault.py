"""The club key: what opens it, what does not, and what a passphrase changes."""

import json
import threading
from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest

from chordline.adapters.vault import club_vault
from chordline.adapters.vault.club_key import ClubKeyFile
from chordline.adapters.vault.club_vault import ClubVault
from chordline.errors import VaultError, VaultLockedError, WrongSecretError
from vault_stories import CHEAP, PASSPHRASE

DAY = date(2025, 9, 1)
KEY_ID = "a" * 32


@pytest.fixture
def place(tmp_path: Path) -> Path:
    return tmp_path / "club.key"


def vault_at(
    place: Path, *, given: str | None = None, ask: Callable[[], str | None] | None = None
) -> ClubVault:
    return ClubVault(place, is_new=lambda: True, given=given, ask=ask, cost=CHEAP)


def begun(place: Path) -> tuple[bytes, bytes]:
    """A vault with a passphrase; a wrapped key and what it opens."""
    vault = vault_at(place)
    wrapped = vault.make_key(KEY_ID)
    opened = vault.data_key(KEY_ID, lambda: wrapped)
    assert opened is not None
    vault.set_passphrase(PASSPHRASE)
    return wrapped, opened


def opens(vault: ClubVault, wrapped: bytes) -> bytes | None:
    return vault.data_key(KEY_ID, lambda: wrapped)


def test_without_a_passphrase_the_key_lies_in_the_file_and_opens(place: Path) -> None:
    vault = vault_at(place)
    wrapped = vault.make_key(KEY_ID)
    assert vault.state == "by_file"
    assert opens(vault_at(place), wrapped) == opens(vault, wrapped)


def test_with_a_passphrase_the_key_is_nowhere_in_the_file(place: Path) -> None:
    vault = vault_at(place)
    vault.make_key(KEY_ID)
    bare = json.loads(place.read_text())["bare"]
    vault.set_passphrase(PASSPHRASE)
    assert bare not in place.read_text()
    assert "bare" not in json.loads(place.read_text())
    assert vault.state == "open"


def test_the_passphrase_opens_and_a_wrong_one_is_told_at_once(place: Path) -> None:
    wrapped, key = begun(place)
    vault = vault_at(place)
    assert vault.locked
    with pytest.raises(VaultLockedError):
        opens(vault, wrapped)
    with pytest.raises(WrongSecretError, match="not the club's passphrase"):
        vault.unlock(PASSPHRASE + "!")
    assert vault.locked
    vault.unlock(PASSPHRASE)
    assert opens(vault, wrapped) == key


def test_changing_the_passphrase_changes_no_key(place: Path) -> None:
    wrapped, key = begun(place)
    vault = vault_at(place, given=PASSPHRASE)
    vault.set_passphrase("another four words entirely")
    again = vault_at(place)
    with pytest.raises(WrongSecretError):
        again.unlock(PASSPHRASE)
    again.unlock("another four words entirely")
    assert opens(again, wrapped) == key


def test_the_recovery_code_opens_and_survives_another_passphrase(place: Path) -> None:
    wrapped, key = begun(place)
    vault = vault_at(place, given=PASSPHRASE)
    code = vault.new_recovery_code(day=DAY)
    vault.set_passphrase("another four words entirely")
    lost = vault_at(place)
    lost.unlock_with_code(code.lower())
    assert opens(lost, wrapped) == key
    assert lost.sheet_printed_on == DAY
    assert code.split("-")[0] not in place.read_text()


def test_a_new_sheet_makes_the_old_one_worthless(place: Path) -> None:
    begun(place)
    vault = vault_at(place, given=PASSPHRASE)
    old, new = vault.new_recovery_code(day=DAY), vault.new_recovery_code(day=DAY)
    with pytest.raises(WrongSecretError, match="opens nothing here"):
        vault_at(place).unlock_with_code(old)
    vault_at(place).unlock_with_code(new)


def test_locking_lets_go_of_every_key(place: Path) -> None:
    wrapped, _ = begun(place)
    vault = vault_at(place, given=PASSPHRASE)
    assert opens(vault, wrapped)
    vault.lock()
    with pytest.raises(VaultLockedError):
        opens(vault, wrapped)


def test_without_the_passphrase_again_the_file_opens(place: Path) -> None:
    wrapped, key = begun(place)
    vault_at(place, given=PASSPHRASE).remove_passphrase()
    assert opens(vault_at(place), wrapped) == key


def test_somebody_at_the_terminal_is_asked_three_times(place: Path) -> None:
    wrapped, key = begun(place)
    said = iter(["wrong", "wrong", PASSPHRASE])
    assert opens(vault_at(place, ask=lambda: next(said)), wrapped) == key
    asked: list[int] = []
    vault = vault_at(place, ask=lambda: asked.append(1) or "wrong")
    assert not vault.opens()
    assert len(asked) == 3
    vault.stop_asking()
    assert not vault.opens()
    assert len(asked) == 3


def test_a_wrong_passphrase_in_the_environment_is_told(place: Path) -> None:
    begun(place)
    with pytest.raises(WrongSecretError, match="CHORDLINE_PASSPHRASE"):
        vault_at(place, given="wrong").opens()


def test_the_same_words_typed_on_another_keyboard_open(place: Path) -> None:
    vault_at(place).set_passphrase("größer als gestern\u0301")
    vault_at(place).unlock("gro\u0308ßer als gesterń")


@pytest.mark.parametrize("passphrase", ["", "eleven sign", "x" * 501])
def test_a_passphrase_that_is_easily_guessed_is_refused(place: Path, passphrase: str) -> None:
    with pytest.raises(WrongSecretError, match="signs"):
        vault_at(place).set_passphrase(passphrase)


def test_keys_of_another_club_are_told(place: Path, tmp_path: Path) -> None:
    wrapped = vault_at(tmp_path / "other.key").make_key(KEY_ID)
    with pytest.raises(VaultError, match=r"do not fit club\.key"):
        opens(vault_at(place), wrapped)


def test_a_wrapped_key_under_another_name_opens_nothing(place: Path) -> None:
    vault = vault_at(place)
    wrapped = vault.make_key(KEY_ID)
    with pytest.raises(VaultError):
        vault.data_key("b" * 32, lambda: wrapped)


@pytest.mark.parametrize(
    "damage",
    [
        lambda record: {},
        lambda record: {**record, "bare": record["check"]},
        lambda record: {**record, "check": record["bare"]},
        lambda record: {**record, "bare": "no base64!"},
        lambda record: {**record, "schema": "chordline.club-key/2"},
    ],
)
def test_a_damaged_file_is_told_and_left_alone(
    place: Path, damage: Callable[[dict[str, str]], dict[str, str]]
) -> None:
    vault_at(place).make_key(KEY_ID)
    place.write_text(json.dumps(damage(json.loads(place.read_text()))))
    before = place.read_bytes()
    with pytest.raises(VaultError):
        vault_at(place).make_key(KEY_ID)
    assert place.read_bytes() == before


def test_a_key_that_is_not_the_one_the_file_names_is_refused(place: Path, tmp_path: Path) -> None:
    begun(place)
    vault_at(tmp_path / "other.key").make_key(KEY_ID)
    record = json.loads(place.read_text())
    record["check"] = json.loads((tmp_path / "other.key").read_text())["check"]
    place.write_text(json.dumps(record))
    with pytest.raises(WrongSecretError):
        vault_at(place).unlock(PASSPHRASE)


def test_a_file_that_would_calculate_for_hours_is_refused(place: Path) -> None:
    begun(place)
    record = json.loads(place.read_text())
    record["passphrase"]["memory_kib"] = 1 << 40
    place.write_text(json.dumps(record))
    with pytest.raises(VaultError, match="damaged"):
        vault_at(place).unlock(PASSPHRASE)


def test_what_two_programs_change_at_once_counts_both(
    place: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    wrapped, opened = begun(place)
    here, there = vault_at(place), vault_at(place)
    here.unlock(PASSPHRASE)
    there.unlock(PASSPHRASE)
    about_to_save, go_on = threading.Event(), threading.Event()
    save = club_vault.save_key_file

    def save_slowly(where: Path, file: ClubKeyFile) -> None:
        if not about_to_save.is_set():
            about_to_save.set()
            assert go_on.wait(10.0)
        save(where, file)

    monkeypatch.setattr(club_vault, "save_key_file", save_slowly)
    codes: list[str] = []
    first = threading.Thread(target=lambda: here.set_passphrase("other words that hop"))
    second = threading.Thread(
        target=lambda: codes.append(there.new_recovery_code(day=date(2026, 11, 2)))
    )
    first.start()
    assert about_to_save.wait(10.0)
    second.start()
    second.join(0.2)
    assert second.is_alive(), "it waits for who is changing the file"
    go_on.set()
    first.join(10.0)
    second.join(10.0)
    by_words, by_code = vault_at(place), vault_at(place)
    by_words.unlock("other words that hop")
    by_code.unlock_with_code(codes[0])
    assert opens(by_words, wrapped) == opens(by_code, wrapped) == opened
