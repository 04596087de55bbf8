"""The vault's door: the club key, held in memory only while it is open."""

import secrets
import threading
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from datetime import date
from pathlib import Path

from chordline.adapters.file_lock import HeldError, file_lock
from chordline.adapters.vault.club_key import (
    Argon2,
    ClubKeyFile,
    read_key_file,
    save_first_key_file,
    save_key_file,
)
from chordline.adapters.vault.recovery_code import code_in_words, new_code, read_code
from chordline.adapters.vault.wrapping import KEY_BYTES, derive, seal_of, unwrap, wrap
from chordline.application.club.vault_ports import VaultState
from chordline.errors import VaultError, VaultLockedError, WrongSecretError

#: Whoever holds a copy of the disk may try passphrases as long as she likes: assumption, four
#: random words or a sentence are longer than this, a name with a year is not.
SHORTEST_PASSPHRASE = 12
#: Longer than any sentence.
_LONGEST_PASSPHRASE = 500
_SALT_BYTES = 16
#: So many wrong passphrases in a terminal.
_TRIES = 3


class ClubVault:
    """Implements `Vault`.

    Parameters
    ----------
    place : Path
        Of ``club.key``; beside the pictures.
    is_new : callable
        Whether no key was made under a club key yet: only then a new one may be made.
    given : str, optional
        A passphrase from the environment.
    ask : callable, optional
        Asks a person for the passphrase; None from it = nobody is there.
    cost : Argon2, optional
        For passphrases that are set from now on.
    """

    def __init__(
        self,
        place: Path,
        *,
        is_new: Callable[[], bool],
        given: str | None = None,
        ask: Callable[[], str | None] | None = None,
        cost: Argon2 | None = None,
    ) -> None:
        self._place = place
        self._is_new = is_new
        self._given = given
        self._ask = ask
        self._cost = cost or Argon2()
        self._lock = threading.RLock()
        self._key: bytearray | None = None
        self._data_keys: dict[str, bytes] = {}

    # The door

    @property
    def state(self) -> VaultState:
        """How the club key is kept, and whether it is at hand."""
        file = read_key_file(self._place)
        if file is None or file.by_passphrase is None:
            return "by_file"
        return "locked" if self._at_hand() is None else "open"

    @property
    def locked(self) -> bool:
        """Whether nothing can be opened until somebody unlocks."""
        return self.state == "locked"

    def opens(self) -> bool:
        """Return whether pictures can be opened; somebody at a terminal is asked."""
        try:
            self._open_key()
        except VaultLockedError:
            return False
        return True

    @property
    def sheet_printed_on(self) -> date | None:
        """The day of the recovery sheet that opens now."""
        file = read_key_file(self._place)
        return None if file is None or not file.code_made_on else _day(file.code_made_on)

    def unlock(self, passphrase: str) -> None:
        """Unlock; raise `WrongSecretError` for a wrong passphrase."""
        file = self._file()
        key = file.open_bare() or file.open_with_passphrase(passphrase[:_LONGEST_PASSPHRASE])
        if key is None:
            raise WrongSecretError("this is not the club's passphrase; nothing was unlocked")
        self._hold(key)

    def unlock_with_code(self, typed: str) -> None:
        """Unlock with the recovery code; raise `WrongSecretError` for a typo or another code."""
        code = read_code(typed)
        file = self._file()
        key = file.open_bare() or file.open_with_code(code)
        if key is None:
            raise WrongSecretError(
                "this recovery code is written well but opens nothing here; is it of a sheet that "
                "was printed later, or of another club?"
            )
        self._hold(key)

    def lock(self) -> None:
        """Let go of every key, as well as Python allows it."""
        with self._lock:
            if self._key is not None:
                self._key[:] = bytes(len(self._key))
            self._key = None
            self._given = None
            self._data_keys.clear()

    def stop_asking(self) -> None:
        """Ask nobody at the terminal from now on: the pages ask."""
        self._ask = None

    # What opens it

    def set_passphrase(self, passphrase: str) -> None:
        """Put the club key under a passphrase, or under another one; pictures stay as they are."""
        _check(passphrase)
        with self._changing():
            key = self._open_key()
            salt = secrets.token_bytes(_SALT_BYTES)
            save_key_file(
                self._place, self._file().with_passphrase(key, passphrase, salt, self._cost)
            )

    def remove_passphrase(self) -> None:
        """Let the club key lie beside the pictures again."""
        with self._changing():
            save_key_file(self._place, self._file().without_passphrase(self._open_key()))

    def new_recovery_code(self, *, day: date) -> str:
        """Return a new recovery code, kept nowhere; the one before opens no more."""
        with self._changing():
            code = new_code()
            file = self._file().with_code(self._open_key(), code, day=day.isoformat())
            save_key_file(self._place, file)
        return code_in_words(code)

    # What it opens

    def make_key(self, key_id: str) -> bytes:
        """Return a new data key, wrapped."""
        with self._lock:
            data_key = secrets.token_bytes(KEY_BYTES)
            self._data_keys[key_id] = data_key
            return wrap(data_key, self._under(), name=_name(key_id))

    def data_key(self, key_id: str, find: Callable[[], bytes | None]) -> bytes | None:
        """Return a data key; None where `find`, which returns it wrapped, finds none."""
        with self._lock:
            under = self._under()
            if key_id not in self._data_keys:
                wrapped = find()
                if wrapped is None:
                    return None
                opened = unwrap(wrapped, under, name=_name(key_id))
                if opened is None:
                    raise VaultError(
                        "the keys in the records do not fit club.key; put the club.key from the "
                        "backup of these records in its place"
                    )
                self._data_keys[key_id] = opened
            return self._data_keys[key_id]

    def forget_data_keys(self) -> None:
        """Let go of the data keys; those that are still in the records are opened again."""
        with self._lock:
            self._data_keys.clear()

    def seal_of(self, text: bytes) -> bytes:
        """Return what proves that a text was written by somebody with the club key."""
        return seal_of(text, derive(self._open_key(), "chordline ring"))

    # Within

    @contextmanager
    def _changing(self) -> Iterator[None]:
        """Hold from reading ``club.key`` to writing it: no other process changes it meanwhile."""
        with self._lock, ExitStack() as held:
            try:
                held.enter_context(file_lock(self._place.with_name("club.key.lock"), wait=True))
            except HeldError:
                raise VaultError("somebody else changes club.key just now; try again") from None
            except OSError as error:
                raise VaultError(f"club.key cannot be changed now ({error.strerror})") from None
            yield

    def _under(self) -> bytes:
        return derive(self._open_key(), "chordline data keys")

    def _hold(self, key: bytes) -> None:
        with self._lock:
            self._key = bytearray(key)

    def _at_hand(self) -> bytes | None:
        """Return the key where it is in memory or can be had without asking anybody."""
        with self._lock:
            if self._key is not None:
                return bytes(self._key)
            file = read_key_file(self._place)
            if file is None:
                return None
            key = file.open_bare()
            if key is None and self._given is not None:
                given, self._given = self._given, None
                key = file.open_with_passphrase(given)
                if key is None:
                    raise WrongSecretError(
                        "the passphrase in CHORDLINE_PASSPHRASE is not the club's; correct it, or "
                        "leave it out"
                    )
            if key is not None:
                self._hold(key)
            return key

    def _open_key(self) -> bytes:
        """Return the key; made where there is none yet, asked for where it is locked."""
        with self._lock:
            if self._key is None and read_key_file(self._place) is None:
                self._make()
            key = self._at_hand() or self._asked()
            if key is None:
                raise VaultLockedError
            return key

    def _make(self) -> None:
        if not self._is_new():
            raise VaultError(
                f"club.key is missing in {self._place.parent}: without it no picture opens. Put it "
                "back from a backup; nothing was changed"
            )
        save_first_key_file(self._place, ClubKeyFile.of(secrets.token_bytes(KEY_BYTES)))

    def _asked(self) -> bytes | None:
        file = self._file()
        for _ in range(_TRIES if self._ask is not None else 0):
            said = self._ask() if self._ask is not None else None
            if not said:
                return None
            key = file.open_with_passphrase(said)
            if key is not None:
                self._hold(key)
                return key
        return None

    def _file(self) -> ClubKeyFile:
        with self._lock:
            file = read_key_file(self._place)
            if file is None:
                self._make()
                file = read_key_file(self._place)
            if file is None:
                raise VaultError("club.key was taken away a moment ago; put it back")
            return file


def _check(passphrase: str) -> None:
    if len(passphrase) < SHORTEST_PASSPHRASE:
        raise WrongSecretError(
            f"a passphrase has at least {SHORTEST_PASSPHRASE} signs: four words that do not belong "
            "together are easy to keep in mind and hard to guess"
        )
    if len(passphrase) > _LONGEST_PASSPHRASE:
        raise WrongSecretError(f"a passphrase has at most {_LONGEST_PASSPHRASE} signs")


def _day(text: str) -> date | None:
    try:
        return date.fromisoformat(text)
    except ValueError:
        return None


def _name(key_id: str) -> str:
    return f"chordline data key {key_id}"
