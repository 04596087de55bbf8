"""Sheets of training on paper: pages, fit, languages, and nothing of other children."""

import io
import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from functools import cache

import pytest
from pypdf import PageObject, PdfReader

from chordline.adapters.printing.exercise_pictures import load_pictures
from chordline.adapters.printing.training.press import TrainingPress
from chordline.application.tongue import tongue_of
from chordline.application.training.sheets.coach_plan import make_coach_plan_sheet
from chordline.application.training.sheets.family import make_family_sheet
from chordline.application.training.sheets.plan_overview import make_plan_overview
from chordline.application.training.sheets.referral import make_referral_note
from chordline.application.training.sheets.stations import make_stations_sheet
from chordline.catalogue.segments import our_segments
from training_sheet_samples import (
    CATALOGUE,
    LONG,
    NAMES,
    SHE,
    TRAINING,
    her,
    sign,
    the_plan,
)

pytestmark = pytest.mark.slow

LANGUAGES = ("en", "de", "fr")
KINDS = ("family", "coach", "stations", "plan", "referral")
A4_PT = (595.28, 841.89)
#: Of a reported sign; it stands as it was written, whatever the language.
TOLD = "4711"


@cache
def press() -> TrainingPress:
    return TrainingPress(load_pictures(TRAINING, our_segments()))


def printed(
    kind: str, language: str, *, name: str = "Ada Musterberg", signs: bool = False
) -> bytes:
    tongue = tongue_of(language)
    known = {"catalogue": CATALOGUE, "training": TRAINING, "tongue": tongue}
    whose = her(name=name, open_notes=(sign("back_pain_arching"),) if signs else ())
    plan = the_plan()
    others = [other for id_, other in NAMES.items() if id_ != SHE]
    ways: dict[str, Callable[[], bytes]] = {
        "family": lambda: press().family_to_pdf(make_family_sheet(whose, **known)),
        "coach": lambda: press().coach_plan_to_pdf(make_coach_plan_sheet(whose, **known)),
        "stations": lambda: press().stations_to_pdf(
            make_stations_sheet(
                plan.evenings[0],
                plan.stations,
                group="G",
                names=NAMES,
                barred={},
                training=TRAINING,
                tongue=tongue,
            )
        ),
        "plan": lambda: press().plan_to_pdf(
            make_plan_overview(plan, group="G", names=NAMES, **known)
        ),
        "referral": lambda: press().referral_to_pdf(
            make_referral_note(
                whose, sign("back_pain_arching", f"{TOLD}. " * 60), others=others, **known
            )
        ),
    }
    return ways[kind]()


@dataclass(frozen=True)
class ReadPage:
    """A page's text, where each piece of it begins, and the page's own size [pt]."""

    text: str
    edges: tuple[tuple[float, float], ...]
    size: tuple[float, float]


def read_page(page: PageObject) -> ReadPage:
    edges: list[tuple[float, float]] = []

    def visit(text: str, cm: list[float], tm: list[float], *_: object) -> None:
        if text.strip():
            x, y = tm[4], tm[5]
            edges.append((cm[0] * x + cm[2] * y + cm[4], cm[1] * x + cm[3] * y + cm[5]))

    text = page.extract_text(visitor_text=visit)
    return ReadPage(text, tuple(edges), (float(page.mediabox.width), float(page.mediabox.height)))


@cache
def fullest_pdf(kind: str, language: str) -> bytes:
    """With a name of 45 letters, an open sign, and 24 gymnasts."""
    return printed(kind, language, name=LONG, signs=True)


@cache
def fullest(kind: str, language: str) -> tuple[ReadPage, ...]:
    """The same, page by page: reading it takes longer than printing it."""
    return tuple(map(read_page, PdfReader(io.BytesIO(fullest_pdf(kind, language))).pages))


def words_of(pages: Iterable[ReadPage]) -> str:
    text = " ".join(page.text for page in pages)
    # A word that is broken at the end of a line is one word.
    return re.sub(r"\s+", " ", re.sub(r"(?<=\w)[-\u00ad\u2010]\n", "", text))


def words_in(pdf: bytes) -> str:
    return words_of(map(read_page, PdfReader(io.BytesIO(pdf)).pages))


def squeezed(text: str) -> str:
    """Letters alone: where a line is broken, and how, does not matter."""
    return re.sub(r"[\W_]+", "", text).casefold()


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize(
    ("kind", "most", "across"),
    [
        ("family", 1, False),
        ("coach", 2, False),
        ("stations", 5, True),
        ("plan", 2, True),
        ("referral", 1, False),
    ],
)
def test_every_sheet_keeps_to_its_pages(kind: str, most: int, across: bool, language: str) -> None:
    pages = fullest(kind, language)
    assert len(pages) <= most
    size = (A4_PT[1], A4_PT[0]) if across else A4_PT
    for page in pages:
        assert page.size == pytest.approx(size, abs=0.01)


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("kind", ["stations", "plan"])
def test_a_full_group_stands_on_the_first_page(kind: str, language: str) -> None:
    first = squeezed(fullest(kind, language)[0].text)
    names = [name if kind == "plan" else name.split()[0] for name in NAMES.values()]
    assert [name for name in names if squeezed(name) not in first] == []


@pytest.mark.parametrize("kind", KINDS)
def test_nothing_lies_outside_the_page(kind: str) -> None:
    for language in LANGUAGES:
        for page in fullest(kind, language):
            width, height = page.size
            assert page.edges
            assert all(20.0 < x < width - 20.0 and 15.0 < y < height - 15.0 for x, y in page.edges)


def english() -> list[str]:
    """Every text that has a translation and is long enough to be no accident."""
    texts = tongue_of("de").texts
    return [
        msgid
        for (_, msgid), (*_, german) in texts.items()
        if len(msgid) > 12 and "{" not in msgid and german != msgid
    ]


@pytest.mark.parametrize("language", ["de", "fr"])
@pytest.mark.parametrize("kind", KINDS)
def test_no_english_is_left(kind: str, language: str) -> None:
    text = squeezed(words_of(fullest(kind, language)))
    assert [one for one in english() if squeezed(one) in text] == []


def test_the_search_for_english_finds_it() -> None:
    text = squeezed(words_of(fullest("family", "en")))
    assert [one for one in english() if squeezed(one) in text] != []


@pytest.mark.parametrize("language", ["de", "fr"])
@pytest.mark.parametrize("kind", ["coach", "plan"])
def test_decimals_have_a_comma(kind: str, language: str) -> None:
    text = words_of(fullest(kind, language))
    assert re.search(r"\d,\d\s%", text)
    assert re.search(r"\d\.\d\s?[%°]", text) is None


@pytest.mark.parametrize("kind", KINDS)
def test_the_same_sheet_gives_the_same_bytes(kind: str) -> None:
    assert printed(kind, "de", name=LONG, signs=True) == fullest_pdf(kind, "de")


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("kind", ["family", "coach", "referral"])
def test_no_other_child_is_named(kind: str, language: str) -> None:
    words = set(re.findall(r"\w+", words_of(fullest(kind, language))))
    others = {name.split()[0] for name in NAMES.values()} - set(re.findall(r"\w+", LONG)) - {"Ada"}
    assert words.isdisjoint(others)


@pytest.mark.parametrize("kind", KINDS)
def test_readers_are_told_the_language(kind: str) -> None:
    for language in LANGUAGES:
        reader = PdfReader(io.BytesIO(fullest_pdf(kind, language)))
        assert reader.trailer["/Root"]["/Lang"] == language


def test_exercises_at_home_are_drawn() -> None:
    whose = her()
    sheet = make_family_sheet(whose, catalogue=CATALOGUE, training=TRAINING, tongue=tongue_of("en"))
    with_pictures = press().family_to_pdf(sheet)
    assert len(with_pictures) > len(TrainingPress().family_to_pdf(sheet)) + 5000


def test_a_name_is_never_markup() -> None:
    odd = '#panic("x") *Ada* $x$ _B_'
    text = words_in(printed("family", "en", name=odd))
    assert odd in text


def test_an_evening_with_two_exercises_at_a_station_and_an_empty_one_prints() -> None:
    plan = the_plan()
    first, second, *rest = plan.evenings[0].rounds[0]
    shared = replace(second, station=first.station)
    evening = replace(plan.evenings[0], rounds=((first, shared), tuple(rest)))
    sheet = make_stations_sheet(
        evening,
        plan.stations,
        group="G",
        names=NAMES,
        barred={},
        training=TRAINING,
        tongue=tongue_of("en"),
    )
    text = squeezed(words_in(press().stations_to_pdf(sheet)))
    for turn in (first, shared):
        assert squeezed(TRAINING.exercises[turn.exercise].title) in text
