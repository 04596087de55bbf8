from pathlib import Path

import numpy as np
import pytest

from chordline.adapters.media.video_store import FolderVideoStore
from chordline.core.body.track import Track
from chordline.errors import WrongUseError

KEY = "0123abcd"


def piece(start_s: float, n: int = 5) -> Track:
    rng = np.random.default_rng(int(start_s))
    return Track(
        t_s=start_s + np.arange(n) / 30.0,
        sides_xy_px=rng.normal(500.0, 100.0, (n, 2, 10, 2)),
        front_log_odds=rng.normal(size=n),
        labels_log_odds=rng.normal(size=n),
        disagreement_pct=np.full(n, 1.0),
        region=rng.normal(size=(n, 4)),
    )


def test_what_was_kept_comes_back_in_order(tmp_path: Path) -> None:
    store = FolderVideoStore(tmp_path)
    for number in range(3):
        store.keep_piece(KEY, number, piece(float(number)))
    back = FolderVideoStore(tmp_path).pieces(KEY)
    assert [one.t_s[0] for one in back] == [0.0, 1.0, 2.0]
    np.testing.assert_array_equal(back[1].sides_xy_px, piece(1.0).sides_xy_px)


def test_a_piece_that_was_cut_short_ends_what_comes_back(tmp_path: Path) -> None:
    store = FolderVideoStore(tmp_path)
    for number in range(3):
        store.keep_piece(KEY, number, piece(float(number)))
    damaged = tmp_path / ".chordline" / "videos" / KEY / "0001.npz"
    damaged.write_bytes(damaged.read_bytes()[:100])
    assert len(store.pieces(KEY)) == 1


def test_a_record_comes_back_and_a_damaged_one_does_not(tmp_path: Path) -> None:
    store = FolderVideoStore(tmp_path)
    store.keep_record(KEY, {"a": [1, None]})
    assert store.record(KEY) == {"a": [1, None]}
    (tmp_path / ".chordline" / "videos" / KEY / "record.json").write_text('{"a": [1')
    assert store.record(KEY) is None


def test_a_folder_that_cannot_be_written_costs_only_the_memory(tmp_path: Path) -> None:
    (tmp_path / ".chordline").write_text("a file where a folder should be")
    store = FolderVideoStore(tmp_path)
    store.keep_piece(KEY, 0, piece(0.0))
    store.keep_record(KEY, {})
    assert store.pieces(KEY) == ()
    assert store.record(KEY) is None


def test_a_key_never_leaves_the_folder(tmp_path: Path) -> None:
    with pytest.raises(WrongUseError):
        FolderVideoStore(tmp_path).keep_record("../away", {})
