"""Every text that a sheet can say stands translated: whole, with the same blanks, not stale."""

import re
import string
import sys
from collections.abc import Iterator
from io import BytesIO
from pathlib import Path

import pytest
from babel.messages.catalog import Message
from babel.messages.pofile import read_po

from chordline.catalogue.tongues import LANGUAGES, PARTS, read_texts

sys.path.insert(0, str(Path(__file__).resolve().parents[3] / "tools"))

import gather_words

TRANSLATED = LANGUAGES[1:]


def all_of(text: object) -> tuple[str, ...]:
    return tuple(text) if isinstance(text, tuple | list) else (str(text or ""),)


def messages(language: str) -> Iterator[Message]:
    for part in PARTS:
        file = gather_words.TONGUES / language / f"{part}.po"
        yield from (one for one in read_po(BytesIO(file.read_bytes()), locale=language) if one.id)


def blanks(text: str) -> list[str]:
    return sorted(name for _, name, _, _ in string.Formatter().parse(text) if name is not None)


def test_the_files_are_as_fresh_as_the_sources() -> None:
    stale = [file.name for file in gather_words.stale_files()]
    assert stale == [], "python tools/gather_words.py, then translate what is new"


@pytest.mark.parametrize("language", TRANSLATED)
def test_nothing_is_left_untranslated_or_guessed(language: str) -> None:
    open_ones = [one.id for one in messages(language) if one.fuzzy or not all(all_of(one.string))]
    assert open_ones == []


@pytest.mark.parametrize("language", TRANSLATED)
def test_a_translation_has_the_blanks_of_its_text(language: str) -> None:
    wrong = [
        one.id
        for one in messages(language)
        for said in all_of(one.string)
        if blanks(said) != blanks(all_of(one.id)[-1])
    ]
    assert wrong == []


@pytest.mark.parametrize("language", TRANSLATED)
def test_an_exercise_is_translated_and_not_copied(language: str) -> None:
    copied = [
        one.id
        for one in messages(language)
        if (one.context or "").startswith("exercise") and one.string == one.id
    ]
    assert copied == []


def test_french_keeps_its_signs_on_the_line_of_their_word() -> None:
    torn = [
        one.id
        for one in messages("fr")
        for said in all_of(one.string)
        if re.search(r" [:;?!»]|« ", said)
    ]
    assert torn == []


def test_a_caution_names_somebody_to_ask_in_every_language() -> None:
    asks = {"de": "ärztlich", "fr": "médecin"}
    for language, word in asks.items():
        silent = [
            one.id
            for one in messages(language)
            if one.context == "exercise care"
            and "licensed clinician" in str(one.id)
            and word not in str(one.string)
        ]
        assert silent == []


def test_english_needs_no_file() -> None:
    assert read_texts("en") == {}


def test_a_guess_or_a_gap_is_said_in_english(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = tmp_path / "data" / "tongues" / "de"
    folder.mkdir(parents=True)
    for part in PARTS:
        (folder / f"{part}.po").write_text("")
    (folder / "sheets.po").write_text(
        'msgid ""\nmsgstr "Content-Type: text/plain; charset=utf-8\\n"\n\n'
        '#, fuzzy\nmsgid "At home"\nmsgstr "Heim"\n\nmsgid "Work"\nmsgstr ""\n\n'
        'msgid "Round"\nmsgstr "Runde"\n'
    )
    monkeypatch.setattr("chordline.catalogue.tongues.resources.files", lambda _: tmp_path)
    assert read_texts.__wrapped__("de") == {(None, "Round"): ("Runde",)}
