"""Where in a TOML text its keys stand: `tomllib` gives values without lines.

The text has already been parsed without error, so this scanner only has to find its way, not to
judge. Lines count from 1, array elements from 0.
"""

import re
import tomllib
from bisect import bisect_right
from dataclasses import dataclass

KeyPath = tuple[str | int, ...]

_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+")
_STRINGS = (
    re.compile(r'"""(?:[^\\]|\\.)*?"""(?:"{0,2})', re.DOTALL),
    re.compile(r"'''.*?'''(?:'{0,2})", re.DOTALL),
    re.compile(r'"(?:[^"\\\n]|\\.)*"'),
    re.compile(r"'[^'\n]*'"),
)
_BARE_VALUE = re.compile(r"[^,\]}#\n]*")
_BLANK = re.compile(r"[ \t]*")
_BLANK_LINES = re.compile(r"(?:[ \t\r\n]+|#[^\n]*)*")


@dataclass(frozen=True, slots=True)
class Statement:
    """A header or a key with its value, from its first line to its last."""

    path: KeyPath
    """Of the table for a header, of the key otherwise."""
    is_header: bool
    first_line: int
    last_line: int


class Outline:
    """The statements of a TOML text and the line of every key."""

    def __init__(self, text: str) -> None:
        self.statements: list[Statement] = []
        self.lines: dict[KeyPath, int] = {}
        self._text = text
        self._at = 0
        self._ends = [found.start() for found in re.finditer("\n", text)]
        self._arrays: dict[KeyPath, int] = {}
        self._scan()

    def line(self, path: KeyPath) -> int | None:
        """The line of a key, or of the nearest table around it."""
        while path:
            if path in self.lines:
                return self.lines[path]
            path = path[:-1]
        return None

    def _line_here(self) -> int:
        return bisect_right(self._ends, self._at - 1) + 1

    def _skip(self, blank: re.Pattern[str]) -> None:
        found = blank.match(self._text, self._at)
        self._at = found.end() if found else self._at

    def _next(self, sign: str) -> bool:
        return self._text.startswith(sign, self._at)

    def _scan(self) -> None:
        base: KeyPath = ()
        while True:
            self._skip(_BLANK_LINES)
            if self._at >= len(self._text):
                return
            first = self._line_here()
            before = self._at
            if self._next("["):
                base = self._header(first)
                self.statements.append(Statement(base, True, first, self._line_here()))
            else:
                path = self._key_and_value(base)
                self.statements.append(Statement(path, False, first, self._line_here()))
            if self._at == before:  # not TOML after all: what was found so far must do
                return

    def _header(self, line: int) -> KeyPath:
        several = self._next("[[")
        self._at += 2 if several else 1
        written = self._key()
        self._at += 2 if several else 1
        path: KeyPath = ()
        for place, part in enumerate(written):
            path = (*path, part)
            if several and place == len(written) - 1:
                self._arrays[path] = self._arrays.get(path, -1) + 1
            self.lines.setdefault(path, line)
            if path in self._arrays:
                path = (*path, self._arrays[path])
        self.lines[path] = line
        return path

    def _key(self) -> tuple[str, ...]:
        parts: list[str] = []
        while True:
            self._skip(_BLANK)
            if self._next('"') or self._next("'"):
                written = self._string()
                parts.append(str(tomllib.loads(f"x = {written}")["x"]))
            else:
                found = _BARE_KEY.match(self._text, self._at)
                parts.append(found[0] if found else "")
                self._at = found.end() if found else self._at
            self._skip(_BLANK)
            if not self._next("."):
                return tuple(parts)
            self._at += 1

    def _string(self) -> str:
        for form in _STRINGS:
            found = form.match(self._text, self._at)
            if found:
                self._at = found.end()
                return found[0]
        self._at = len(self._text)
        return '""'

    def _key_and_value(self, base: KeyPath) -> KeyPath:
        line = self._line_here()
        path = base
        for part in self._key():
            path = (*path, part)
            self.lines.setdefault(path, line)
        self._skip(_BLANK)
        self._at += 1  # the equals sign
        self._value(path)
        return path

    def _value(self, path: KeyPath) -> None:
        self._skip(_BLANK)
        self.lines.setdefault(path, self._line_here())
        if self._next("["):
            self._items(path, "]")
        elif self._next("{"):
            self._items(path, "}")
        elif self._next('"') or self._next("'"):
            self._string()
        else:
            found = _BARE_VALUE.match(self._text, self._at)
            self._at = found.end() if found else self._at

    def _items(self, path: KeyPath, closing: str) -> None:
        self._at += 1
        count = 0
        while self._at < len(self._text):
            self._skip(_BLANK_LINES)
            if self._next(closing):
                self._at += 1
                return
            if self._next(","):
                self._at += 1
                continue
            before = self._at
            if closing == "}":
                self._key_and_value(path)
            else:
                self._value((*path, count))
                count += 1
            if self._at == before:
                return
