"""Translations: what the gettext files of a language say, by context and English text."""

from collections.abc import Iterable, Mapping
from functools import cache
from importlib import resources
from io import BytesIO
from types import MappingProxyType
from typing import Final, Literal, get_args

from babel.messages.pofile import read_po

#: English is what the source says; the others stand in files.
Language = Literal["en", "de", "fr"]
LANGUAGES: Final[tuple[Language, ...]] = get_args(Language)

#: One file each: what sheets say themselves, what the catalogue calls things, the exercises.
PARTS: Final = ("sheets", "terms", "exercises")

#: By (context or None, English text): the translation, and its plural where it has one.
Texts = Mapping[tuple[str | None, str], tuple[str, ...]]


@cache
def read_texts(language: Language) -> Texts:
    """Return the translations into a language; empty for English.

    What is not translated, or only guessed at by a tool, is left out: the English text stands.
    """
    texts: dict[tuple[str | None, str], tuple[str, ...]] = {}
    if language != "en":
        folder = resources.files("chordline.catalogue") / "data" / "tongues" / language
        for part in PARTS:
            text = folder.joinpath(f"{part}.po").read_bytes()
            for message in read_po(BytesIO(text), locale=language):
                msgid, said = _all_of(message.id)[0], _all_of(message.string)
                if msgid and all(said) and not message.fuzzy:
                    texts[message.context, msgid] = said
    return MappingProxyType(texts)


def _all_of(text: str | Iterable[str] | None) -> tuple[str, ...]:
    """Return a text, or its singular and plural."""
    return (text or "",) if text is None or isinstance(text, str) else tuple(text)
