"""Entries as lines of JSON, for a file that several hosts read and one appends to."""

import json
import math
from collections.abc import Mapping, Sequence
from typing import Any

from tui.journal.acts import Act
from tui.journal.details import details_of, with_details
from tui.journal.entries import Entry

SCHEMA = "porewatch.acts/1"
"""In the first line of a file."""

_FAMILY = "porewatch.acts/"

CANCEL = b"\x18"
"""ASCII's own sign for "disregard what was before this": ends a line that its writer could not
finish, being killed or out of space. JSON never has it, and nobody was told that such a line is
kept, so that nothing is missing."""


class LineError(ValueError):
    """A line that is no entry; the message says why."""


def head_line(host: str, writer: str) -> bytes:
    """The first line of a file: who writes it."""
    return _line({"schema": SCHEMA, "host": host, "writer": writer})


def writer_of(line: bytes) -> str:
    """Who writes a file, by its first line.

    Raises:
        LineError: it is none of ours, or of a newer version.
    """
    found = _object(line)
    schema, writer = found.get("schema"), found.get("writer")
    if schema == SCHEMA and isinstance(writer, str):
        return writer
    if isinstance(schema, str) and schema.startswith(_FAMILY) and schema != SCHEMA:
        raise LineError("it was written by a newer version of the program; update this program")
    raise LineError("its first line is not that of a file of acts")


def entry_lines(entries: Sequence[Entry], together: str) -> bytes:
    """Entries that count all or not at all.

    Args:
        together: a name that this write alone has.
    """
    left = range(len(entries) - 1, -1, -1)
    return b"".join(
        _line({"write": together, "left": more} | _fields(entry))
        for entry, more in zip(entries, left, strict=True)
    )


def entry_of(line: bytes, number: int) -> tuple[Entry | None, str, int]:
    """An entry, the name of the write that it was part of, and how many of that follow it.

    An empty object is a line that says nothing: None.

    Args:
        line: without its end.
        number: by which people name it.

    Raises:
        LineError: it is damaged.
    """
    found = _object(line)
    if not found:
        return None, "", 0
    together, left = found.get("write"), found.get("left")
    if not isinstance(together, str) or not isinstance(left, int) or left < 0:
        raise LineError("it does not say of which write it is a part")
    client = _perhaps(found, "client")
    act = Act(
        entry=number,
        kind=_text(found, "kind"),
        cell=_text(found, "cell"),
        test=_perhaps(found, "test"),
        held_at=_moment(found, "held_at"),
        entered_at=_moment(found, "entered_at"),
        who=_text(found, "who"),
        host=_text(found, "host"),
        text=_text(found, "text"),
    )
    return with_details(act, client, found), together, left


def _fields(entry: Entry) -> dict[str, Any]:
    act = entry.act
    usual = {
        "kind": act.kind,
        "cell": act.cell,
        "test": act.test,
        "held_at": act.held_at,
        "entered_at": act.entered_at,
        "who": act.who,
        "host": act.host,
        "client": entry.client,
        "text": act.text,
    }
    return usual | details_of(entry)


def _line(fields: Mapping[str, Any]) -> bytes:
    # ASCII alone: no letter of another encoding can be cut in half, no end of line stands within.
    return json.dumps(fields, allow_nan=False).encode("ascii") + b"\n"


def _object(line: bytes) -> dict[str, Any]:
    try:
        found = json.loads(line.decode("utf-8"))
    except (ValueError, RecursionError):
        raise LineError("it is no whole line of JSON") from None
    if not isinstance(found, dict):
        raise LineError("it is no object of JSON")
    return found


def _text(found: Mapping[str, Any], name: str) -> str:
    value = found.get(name)
    if not isinstance(value, str):
        raise LineError(f"it has no {name}")
    return value


def _perhaps(found: Mapping[str, Any], name: str) -> str | None:
    return None if found.get(name) is None else _text(found, name)


def _moment(found: Mapping[str, Any], name: str) -> float:
    value = found.get(name)
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise LineError(f"it has no {name}")
    try:
        moment = float(value)
    except OverflowError:
        moment = math.inf
    if not math.isfinite(moment):
        raise LineError(f"its {name} is no time")
    return moment
