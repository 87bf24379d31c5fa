"""What a message says: text for people, a short form for a push, a document for programs.

Everything in it that comes from logs, settings or folders is made harmless: no control characters,
one line a text, nothing that could begin a header or a markup. Values stand in the messages of the
alarms, with unit and limit: for people in the units that the bench shows, for programs in SI.
"""

import re
import shlex
from collections import Counter
from dataclasses import dataclass
from typing import Any

from tui.bench.alarms.spells import Alarm
from tui.bench.as_json import time_text
from tui.bench.picture import Bench
from tui.guard.company import Bundle
from tui.guard.ledger import WATCH
from tui.guard.when import Notice
from tui.words.messages import message
from tui.words.plain import SAFETY, Manner, plain, sanitise
from tui.words.times import age, moment

SCHEMA = "porewatch.notice/1"
LONGEST_SUBJECT = 120
LONGEST_PUSH = 600
MOST_PRESSING = 5
"""So many of a summary are told in full."""
CAUTION = (
    f"{SAFETY} Relief valve, guard and a person remain; the cell maker's rating, the laboratory's "
    "rules and local codes come first."
)
_ASCII = Manner(ascii=True)
_SIGNS = {"urgent": "URGENT", "warning": "Warning", "note": "Note"}
_AGAIN = {"after a shelf": " (its shelf has ended)", "reminder": " (reminder)"}


@dataclass(frozen=True, slots=True)
class Letter:
    """One message, ready for any route."""

    subject: str
    """One line of printable ASCII."""
    text: str
    short: str
    """A few lines for a small screen."""
    priority: str
    """note, warning or urgent."""
    tags: tuple[str, ...]
    """Lower-case words."""
    document: dict[str, Any]
    """`porewatch.notice/1`."""


def letter_of(bundle: Bundle, bench: Bench) -> Letter:
    """The message that tells a bundle.

    Args:
        bundle: at least one notice.
        bench: the picture that it was taken from.
    """
    notices = bundle.notices
    pressing = [one for one in notices if one.what != "cleared"]
    priority = max(pressing, key=lambda one: one.rank).key.priority if pressing else "note"
    lines = [headline(one) for one in notices]
    subject = _subject(bundle, bench, priority, lines)
    if bundle.is_summary:
        text = _summary(bundle, bench, lines)
    else:
        text = "\n\n".join(_in_full(one, bench) for one in notices)
    head = f"{sanitise(bench.name, 60)} · {moment(bench.at, bench.zone, bench.at)}"
    return Letter(
        subject=subject,
        text=f"{head}\n\n{text}\n\n{CAUTION}\n",
        short=_short(bundle, lines, pressing, bench),
        priority=priority,
        tags=tuple(dict.fromkeys([priority, *(_tag(one.key.kind) for one in notices)]))[:5],
        document={
            "schema": SCHEMA,
            "at": time_text(bench.at, bench.zone),
            "bench": sanitise(bench.name, 200),
            "subject": subject,
            "priority": priority,
            "summary": bundle.is_summary,
            "test": False,
            "notices": [_document(one, bench) for one in notices],
            "caution": CAUTION,
        },
    )


def trial_letter(bench: str, route: str, at_text: str) -> Letter:
    """What `--test-routes` sends.

    Args:
        bench: its name.
        route: its name.
        at_text: the moment, ISO 8601.
    """
    name, way = sanitise(bench, 60), sanitise(route, 60)
    subject = _ascii(f"Test of the route {way}: {name}", LONGEST_SUBJECT)
    text = f"This is a test of the route {way} of {name}. Nothing is wrong, nothing needs doing."
    return Letter(
        subject,
        f"{text}\n\n{CAUTION}\n",
        text,
        "note",
        ("note", "test"),
        {
            "schema": SCHEMA, "at": at_text, "bench": name, "subject": subject,
            "priority": "note", "summary": False, "test": True, "notices": [], "caution": CAUTION,
        },
    )  # fmt: skip


def headline(notice: Notice) -> str:
    """What it is in one line.

    The name of the cell, the kind, the part; for what concerns the watch its own words.
    """
    where = _where(notice)
    if notice.key.kind == WATCH:
        return sanitise(notice.line.text, 300)
    part = f" {_words(notice.key.about)}" if notice.key.about else ""
    name = f"{where}: {notice.key.kind}{part}"
    if notice.what == "cleared":
        if notice.remains is not None:
            return f"{name} is no longer {notice.key.priority}; a {notice.remains.priority} remains"
        why = f" ({sanitise(notice.line.why_cleared, 80)})" if notice.line.why_cleared else ""
        return f"{name} is over{why}"
    return f"{name}{_AGAIN.get(notice.what, '')}"


def acknowledgement(notice: Notice) -> str | None:
    """The command that acknowledges it; None where there is nothing to acknowledge."""
    alarm = notice.alarm
    if alarm is None:
        return None
    where = "bench" if notice.cell is None else _quoted(notice.cell.cell)
    about = f" --about {_quoted(alarm.about)}" if alarm.about else ""
    return f"porewatch acknowledge {where} {_quoted(alarm.kind)}{about}"


def _subject(bundle: Bundle, bench: Bench, priority: str, lines: list[str]) -> str:
    told = [one for one in bundle.notices if one.what != "cleared"]
    sign = _SIGNS.get(priority, "Note") if told else "Over"
    name = sanitise(bench.name, 30)
    if bundle.is_summary:
        count = len(bundle.notices)
        return _ascii(f"{sign}: {count} messages at once from {name}", LONGEST_SUBJECT)
    more = f" and {len(lines) - 1} more" if len(lines) > 1 else ""
    room = LONGEST_SUBJECT - len(sign) - len(more) - len(name) - 8
    return _ascii(f"{sign}: {sanitise(lines[0], max(20, room))}{more} - {name}", LONGEST_SUBJECT)


def _in_full(notice: Notice, bench: Bench) -> str:
    lines = [_lead(notice) + headline(notice)]
    alarm = notice.alarm
    since = notice.key.since if alarm is None else alarm.since
    if notice.key.kind == WATCH:
        lines.append(_since("Since", since, bench))
        if notice.what == "cleared":
            lines.append(_since("Over since", notice.line.cleared_at, bench))
        return "\n".join(lines)
    if notice.cell is not None:
        test = ", ".join(
            sanitise(one, 60)
            for one in (notice.cell.test_id, notice.cell.test, notice.cell.specimen)
            if one
        )
        lines.append(f"Test: {test}" if test else "No test runs in it.")
    if alarm is None:
        lines.append(f"It was: {_shown(notice.line.text, bench)}")
        lines.append(_since("It began", since, bench))
        lines.append(_since("Over since", notice.line.cleared_at, bench))
        return "\n".join(lines)
    if notice.cell is None and alarm.cells:
        lines.append(f"Cells: {', '.join(sanitise(one, 40) for one in alarm.cells)}")
    lines.append(f"Read: {_shown(alarm.message, bench)}")
    lines.append(_since("Since", since, bench))
    live = None if notice.cell is None else notice.cell.live
    if live is not None:
        lines.append(_since("Newest reading", live.at, bench))
    lines += [
        f"Usual cause: {sanitise(alarm.cause)}.",
        f"If nobody acts: {sanitise(alarm.effect)}.",
        f"Do: {sanitise(alarm.action, 900)}".rstrip(".") + ".",
        f"Within: {age(alarm.respond_s)}",
    ]
    if alarm.consequences:
        lines.append(f"Follows from it: {', '.join(map(_words, alarm.consequences))}")
    if (command := acknowledgement(notice)) is not None:
        lines.append(f"To acknowledge: {command}")
    return "\n".join(lines)


def _summary(bundle: Bundle, bench: Bench, lines: list[str]) -> str:
    counts = Counter(_where(one) for one in bundle.notices)
    told = ", ".join(f"{where} {count}" for where, count in counts.most_common())
    full = [_in_full(one, bench) for one in bundle.notices[:MOST_PRESSING]]
    parts = [
        f"{len(bundle.notices)} messages have come together, so this one stands for all of them.\n"
        f"By cell: {told}.",
        "The most pressing:",
        *full,
    ]
    rest = [
        f"- {_lead(one)}{line}, since {moment(one.key.since, bench.zone, bench.at)}"
        for one, line in zip(bundle.notices[MOST_PRESSING:], lines[MOST_PRESSING:], strict=True)
    ]
    if rest:
        parts += ["The others:", "\n".join(rest)]
    return "\n\n".join(parts)


def _short(bundle: Bundle, lines: list[str], pressing: list[Notice], bench: Bench) -> str:
    if bundle.is_summary:
        counts = Counter(_where(one) for one in bundle.notices)
        by_cell = ", ".join(f"{where} {count}" for where, count in counts.most_common(8))
        lines = [f"{len(lines)} messages: {by_cell}", *lines[:3]]
    elif pressing and pressing[0].alarm is not None:
        alarm = pressing[0].alarm
        action = sanitise(alarm.action, 200)
        lines = [lines[0], _shown(alarm.message, bench, 160), f"Do: {action}", *lines[1:4]]
    text = "\n".join(sanitise(line, 220) for line in lines)
    return text if len(text) <= LONGEST_PUSH else text[: LONGEST_PUSH - 1] + "…"


def _document(notice: Notice, bench: Bench) -> dict[str, Any]:
    alarm: Alarm | None = notice.alarm
    cell = notice.cell
    return {
        "what": notice.what,
        "cell": None if cell is None else sanitise(cell.cell, 100),
        "folder": None if cell is None else sanitise(cell.folder, 200),
        "test_id": None if notice.key.test is None else sanitise(notice.key.test, 100),
        "specimen": None if cell is None or not cell.specimen else sanitise(cell.specimen, 100),
        "kind": notice.key.kind,
        "about": None if notice.key.about is None else sanitise(notice.key.about, 100),
        "priority": notice.key.priority,
        "state": None if alarm is None else alarm.state,
        "since": time_text(notice.key.since if alarm is None else alarm.since, bench.zone),
        "raised_at": time_text(
            notice.line.raised_at if alarm is None else alarm.raised_at, bench.zone
        ),
        "cleared_at": time_text(notice.line.cleared_at, bench.zone),
        "message": sanitise(notice.line.text if alarm is None else alarm.message),
        "cause": None if alarm is None else sanitise(alarm.cause),
        "effect": None if alarm is None else sanitise(alarm.effect),
        "action": None if alarm is None else sanitise(alarm.action, 900),
        "respond_s": None if alarm is None else alarm.respond_s,
        "consequences": [] if alarm is None else list(alarm.consequences),
        "cells": [] if alarm is None else [sanitise(one, 200) for one in alarm.cells],
        "acknowledge": acknowledgement(notice),
    }


def _lead(notice: Notice) -> str:
    if notice.what == "cleared":
        return "Over: " if notice.key.kind == WATCH else ""
    return f"{_SIGNS.get(notice.key.priority, 'Note')}: "


def _where(notice: Notice) -> str:
    if notice.cell is not None:
        return sanitise(notice.cell.cell, 60)
    if notice.key.kind == WATCH:
        return "the watch"
    return sanitise(notice.key.cell, 60) or "the bench"


def _since(what: str, at: float | None, bench: Bench) -> str:
    if at is None:
        return f"{what}: not known"
    return f"{what}: {moment(at, bench.zone, bench.at)}, {age(bench.at - at)} ago"


def _shown(text: str, bench: Bench, longest: int = 500) -> str:
    return message(text, Manner(units=bench.units), longest)


def _words(name: str) -> str:
    return sanitise(name, 80).replace("_", " ")


def _quoted(text: str) -> str:
    return shlex.quote(sanitise(text, 100))


def _tag(kind: str) -> str:
    return re.sub(r"[^a-z0-9_-]", "", kind.lower())


def _ascii(text: str, longest: int) -> str:
    """One line of printable ASCII that begins with a letter: no header begins or ends in it."""
    one = plain(sanitise(text, longest), _ASCII)
    kept = "".join(sign if " " <= sign <= "~" else " " for sign in one)
    return " ".join(kept.split())[:longest]
