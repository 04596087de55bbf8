"""What a page of the site offers: its links, forms, buttons, and the addresses its scripts ask."""

import re
from collections.abc import Collection
from dataclasses import dataclass
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import urljoin, urlsplit

#: In what scripts are told, an address of ours stands as a whole string.
_IN_JSON = re.compile(r'"(/[^"\s<>]*)"')
_IN_SCRIPT = re.compile(r"""["`](/[a-z][^"`\n]*)["`]""")
_IMPORTED = re.compile(r"""\bfrom\s+"(\.[^"]+)"|\bimport\(?\s*"(\.[^"]+)\"""")
_ANY = ("GET", "POST", "PUT", "PATCH", "DELETE")


@dataclass(frozen=True)
class Offer:
    """Something on a page that leads to a route of ours.

    `methods` has more than one where only its script knows how it asks.
    """

    page: str
    methods: tuple[str, ...]
    address: str
    control: str


class _Reader(HTMLParser):
    """Collects the offers of one page."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.offers: list[Offer] = []
        self.pictures: list[str] = []
        self.links: list[str] = []
        self.scripts: list[str] = []
        self._page = page
        self._form_method = "GET"
        self._json = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        said = {name: value or "" for name, value in attrs}
        if tag == "form":
            self._form_method = said.get("method", "get").upper()
            self._offer(said.get("action", ""), "form", self._form_method)
        elif tag == "a" and "href" in said:
            address = self._offer(said["href"], "link", "GET")
            if address is not None:
                self.links.append(address)
        elif "formaction" in said:
            method = said.get("formmethod", self._form_method).upper()
            self._offer(said["formaction"], "button", method)
        elif tag in ("img", "image"):
            for one in (said.get("src", said.get("href", "")), *said.get("srcset", "").split(",")):
                if one.strip():
                    self.pictures.append(one.split()[0])
        if tag == "script" and "src" in said:
            self.scripts.append(said["src"])
        self._json = tag == "script" and said.get("type") == "application/json"
        for name, value in said.items():
            if name.startswith("data-") and value.startswith("/"):
                self._offer(value, name, *_ANY)

    def handle_data(self, data: str) -> None:
        if self._json:
            for found in _IN_JSON.findall(data):
                self._offer(found, "a script's data", *_ANY)

    def handle_endtag(self, tag: str) -> None:
        if tag == "form":
            self._form_method = "GET"
        self._json = False

    def _offer(self, address: str, control: str, *methods: str) -> str | None:
        if address.startswith("#") or urlsplit(address).netloc:
            return None
        whole = urljoin(self._page, address)
        words = f"{control} {'/'.join(methods) if len(methods) == 1 else ''} {address}"
        self.offers.append(Offer(self._page, methods, whole, " ".join(words.split())))
        return whole


@dataclass(frozen=True)
class PageRead:
    """The offers of a page, the pictures and scripts it loads, and where its links lead."""

    offers: list[Offer]
    pictures: list[str]
    links: list[str]
    scripts: list[str]


def read_page(address: str, text: str) -> PageRead:
    reader = _Reader(address)
    reader.feed(text)
    reader.close()
    return PageRead(reader.offers, reader.pictures, reader.links, reader.scripts)


def asked_by(script: Path, paths: Collection[str]) -> list[Offer]:
    """Return the routes, of `paths`, whose addresses stand in a script and in what it imports."""
    waiting, read, offers = [script.resolve()], set(), []
    while waiting:
        module = waiting.pop()
        if module in read:
            continue
        read.add(module)
        text = module.read_text(encoding="utf-8")
        waiting += [(module.parent / (a or b)).resolve() for a, b in _IMPORTED.findall(text)]
        for found in _IN_SCRIPT.findall(text):
            address = found.partition("?")[0]
            # What is filled in is a number or a word of one part: any route of this shape is meant.
            shape = "[^/]+".join(map(re.escape, re.split(r"\$\{[^}]*\}", address)))
            meant = [path for path in paths if re.fullmatch(shape, path)] or [address]
            words = f"{module.name} asks {address}"
            offers += [Offer(script.name, _ANY, path, words) for path in meant]
    return offers
