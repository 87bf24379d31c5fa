"""Reports written by the command, and what is in them as a reader's program finds it."""

import re
from dataclasses import dataclass, field
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

from calling import Called, call

SAMPLES = Path(__file__).parents[2] / "sample_logs"


@dataclass
class Number:
    """One number of a page."""

    about: str
    """The test, or "strength"."""
    key: str
    number: float
    words: str = ""


@dataclass
class Page:
    """An HTML report as a parser sees it."""

    numbers: list[Number] = field(default_factory=list)
    heads: list[str] = field(default_factory=list)
    text: str = ""
    """All of it, in one line."""
    tags: set[str] = field(default_factory=set)
    attributes: list[tuple[str, str, str]] = field(default_factory=list)
    """Tag, name and value of each."""


class _Reader(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.page = Page()
        self._about = ""
        self._open: list[str] = []
        self._words: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {name: value or "" for name, value in attrs}
        self.page.tags.add(tag)
        self.page.attributes += [(tag, name, value) for name, value in given.items()]
        self._open.append(tag)
        if tag == "section":
            self._about = given.get("data-test", "")
        if tag == "data":
            number = Number(self._about, given["data-of"], float(given["value"]))
            self.page.numbers.append(number)
        if tag == "h2":
            self.page.heads.append("")

    def handle_endtag(self, tag: str) -> None:
        while self._open and self._open.pop() != tag:
            pass

    def handle_data(self, data: str) -> None:
        if "style" in self._open:
            return
        self._words.append(data)
        if "data" in self._open:
            self.page.numbers[-1].words += data
        if self._open and self._open[-1] == "h2":
            self.page.heads[-1] += data

    def done(self) -> Page:
        self.page.text = " ".join(" ".join(self._words).split())
        return self.page


def page_of(html: str) -> Page:
    """Read a page."""
    reader = _Reader()
    reader.feed(html)
    reader.close()
    return reader.done()


def write(out: Path, *arguments: str, bench: Path = SAMPLES) -> Called:
    """Run `porewatch report`."""
    return call("report", *arguments, "--bench", str(bench), "--out", str(out))


def html(out: Path, *arguments: str, bench: Path = SAMPLES) -> Page:
    """A report as a page; it must have been written."""
    ended = write(out, *arguments, bench=bench)
    assert ended.exit_code == 0, ended.stderr
    return page_of(out.read_text("utf-8"))


def inside(found: Any, key: str) -> Any:
    """What stands under a dotted name of a JSON answer."""
    for part in key.split("."):
        found = found[int(part)] if isinstance(found, list) else found[part]
    return found


_FIRST = re.compile(r"[-−]?\d+(?:\.\d+)?(?:[eE][-−+]?\d+)?")


def first_number(words: str) -> tuple[float, float]:
    """The first number of some words, and half of its last digit."""
    match = _FIRST.search(words)
    assert match is not None, words
    text = match[0].replace("−", "-")
    mantissa, _, power = text.lower().partition("e")
    decimals = len(mantissa.partition(".")[2])
    return float(text), 0.5 * 10.0 ** (int(power or 0) - decimals)
