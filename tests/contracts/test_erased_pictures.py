"""Erased means erased: nothing that is left in the data folder opens her pictures again."""

import io
import itertools
from pathlib import Path

from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.kdf.hkdf import HKDF
from PIL import Image

from chordline.adapters.vault.sealed_file import HEADER_BYTES
from chordline.adapters.vault.wrapping import derive, unwrap
from chordline.application.club.records import NewGymnast
from chordline.application.club.take_in import Incoming
from chordline.bootstrap import App
from club_stories import MONDAY, TUESDAY

#: Nonce, key and tag of a wrapped key.
WRAPPED_BYTES = 12 + 32 + 16


def picture(shade: int) -> bytes:
    buffer = io.BytesIO()
    Image.new("RGB", (640, 480), (shade, shade, shade)).save(buffer, "PNG")
    return buffer.getvalue()


def every_key(folder: Path, club_key: bytes, key_ids: list[str]) -> set[bytes]:
    """Everything in any file that is a data key wrapped under the club key."""
    under = derive(club_key, "chordline data keys")
    found = set()
    for path in sorted(folder.rglob("*")):
        # A sealed picture holds no wrapped keys; everything else may.
        if not path.is_file() or path.name.startswith("sealed-"):
            continue
        content = path.read_bytes()
        for at, key_id in itertools.product(range(len(content)), key_ids):
            # Wrapped keys stand behind their ids' row; trying only where bytes look random is
            # enough and spares hours: runs of zeros and text are none.
            part = content[at : at + WRAPPED_BYTES]
            if len(set(part)) < 35:
                continue
            key = unwrap(part, under, name=f"chordline data key {key_id}")
            if key is not None:
                found.add(key)
    return found


def opens(sealed: bytes, data_key: bytes) -> bytes | None:
    head = sealed[:HEADER_BYTES]
    file_key = HKDF(SHA256(), 32, head[24:40], b"chordline sealed file 1").derive(data_key)
    nonce = head[40:47] + bytes(4) + b"\1"
    try:
        return AESGCM(file_key).decrypt(nonce, sealed[HEADER_BYTES:], head)
    except InvalidTag:
        return None


def test_nothing_in_the_data_folder_opens_an_erased_gymnasts_pictures(tmp_path: Path) -> None:
    app = App(data=tmp_path)
    club = app.club()
    with app.records.transaction() as tx:
        ada, bea = (tx.gymnasts.add(club.id, NewGymnast(name)) for name in ("Ada", "Bea"))
    take_in = app.take_in_photo()
    sealed: dict[str, bytes] = {}
    for shade, her in ((10, ada), (20, bea)):
        incoming = Incoming(f"{shade}.png", picture(shade), MONDAY, gymnast_id=her.id)
        key = take_in(club.id, incoming, today=TUESDAY).photo.content_key
        assert key is not None
        sealed[her.name] = next(tmp_path.rglob(key)).read_bytes()
    with app.records.reading() as tx:
        ids = [one.id for one in tx.keys.all(club.id)]
    key_file = tmp_path / "club.key"
    app.vault.opens()
    club_key = bytes(app.vault._key)  # type: ignore[attr-defined]

    before = every_key(tmp_path, club_key, ids)
    # The search finds what is there: else its silence afterwards would say nothing.
    assert {opens(sealed["Ada"], key) for key in before} >= {picture(10)}

    app.keep_her().erase(ada.id)

    assert key_file.exists()
    wal = tmp_path / "records.sqlite-wal"
    assert not wal.exists() or wal.stat().st_size == 0
    after = every_key(tmp_path, club_key, ids)
    assert len(after) == 1
    # A thief had copied the sealed file before: it opens with no key that is left.
    assert [opens(sealed["Ada"], key) for key in after] == [None]
    assert [opens(sealed["Bea"], key) for key in after] == [picture(20)]
    assert not any(key_id in path.name for path in tmp_path.rglob("sealed-*") for key_id in ids[:1])
    assert app.vault._data_keys == {}  # type: ignore[attr-defined]
    app.records.close()
