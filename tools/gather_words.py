"""Gathers every text that sheets say into src/chordline/catalogue/data/tongues.

    python tools/gather_words.py            writes the .pot files, brings the .po files up to them
    python tools/gather_words.py --check    says what is stale, and what is not translated

The source speaks English: texts of sheets come from `say`, `say_n` and `mark` in the code, names
of things from the TOML catalogue, each with a context, so that 'Hips' of a measure and of a
capacity may differ in another language. Translations stand in de/*.po and fr/*.po; a text that is
new stands there empty until somebody translates it.
"""

import re
import sys
from collections.abc import Iterable, Iterator
from io import BytesIO
from pathlib import Path

from babel.messages.catalog import Catalog
from babel.messages.extract import extract_from_file
from babel.messages.pofile import read_po, write_po

from chordline.catalogue.loader import load_catalogue
from chordline.catalogue.tongues import LANGUAGES, PARTS
from chordline.catalogue.training import load_training

SOURCE = Path(__file__).resolve().parents[1] / "src" / "chordline"
TONGUES = SOURCE / "catalogue" / "data" / "tongues"
#: Which calls hold texts, and at which places.
_KEYWORDS = {"say": None, "mark": None, "say_n": (1, 2)}
#: What changes with every run and says nothing.
_STAMPS = re.compile(
    rb'^"(POT-Creation-Date|PO-Revision-Date|Last-Translator|Generated-By'
    rb"|Report-Msgid-Bugs-To|Language-Team|Project-Id-Version|MIME-Version"
    rb"|Content-Transfer-Encoding):.*\n",
    re.MULTILINE,
)

#: (context, text, or singular and plural, where it stands)
Gathered = tuple[str | None, str | tuple[str, str], str]


def gather() -> dict[str, Catalog]:
    """Return an empty catalogue for each part, in the order of the sources."""
    catalogue = load_catalogue()
    training = load_training(catalogue)

    def terms() -> Iterator[Gathered]:
        for name, one in catalogue.capacities.items():
            for text in (one.label, one.missing, one.work):
                yield "capacity", text, f"capacities.toml {name}"
        for name, test in catalogue.tests.items():
            yield "test", test.title, f"tests.toml {name}"
        for name, measure in catalogue.measures.items():
            for text in (measure.label, measure.positive, measure.negative):
                yield "measure", text, f"measures.toml {name}"
        for name, sign in catalogue.referrals.items():
            for text in (sign.label, sign.advice):
                yield "sign", text, f"referrals.toml {name}"
        for name, group in training.groups.items():
            yield "group", group.label, f"plan.toml {name}"
        for name, thing in training.equipment.items():
            yield "equipment", thing.label, f"plan.toml {name}"
        for name, rung in training.rungs.items():
            yield "rung", rung.title, f"rungs.toml {name}"

    def exercises() -> Iterator[Gathered]:
        for name, one in training.exercises.items():
            where = f"exercises_{one.kind}.toml {name}"
            yield "exercise title", one.title, where
            if one.home:
                # Only the family reads how she begins: at the station a coach shows it.
                yield "exercise position", one.position, where
            yield "exercise how", one.how, where
            yield "exercise watch", one.watch, where
            yield "exercise care", one.care, where

    parts = {"sheets": _said_in_code(), "terms": terms(), "exercises": exercises()}
    return {part: _template(parts[part]) for part in PARTS}


def _said_in_code() -> Iterator[Gathered]:
    files = [
        SOURCE / "application" / "tongue.py",
        SOURCE / "application" / "training" / "words.py",
        *sorted((SOURCE / "application" / "training" / "sheets").glob("*.py")),
    ]
    for file in files:
        for _, text, _, _ in extract_from_file("python", file, keywords=_KEYWORDS):
            said = (str(text[0]), str(text[1])) if isinstance(text, tuple) else text
            yield None, said, file.name


def _template(gathered: Iterable[Gathered]) -> Catalog:
    template = Catalog(fuzzy=False, charset="utf-8")
    for context, text, where in gathered:
        if text:
            template.add(text, locations=[(where, None)], context=context)  # type: ignore[list-item]
    return template


def written(catalog: Catalog) -> bytes:
    """Return a catalogue as its file holds it: no stamps, no line numbers."""
    buffer = BytesIO()
    catalog.header_comment = "# Written by tools/gather_words.py; see there."
    write_po(buffer, catalog, width=100, ignore_obsolete=True, include_lineno=False)
    return _STAMPS.sub(b"", buffer.getvalue())


def translated(part: str, language: str, template: Catalog) -> Catalog:
    """Return a language's catalogue brought up to the template; what is new stands empty in it."""
    file = TONGUES / language / f"{part}.po"
    catalog = Catalog(locale=language, fuzzy=False, charset="utf-8")
    if file.is_file():
        catalog = read_po(BytesIO(file.read_bytes()), locale=language)
    catalog.fuzzy = False
    catalog.update(template, no_fuzzy_matching=True)
    return catalog


def stale_files() -> dict[Path, bytes]:
    """Return the files that are not what they should be, with what they should hold."""
    files = {}
    for part, template in gather().items():
        files[TONGUES / f"{part}.pot"] = written(template)
        for language in LANGUAGES[1:]:
            file = TONGUES / language / f"{part}.po"
            files[file] = written(translated(part, language, template))
    return {
        file: content
        for file, content in files.items()
        if not file.is_file() or file.read_bytes() != content
    }


def untranslated() -> list[str]:
    """Return a line for each text without a translation."""
    lines = []
    for language in LANGUAGES[1:]:
        for part, template in gather().items():
            for message in translated(part, language, template):
                said = message.string if isinstance(message.string, tuple) else (message.string,)
                if message.id and (message.fuzzy or not all(said)):
                    lines.append(f"{language} {part}: {message.context or ''} {message.id!r}")
    return lines


def main() -> int:
    stale = stale_files()
    if "--check" in sys.argv:
        for file in stale:
            print(f"{file.name} is stale; run tools/gather_words.py")
        missing = untranslated()
        print("\n".join(missing))
        return 1 if stale or missing else 0
    for file, content in stale.items():
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_bytes(content)
        print(f"wrote {file.name}")
    print(f"{len(untranslated())} texts without a translation")
    return 0


if __name__ == "__main__":
    sys.exit(main())
