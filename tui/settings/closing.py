"""The text of a `cell.toml` parted in two when its test is closed, comments and all.

What describes the test goes to `tests/ID.toml`; the hardware stays and is copied there, so that a
new calibration does not change an old test. Nothing is written here.
"""

import re
import tomllib
from dataclasses import dataclass
from typing import Any

from tui.settings.document import Document
from tui.settings.reading import OF_THE_TEST
from tui.settings.toml_lines import Statement

_HINT = """\
# No test is described here. The next one begins with its tables, such as:
# [test]
# id = "…"
# kind = "CU"
# standard = "ASTM D4767"
# started = "2031-02-03T08:10"
#
# [specimen]
# diameter = "50.0 mm"
# height = "100.0 mm"
#
# The tables of the last one are in tests/{test_id}.toml.
"""
_CLOSED = "# Test {test_id} of cell {cell}, closed by porewatch."
_HARDWARE = "# The cell's hardware as it was when the test was closed."
_EARLIER_HINT = re.compile(re.escape(_HINT).replace(re.escape("{test_id}"), r"[^\n]*"))


class CannotCloseError(ValueError):
    """Why a file cannot be parted; one line."""


@dataclass(frozen=True, slots=True)
class Parted:
    """The two texts, with line feeds."""

    kept: str
    """Of `cell.toml`."""
    moved: str
    """Of `tests/ID.toml`."""


@dataclass(frozen=True, slots=True)
class _Segment:
    owner: str | None
    """The first key of what stands in these lines; None for what belongs to the whole file."""
    in_root: bool
    """Whether it stands before the first header."""
    text: str


def part(document: Document, cell: str, test_id: str, ended: str | None) -> Parted:
    """Part the text of a `cell.toml` whose test is over.

    Args:
        document: the file; it can be used as it stands.
        cell: name of the cell, for the comment.
        test_id: of the test, for the comments.
        ended: the moment to be written as `ended`, ISO 8601; None when it stands there already.

    Raises:
        CannotCloseError: the file is written in a way that cannot be parted safely.
    """
    lines = document.text.rstrip("\n").split("\n")
    statements = list(document.outline.statements)
    if ended is not None:
        lines, statements = _with_ended(lines, statements, ended)
    segments = _segments(lines, statements)
    moved = [one for one in segments if one.owner in OF_THE_TEST]
    hardware = [one for one in segments if one.owner not in OF_THE_TEST and one.owner is not None]
    preamble = [one for one in segments if one.owner is None]
    texts = Parted(
        kept=_joined([*preamble, *hardware]) + "\n" + _HINT.format(test_id=test_id),
        moved=_joined(
            [
                _comment(_CLOSED.format(test_id=test_id, cell=cell)),
                *(one for one in moved if one.in_root),
                *(one for one in hardware if one.in_root),
                *(one for one in moved if not one.in_root),
                _comment(_HARDWARE),
                *(one for one in hardware if not one.in_root),
            ]
        ),
    )
    _verify(texts, document.values, ended)
    return texts


def rejoined(kept: Document, moved: Document, cell: str, test_id: str) -> str:
    """The text of a `cell.toml` whose test goes on: that of `tests/ID.toml` without its `ended`.

    Args:
        kept: `cell.toml` as closing left it.
        moved: `tests/ID.toml`.
        cell: name of the cell, for the comments.
        test_id: of the test, for the comments.

    Raises:
        CannotCloseError: one of the two was changed since in a way that would be lost.
    """
    hardware = {key: value for key, value in moved.values.items() if key not in OF_THE_TEST}
    if hardware != kept.values:
        raise CannotCloseError(
            "cell.toml and this file do not describe the same hardware any more: put the tables "
            "of the test back by hand"
        )
    ours = {_CLOSED.format(test_id=test_id, cell=cell), _HARDWARE}
    ended = [one for one in moved.outline.statements if one.path == ("test", "ended")]
    gone = {n for one in ended for n in range(one.first_line, one.last_line + 1)}
    lines = [
        line
        for number, line in enumerate(moved.text.split("\n"), 1)
        if number not in gone and line not in ours
    ]
    above = _segments(kept.text.rstrip("\n").split("\n"), list(kept.outline.statements))
    preamble = [one for one in above if one.owner is None]
    text = _joined([*preamble, _comment("\n".join(lines))])
    test = {key: value for key, value in moved.values.get("test", {}).items() if key != "ended"}
    try:
        same = tomllib.loads(text) == {**moved.values, "test": test}
    except tomllib.TOMLDecodeError:
        same = False
    if not same:
        raise CannotCloseError("its tables cannot be put back without a loss: do it by hand")
    return text


def _comment(text: str) -> _Segment:
    return _Segment(None, False, text)


def _joined(segments: list[_Segment]) -> str:
    text = "\n".join(one.text.strip("\n") + "\n" for one in segments if one.text.strip())
    return _EARLIER_HINT.sub("", text + "\n").strip("\n") + "\n"


def _with_ended(
    lines: list[str], statements: list[Statement], ended: str
) -> tuple[list[str], list[Statement]]:
    keys = [one for one in statements if len(one.path) == 2 and one.path[0] == "test"]
    if not keys:
        raise CannotCloseError(
            "[test] is not a table of its own in cell.toml: write it as [test] with one key a line"
        )
    started = [one for one in keys if one.path[1] == "started"]
    after = (started or keys)[-1]
    headers = [one for one in statements if one.is_header and one.first_line < after.first_line]
    name = "ended" if headers else "test.ended"
    indent = re.match(r"\s*", lines[after.first_line - 1])
    written = f'{indent[0] if indent else ""}{name} = "{ended}"'
    at = after.last_line
    moved_down = [
        one
        if one.first_line <= at
        else Statement(one.path, one.is_header, one.first_line + 1, one.last_line + 1)
        for one in statements
    ]
    new = Statement(("test", "ended"), False, at + 1, at + 1)
    place = moved_down.index(after) + 1
    return (
        [*lines[:at], written, *lines[at:]],
        [*moved_down[:place], new, *moved_down[place:]],
    )


def _segments(lines: list[str], statements: list[Statement]) -> list[_Segment]:
    """The lines in pieces that belong to one table; a comment goes with what stands below it."""
    first_header = next((n for n, one in enumerate(statements) if one.is_header), len(statements))
    starters = [
        (one, n < first_header)
        for n, one in enumerate(statements)
        if one.is_header or n < first_header
    ]
    begins = [_with_comments_above(lines, one.first_line) for one, _ in starters]
    segments = []
    preamble = lines[: begins[0] - 1] if begins else lines
    segments.append(_Segment(None, True, "\n".join(preamble)))
    for number, (one, in_root) in enumerate(starters):
        end = begins[number + 1] - 1 if number + 1 < len(begins) else len(lines)
        segments.append(
            _Segment(str(one.path[0]), in_root, "\n".join(lines[begins[number] - 1 : end]))
        )
    return segments


def _with_comments_above(lines: list[str], line: int) -> int:
    while line > 1 and lines[line - 2].lstrip().startswith("#"):
        line -= 1
    return line


def _verify(texts: Parted, values: dict[str, Any], ended: str | None) -> None:
    """Nothing may be lost: both texts together must say what the file said."""
    wanted = dict(values)
    if ended is not None:
        wanted["test"] = {**values["test"], "ended": ended}
    try:
        kept, moved = tomllib.loads(texts.kept), tomllib.loads(texts.moved)
    except tomllib.TOMLDecodeError:
        kept, moved = {}, {}
    stays = {key: value for key, value in wanted.items() if key not in OF_THE_TEST}
    if moved != wanted or kept != stays:
        raise CannotCloseError(
            "the tables of cell.toml could not be parted without a loss: write every table as "
            "[table] with its keys below it"
        )
