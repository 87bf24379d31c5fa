"""A settings file as text, values and lines; every way in which a file can fail to be TOML."""

import re
import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tui.settings.problems import Problem, SettingsError, Severity, clean, shown
from tui.settings.toml_lines import KeyPath, Outline

LARGEST_BYTES = 1 << 20

_PLACE = re.compile(r"\s*\(at (?:line (\d+), column \d+|end of document)\)$")
_BARE_QUANTITY = re.compile(r"=\s*([+-]?\d[\d.,]*\s*[A-Za-z%°][^\s,}\]#\"']*)")
_TWICE = re.compile(r"Cannot (?:declare|overwrite|redefine|mutate)|already|twice|duplicate", re.I)


@dataclass(frozen=True, slots=True)
class Document:
    """One settings file, read and parsed."""

    file: str
    """As it is shown: relative to the bench."""
    text: str
    """With every end of line as a line feed."""
    values: dict[str, Any]
    outline: Outline
    notes: tuple[Problem, ...] = ()
    """What was odd about the file without spoiling it."""

    def problem(
        self, path: KeyPath, what: str, remedy: str, severity: Severity = "error"
    ) -> Problem:
        """A problem of one key, with its line."""
        return Problem(
            severity=severity,
            what=what,
            remedy=remedy,
            file=self.file,
            line=self.outline.line(path),
            key=dotted(path) or None,
        )


def dotted(path: KeyPath) -> str:
    """A key path as people write it; the second of a list is `#2`."""
    text = ""
    for part in path:
        if isinstance(part, int):
            text += f"#{part + 1}"
        else:
            text += f".{clean(part)}" if text else clean(part)
    return text


def decode(content: bytes) -> tuple[str, str | None]:
    """The text of a settings file and, if it is not UTF-8, what it was taken for."""
    if content.startswith((b"\xff\xfe", b"\xfe\xff")):
        return content.decode("utf-16", errors="replace"), "UTF-16"
    try:
        return content.decode("utf-8-sig"), None
    except UnicodeDecodeError:
        bare = content.removeprefix(b"\xef\xbb\xbf")
        return bare.decode("cp1252", errors="replace"), "Windows-1252"


def read_bytes(path: Path, shown_as: str) -> bytes:
    """The content of a settings file.

    Raises:
        SettingsError: it cannot be read, or is no file of a sensible size.
    """
    try:
        if path.exists() and not path.is_file():
            raise _refused(shown_as, "is not a file", "put a text file of that name there")
        if path.stat().st_size > LARGEST_BYTES:
            size = f"{path.stat().st_size / 1e6:.1f} MB"
            raise _refused(
                shown_as, f"has {size}", "a settings file is below 1 MB; is this another file?"
            )
        return path.read_bytes()
    except OSError as error:
        raise _refused(
            shown_as,
            f"cannot be read: {error.strerror or type(error).__name__}",
            "make the file readable for the account that runs porewatch",
        ) from None


def read_document(path: Path, shown_as: str) -> Document:
    """Read and parse one settings file.

    Raises:
        SettingsError: the file cannot be read or is not TOML; one problem with its line.
    """
    return parse_document(*decode(read_bytes(path, shown_as)), shown_as=shown_as)


def parse_document(text: str, taken_for: str | None, shown_as: str) -> Document:
    """Parse the text of a settings file.

    Raises:
        SettingsError: it is not TOML; one problem with its line.
    """
    text = text.replace("\r\n", "\n").replace("\r", "\n")
    notes: tuple[Problem, ...] = ()
    if taken_for is not None:
        notes = (
            Problem(
                "note",
                f"{shown_as} is not UTF-8; it was read as {taken_for}",
                "save it as UTF-8, so that signs such as ° and ³ stay what they are",
                shown_as,
            ),
        )
    try:
        values = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise SettingsError((_syntax(str(error), text, shown_as),)) from None
    except (ValueError, RecursionError):
        raise _refused(
            shown_as, "holds a number or a nesting beyond all measure", "write it anew"
        ) from None
    return Document(shown_as, text, values, Outline(text), notes)


def _refused(shown_as: str, what: str, remedy: str) -> SettingsError:
    return SettingsError((Problem("error", f"{shown_as} {what}", remedy, shown_as),))


def _syntax(message: str, text: str, shown_as: str) -> Problem:
    place = _PLACE.search(message)
    lines = text.split("\n")
    number = int(place[1]) if place and place[1] else len(lines)
    # An unexpected end of line is met at the line feed, which belongs to the line before.
    written = lines[number - 1] if number <= len(lines) else ""
    quantity = _BARE_QUANTITY.search(written)
    reason = clean(message[: place.start()] if place else message)
    reason = reason[:1].lower() + reason[1:]
    if quantity:
        value = quantity[1].strip()
        what = f"line {number} has {shown(value)[1:-1]} without quotation marks"
        remedy = f"write the quantity in quotation marks: {shown(value)}"
    elif _TWICE.search(message):
        what = f"line {number} gives a key or a table a second time: {shown(written.strip())}"
        remedy = "keep one of the two"
    else:
        what = f"line {number} is not valid TOML: {shown(written.strip())} ({reason})"
        remedy = 'a line is [table], or key = value with text in quotation marks: key = "text"'
    return Problem("error", what, remedy, shown_as, number)
