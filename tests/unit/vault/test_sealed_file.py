"""The format of a sealed file: read by other means, and refused however it is put together."""

import hashlib
import hmac
import io
import random
from collections.abc import Callable

import pytest
from cryptography.hazmat.primitives.ciphers.aead import AESGCM

from chordline.adapters.vault.sealed_file import HEADER_BYTES, Header, SealedReader, seal

KEY = bytes(range(32))
KEY_ID = bytes(range(100, 116))
#: The smallest piece that a reader accepts.
PIECE = 1 << 16
SEALED_PIECE = PIECE + 16
CONTENT = random.Random(5).randbytes(3 * PIECE + 1000)


class RefusedError(Exception):
    pass


def header(number: int) -> Header:
    return Header(KEY_ID, bytes([number]) * 16, bytes([number + 1]) * 7, power=16)


def sealed(content: bytes, number: int = 1) -> bytes:
    return b"".join(seal(io.BytesIO(content), header(number), KEY))


def read(text: bytes, *, file_id: bytes | None = None, key: bytes = KEY) -> bytes:
    with SealedReader(
        io.BytesIO(text), lambda _: key, refuse=RefusedError, file_id=file_id
    ) as reader:
        return reader.read()


def pieces_of(text: bytes) -> list[bytes]:
    body = text[HEADER_BYTES:]
    return [body[at : at + SEALED_PIECE] for at in range(0, len(body), SEALED_PIECE)]


@pytest.mark.parametrize("length", [0, 1, PIECE - 1, PIECE, PIECE + 1, 2 * PIECE])
def test_it_can_be_opened_by_the_words_of_the_format_alone(length: int) -> None:
    text = sealed(CONTENT[:length])
    head = text[:HEADER_BYTES]
    assert (head[:4], head[4], head[5]) == (b"CHSF", 1, 16)
    # HKDF-SHA256 of one block, RFC 5869, 2.2 and 2.3.
    extracted = hmac.new(head[24:40], KEY, hashlib.sha256).digest()
    expanded = hmac.new(extracted, b"chordline sealed file 1\x01", hashlib.sha256).digest()
    pieces = pieces_of(text)
    opened = b"".join(
        AESGCM(expanded).decrypt(
            head[40:47] + number.to_bytes(4, "big") + bytes([number == len(pieces) - 1]),
            piece,
            head,
        )
        for number, piece in enumerate(pieces)
    )
    assert opened == CONTENT[:length] == read(text)


def swapped(text: bytes) -> bytes:
    one, two, *rest = pieces_of(text)
    return text[:HEADER_BYTES] + b"".join((two, one, *rest))


def mixed(text: bytes) -> bytes:
    mine, others = pieces_of(text), pieces_of(sealed(CONTENT, 2))
    return text[:HEADER_BYTES] + b"".join((mine[0], others[1], *mine[2:]))


def under_other_header(text: bytes) -> bytes:
    return sealed(CONTENT, 2)[:HEADER_BYTES] + text[HEADER_BYTES:]


def other_bit(text: bytes) -> bytes:
    changed = bytearray(text)
    changed[HEADER_BYTES + SEALED_PIECE + 7] ^= 4
    return bytes(changed)


@pytest.mark.parametrize(
    "damage",
    [
        lambda text: text[:-1],
        lambda text: text[: HEADER_BYTES + 2 * SEALED_PIECE],
        lambda text: text[: HEADER_BYTES + SEALED_PIECE],
        lambda text: text[:HEADER_BYTES],
        lambda text: text[: HEADER_BYTES - 1],
        lambda text: b"",
        lambda text: text + b"\0",
        lambda text: text + pieces_of(text)[-1],
        lambda text: text[:HEADER_BYTES] + text[HEADER_BYTES + SEALED_PIECE :],
        lambda text: b"XXXX" + text[4:],
        lambda text: text[:4] + b"\2" + text[5:],
        lambda text: text[:5] + b"\x11" + text[6:],
        lambda text: text[:6] + b"\1" + text[7:],
        lambda text: text[:5] + b"\x3f" + text[6:],
        swapped,
        mixed,
        under_other_header,
        other_bit,
    ],
)
def test_cut_reordered_mixed_or_changed_pieces_are_refused(
    damage: Callable[[bytes], bytes],
) -> None:
    with pytest.raises(RefusedError):
        read(damage(sealed(CONTENT)))


def test_a_file_under_another_files_name_is_refused() -> None:
    with pytest.raises(RefusedError):
        read(sealed(CONTENT, 1), file_id=bytes([2]) * 16)
    assert read(sealed(CONTENT, 1), file_id=bytes([1]) * 16) == CONTENT


def test_another_key_opens_nothing() -> None:
    with pytest.raises(RefusedError):
        read(sealed(b""), key=bytes(32))


def test_two_files_of_one_picture_have_nothing_in_common() -> None:
    one, two = (b"".join(seal(io.BytesIO(CONTENT), Header.new(KEY_ID), KEY)) for _ in range(2))
    assert one[HEADER_BYTES:][:64] != two[HEADER_BYTES:][:64]


def test_seeking_decrypts_only_what_is_needed() -> None:
    class Counting(io.BytesIO):
        taken = 0

        def read(self, size: int | None = -1, /) -> bytes:
            part = super().read(size)
            self.taken += len(part)
            return part

    file = Counting(sealed(CONTENT))
    with SealedReader(file, lambda _: KEY, refuse=RefusedError) as reader:
        before = file.taken
        reader.seek(PIECE + 5)
        assert reader.read(100) == CONTENT[PIECE + 5 : PIECE + 105]
        assert file.taken - before == SEALED_PIECE
        with pytest.raises(ValueError, match="before the beginning"):
            reader.seek(-1)
