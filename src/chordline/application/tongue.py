"""How a sheet speaks: texts, numbers and days of one language."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, time
from decimal import ROUND_HALF_UP, Decimal
from functools import cache
from types import MappingProxyType
from typing import Any, Final

from babel import Locale
from babel.dates import format_date, format_time
from babel.numbers import format_decimal

from chordline.catalogue.tongues import LANGUAGES, Language, Texts, read_texts
from chordline.errors import WrongUseError

NBSP: Final = "\u00a0"
_MINUS: Final = "\u2212"
_DAYS: Final = {"en": "d MMM y", "de": "d. MMMM y", "fr": "d MMMM y"}
_WEEKDAYS: Final = {"en": "EEEE d MMMM", "de": "EEEE, d. MMMM", "fr": "EEEE d MMMM"}
_BRIEF: Final = {"en": "EEE d MMM", "de": "EE d.M.", "fr": "EEE d MMM"}
#: Signs behind a number; only the degree stands close to it.
_UNITS: Final = {"deg": "°", "pct": f"{NBSP}%", "s": f"{NBSP}s", "min": f"{NBSP}min"}


def mark(text: str) -> str:
    """Return a text unchanged; what stands here is gathered for translation and said later."""
    return text


@dataclass(frozen=True)
class Tongue:
    """One language.

    Attributes
    ----------
    code : {'en', 'de', 'fr'}
    texts : mapping
        Translations by (context, English text); what is missing is said in English.
    """

    code: Language
    texts: Texts = field(default_factory=lambda: MappingProxyType({}), repr=False)

    def say(self, text: str, /, **values: Any) -> str:
        """Return a text with its ``{values}`` filled in."""
        return _filled(self._found(None, text)[0], values)

    def say_n(self, one: str, many: str, count: int, /, **values: Any) -> str:
        """Return the text for a count; ``{count}`` is filled in as well."""
        found = self.texts.get((None, one), (one, many))
        first = Locale.parse(self.code).plural_form(count) == "one"
        return _filled(found[0 if first else -1], {"count": self.number(count), **values})

    def word(self, context: str, text: str, /, **values: Any) -> str:
        """Return what the catalogue says, e.g. ``word("capacity", "Hip flexors")``.

        A club's own entries are in no file and are said as the club wrote them.
        """
        return _filled(self._found(context, text)[0], values)

    def number(self, value: float, digits: int = 0) -> str:
        """Return a number with so many decimals, a true minus and this language's decimal sign.

        Examples
        --------
        >>> Tongue("de").number(-7.46, 1)
        '−7,5'
        """
        form = "0" if digits == 0 else f"0.{'0' * digits}"
        step = Decimal(1).scaleb(-digits)
        rounded = Decimal(repr(abs(float(value)))).quantize(step, rounding=ROUND_HALF_UP)
        said = format_decimal(rounded, format=form, locale=self.code)
        return said if value >= 0.0 or _is_nothing(said) else _MINUS + said

    def signed(self, value: float, digits: int = 0) -> str:
        """Return a number with its sign; nothing has none."""
        said = self.number(value, digits)
        return said if value < 0.0 or _is_nothing(said) else f"+{said}"

    def amount(self, value: float, unit: str, digits: int = 0) -> str:
        """Return a number with its unit: deg, pct, s or min."""
        return f"{self.number(value, digits)}{_UNITS[unit]}"

    def plus_minus(self, value: float, spread: float, unit: str, digits: int = 0) -> str:
        """Return a number with its ± and unit on one line, e.g. ``7,5 % ± 1,2 %``."""
        half = self.amount(abs(spread), unit, digits)
        return f"{self.amount(value, unit, digits)}{NBSP}±{NBSP}{half}"

    def day(self, day: date) -> str:
        """Return a day with its year, e.g. ``3 Sep 2025`` or ``3. September 2025``."""
        return self._first_of_month(format_date(day, _DAYS[self.code], locale=self.code))

    def weekday(self, day: date) -> str:
        """Return a day with its weekday, without the year, e.g. ``Dienstag, 3. September``."""
        return self._first_of_month(format_date(day, _WEEKDAYS[self.code], locale=self.code))

    def brief_day(self, day: date) -> str:
        """Return a day as a narrow table has it, e.g. ``Tue 3 Sep`` or ``Di 3.9.``."""
        return self._first_of_month(
            format_date(day, _BRIEF[self.code], locale=self.code).replace(" ", NBSP)
        )

    def clock(self, at: time) -> str:
        """Return a time of day, e.g. ``17:30``."""
        return format_time(at, "HH:mm", locale=self.code)

    def joined(self, parts: Iterable[str]) -> str:
        """Return parts one after another, parted by semicolons."""
        return self.say("; ").join(parts)

    def headed(self, label: str, words: str) -> str:
        """Return words behind what they are about: ``Shoulders: closed by 18°``."""
        return self.say("{label}: {words}", label=label, words=words)

    def listed(self, parts: list[str] | tuple[str, ...]) -> str:
        """Return parts as a sentence lists them: ``a, b and c``."""
        if len(parts) < 2:
            return "".join(parts)
        return self.say("{some} and {last}", some=", ".join(parts[:-1]), last=parts[-1])

    def _found(self, context: str | None, text: str) -> tuple[str, ...]:
        return self.texts.get((context, text), (text,))

    def _first_of_month(self, said: str) -> str:
        """French counts the first day of a month as such."""
        if self.code != "fr":
            return said
        parts = said.split(" ") if " " in said else said.split(NBSP)
        gap = " " if " " in said else NBSP
        return gap.join("1er" if part == "1" else part for part in parts)


def _filled(text: str, values: dict[str, Any]) -> str:
    return text.format(**values) if values else text


def _is_nothing(said: str) -> bool:
    return not said.strip("0.,")


@cache
def tongue_of(code: str) -> Tongue:
    """Return a language.

    Raises
    ------
    WrongUseError
        For a language that nobody has written down.
    """
    for one in LANGUAGES:
        if one == code:
            return Tongue(one, read_texts(one))
    raise WrongUseError(f"'{code}' is no language here; known are {', '.join(LANGUAGES)}")
