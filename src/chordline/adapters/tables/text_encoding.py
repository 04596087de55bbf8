"""Which letters the bytes of a text file mean; where that is a guess, it is said."""

import codecs
import re
from collections.abc import Iterator
from typing import Final

from chordline.errors import RefusedInputError

_SAVE_ANEW: Final = "save it as 'CSV UTF-8'"
#: Signs of Windows-1252 that stand in a Western list of names; nearly everything else beyond
#: ASCII that is no letter is a letter of another alphabet, read wrongly.
_SIGNS = "’–—´°ºª·€\u00a0"
_WORD = re.compile(r"[^\W\d_]+")
_EXAMPLES = 3


def decode_text(data: bytes) -> tuple[str, tuple[str, ...]]:
    """Return a file's text, and notes where the encoding was concluded from the letters.

    UTF-8 with or without its mark and UTF-16 with its mark are certain. Anything else is read as
    Windows-1252 where every letter is then plausible, and the note shows words read so.

    Raises
    ------
    RefusedInputError
        For other encodings, and for what is no text.
    """
    if data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        try:
            return _without_zeros(data.decode("utf-16")), ()
        except UnicodeDecodeError:
            raise RefusedInputError(f"the file is damaged; {_SAVE_ANEW}") from None
    if b"\0" in data:
        raise RefusedInputError(f"the file is no text; choose a CSV or XLSX file or {_SAVE_ANEW}")
    try:
        return data.decode("utf-8-sig"), ()
    except UnicodeDecodeError:
        pass
    if data.startswith(codecs.BOM_UTF8):
        raise RefusedInputError(f"the file is damaged; {_SAVE_ANEW}")
    try:
        text = data.decode("cp1252")
    except UnicodeDecodeError:
        text = None
    if text is None or not _is_plausible(text):
        raise RefusedInputError(
            f"the file's letters cannot be told (it is not in UTF-8); {_SAVE_ANEW}"
        )
    shown = ", ".join(f"'{example}'" for example in _examples(text))
    return text, (
        f"read as Windows-1252: {shown}; if names look wrong, {_SAVE_ANEW} and choose it again",
    )


def _without_zeros(text: str) -> str:
    if "\0" in text:
        raise RefusedInputError(f"the file is no text; choose a CSV or XLSX file or {_SAVE_ANEW}")
    return text


def _is_plausible(text: str) -> bool:
    if any(ord(sign) > 127 and not sign.isalpha() and sign not in _SIGNS for sign in text):
        return False
    return all(map(_is_plausible_word, _WORD.findall(text)))


def _is_plausible_word(word: str) -> bool:
    """Return False for words of other alphabets, and of other encodings with capitals inside."""
    far = [letter for letter in word if ord(letter) > 127]
    if len(word) >= 3 and 2 * len(far) > len(word):
        return False
    return word.isupper() or not any(ord(one) > 127 and one.isupper() for one in word[1:])


def _examples(text: str) -> list[str]:
    return list(dict.fromkeys(_unsure_cells(text)))[:_EXAMPLES]


def _unsure_cells(text: str) -> Iterator[str]:
    """Yield the cells, roughly, that hold a letter beyond ASCII."""
    for cell in re.split(r'[\r\n,;\t"]+', text):
        if not cell.isascii():
            yield cell.strip()[:40]
