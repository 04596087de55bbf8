"""A restore that is killed leaves what was there; the same command then does it."""

import os
import random
import shutil
import subprocess
import sys
import time
from pathlib import Path

import pytest

from backup_stories import BackedUpClub, backed_up_club, open_club
from chordline.errors import WrongSecretError
from vault_stories import PASSPHRASE

NEW = "nobody who left knows these words"
KILLS = 3


def restoring(club: BackedUpClub, name: str, data: Path) -> subprocess.Popen[str]:
    command = ["restore", str(club.folder / name), "--to", str(data), "--replace", "--new-keys"]
    typed = data.with_suffix(".typed")
    typed.write_text(f"{NEW}\n")
    with typed.open() as keyboard:
        return subprocess.Popen(
            [sys.executable, "-m", "chordline", *command],
            stdin=keyboard,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.PIPE,
            text=True,
            env={**os.environ, "CHORDLINE_PASSPHRASE": PASSPHRASE},
        )


def opens_with(passphrase: str, data: Path) -> bool:
    """Whether all pictures of a folder open with a passphrase; some of them never do."""
    app = open_club(data)
    try:
        app.vault.unlock(passphrase)
        with app.records.reading() as tx:
            keys = tx.keys.content_keys(app.club().id)
        assert len(keys) == 4
        assert all(app.photo_store.open(key) for key in keys)
    except WrongSecretError:
        return False
    finally:
        app.vault.lock()
        app.records.close()
    return True


@pytest.mark.slow
def test_a_killed_restore_with_new_keys_leaves_the_old_club_or_the_new_one(tmp_path: Path) -> None:
    club = backed_up_club(tmp_path)
    name = club.back_up().name
    club.close()
    moments, took_s = random.Random(3), 0.0
    for kill in range(-1, KILLS):
        data = tmp_path / f"data-{kill}"
        shutil.copytree(tmp_path / "club", data)
        start = time.monotonic()
        process = restoring(club, name, data)
        if kill >= 0:
            # The second half: the first is the start of the interpreter.
            time.sleep(moments.uniform(0.4, 1.0) * took_s)
            process.kill()
        _, told = process.communicate()
        if kill < 0:
            took_s = time.monotonic() - start
            assert process.returncode == 0, told
        if not (data.exists() and opens_with(NEW, data)):
            # Between two renames there is nothing in the place; the old club lies beside it then.
            assert not data.exists() or opens_with(PASSPHRASE, data), "the old club is as it was"
            again = restoring(club, name, data)
            _, told = again.communicate()
            assert again.returncode == 0, told
        assert opens_with(NEW, data)
        assert not opens_with(PASSPHRASE, data)
        (aside,) = tmp_path.glob(f"data-{kill}.before-*")
        assert opens_with(PASSPHRASE, aside), "nothing was written over"
        assert not (tmp_path / f".data-{kill}.restoring").exists()
