"""What of the picture the journal does not have yet: raised and cleared. Pure.

A spell of the picture is one that the journal knows if cell, test, kind, part and priority agree
and they share time. So a history told anew by a late row, or by a restart, raises nothing twice,
and what came and went while nobody watched is still written down.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from math import inf

from tui.bench.alarms.spells import Spell
from tui.bench.picture import Bench, Cell
from tui.guard.ledger import WATCH, Key, Ledger, Line, shares
from tui.guard.troubles import Trouble, is_watched
from tui.journal.acts import Act


@dataclass(frozen=True, slots=True)
class Writer:
    """In whose name entries are written."""

    who: str
    host: str


@dataclass(frozen=True, slots=True)
class Subject:
    """A cell, or the bench as a whole, with its spells."""

    cell: str
    test: str | None
    spells: tuple[Spell, ...]
    reaches: float
    """Up to when its readings are known. [s]"""
    is_sure: bool = True
    """Whether what is missing is over: not where something hides what the cell does."""


def subjects(bench: Bench) -> Iterator[Subject]:
    """Everything on the bench whose history is all there."""
    for cell in bench.cells:
        if not cell.being_read:
            reaches = -inf if cell.live is None else cell.live.at
            yield Subject(cell.folder, _test(cell), cell.spells, reaches, is_watched(cell))
    if bench.cells and not any(cell.being_read for cell in bench.cells):
        yield Subject("", None, bench.spells, bench.at, all(map(is_watched, bench.cells)))


@dataclass(frozen=True, slots=True)
class _Stretch:
    """Spells of one kind, part and priority that share time: one thing to people."""

    kind: str
    about: str | None
    priority: str
    since: float
    raised_at: float
    cleared_at: float | None
    message: str
    why: str
    hidden: bool
    """Whether it is a consequence of something else, listed there."""


def facts(
    ledger: Ledger,
    bench: Bench,
    by: Writer,
    entered_at: float,
    known: Mapping[str, Subject] | None = None,
) -> list[Act]:
    """Entries that are missing in the journal.

    Args:
        ledger: what it has.
        bench: the picture.
        by: in whose name.
        entered_at: the present moment. [s]
        known: subjects whose spells are all in the ledger, by cell; unchanged ones cost nothing.
    """
    found: list[Act] = []
    open_lines: dict[str, list[Line]] = {}
    for line in ledger.open():
        if line.key.kind != WATCH:
            open_lines.setdefault(line.key.cell, []).append(line)
    for subject in subjects(bench):
        lines = open_lines.get(subject.cell, [])
        if _is_known((known or {}).get(subject.cell), subject, lines):
            continue
        stretches = _stretches(subject.spells)
        taken: list[_Stretch] = []
        for line in lines:
            own = [one for one in stretches if _is_of(one, line)]
            mine = own if line.key.test == subject.test else []
            taken += mine
            over = _over(line, subject, mine, bench.at)
            if over is not None:
                found.append(_cleared(line.key, *over, by, entered_at))
        for one in stretches:
            if not one.hidden and one not in taken:
                found += _raised(ledger, subject, one, by, entered_at)
    return found


def _is_known(before: Subject | None, subject: Subject, lines: list[Line]) -> bool:
    if before is None or (before.test, before.spells) != (subject.test, subject.spells):
        return False
    return not lines or before == subject  # with a line that is open, readings may end it


def _test(cell: Cell) -> str | None:
    return None if cell.idle else cell.test_id


def _stretches(spells: Iterable[Spell]) -> list[_Stretch]:
    found: dict[tuple[str, str | None, str], list[_Stretch]] = {}
    for spell in sorted(spells, key=lambda one: one.since):
        one = _Stretch(
            spell.kind, spell.about, spell.priority, spell.since, spell.raised_at,
            spell.cleared_at, spell.message, "its phase is over" if spell.by_phase else "",
            spell.held_back is not None,
        )  # fmt: skip
        row = found.setdefault((one.kind, one.about, one.priority), [])
        if row and shares(row[-1].since, row[-1].cleared_at, one.since, one.cleared_at):
            row[-1] = _joined(row[-1], one)
        else:
            row.append(one)
    return sorted((one for row in found.values() for one in row), key=lambda one: one.raised_at)


def _joined(first: _Stretch, second: _Stretch) -> _Stretch:
    ends = (first.cleared_at, second.cleared_at)
    longer = second if None not in ends and (ends[1] or 0.0) > (ends[0] or 0.0) else first
    return replace(
        first,
        raised_at=min(first.raised_at, second.raised_at),
        cleared_at=None if None in ends else longer.cleared_at,
        message=second.message if first.hidden and not second.hidden else first.message,
        why=longer.why,
        hidden=first.hidden and second.hidden,
    )


def _is_of(one: _Stretch, line: Line) -> bool:
    """Whether an open line is about this stretch: they agree on when it was raised."""
    key = line.key
    return (one.kind, one.about, one.priority) == (key.kind, key.about, key.priority) and shares(
        key.since, line.raised_at, one.since, one.cleared_at
    )


def _raised(
    ledger: Ledger, subject: Subject, one: _Stretch, by: Writer, entered_at: float
) -> Iterator[Act]:
    key = Key(subject.cell, subject.test, one.kind, one.about, one.priority, one.since)
    raised_at = one.raised_at
    lines = [
        line
        for line in ledger.overlapping(key.identity, one.since, one.cleared_at)
        if line.cleared_at is not None
    ]
    if lines:
        if one.cleared_at is not None:
            return
        # The journal has it as over, and it is not: people were told so, and must be told anew.
        raised_at = max(line.cleared_at or 0.0 for line in lines)
        key = replace(key, since=raised_at)
    yield Act(
        0, "raised", key.cell, key.test, raised_at, entered_at, by.who, by.host, one.message,
        alarm=key.kind, about=key.about, priority=key.priority, since=key.since,
    )  # fmt: skip
    if one.cleared_at is not None:
        yield _cleared(key, one.cleared_at, one.why, by, entered_at)


def _over(
    line: Line, subject: Subject, mine: list[_Stretch], now: float
) -> tuple[float, str] | None:
    """When and why an open line is over; None while it is not."""
    if line.key.test != subject.test:
        return (now, "its test runs no more") if subject.is_sure else None
    if not mine:
        if subject.reaches < line.raised_at or not subject.is_sure:
            return None
        return now, "told anew, the readings do not show it"
    if any(one.cleared_at is None for one in mine):
        return None
    last = max(mine, key=lambda one: one.cleared_at or 0.0)
    return last.cleared_at or now, last.why


def _cleared(key: Key, at: float, why: str, by: Writer, entered_at: float) -> Act:
    return Act(
        0, "cleared", key.cell, key.test, max(at, key.since), entered_at, by.who, by.host, why,
        alarm=key.kind, about=key.about, priority=key.priority, since=key.since,
    )  # fmt: skip


def duties(
    ledger: Ledger, troubles: Iterable[Trouble], at: float, by: Writer, entered_at: float
) -> list[Act]:
    """Entries about troubles that have come or gone.

    Args:
        troubles: all that there are now.
        at: the moment. [s]
    """
    now = {(one.cell, one.name, str(one.priority)): one for one in troubles}
    found: list[Act] = []
    for line in ledger.open():
        if line.key.kind != WATCH:
            continue
        mark = (line.key.cell, line.key.about or "", line.key.priority)
        if now.pop(mark, None) is None:
            begun = _duty(line.key.cell, mark[1], mark[2], line.key.since, by, entered_at)
            over = max(at, line.key.since)
            found.append(replace(begun, held_at=over, until=over, text=f"over: {line.text}"))
    for one in now.values():
        begun = _duty(one.cell, one.name, one.priority, at, by, entered_at)
        found.append(replace(begun, text=one.text))
    return found


def _duty(cell: str, name: str, priority: str, since: float, by: Writer, entered_at: float) -> Act:
    return Act(
        0, "duty", cell, None, since, entered_at, by.who, by.host,
        about=name, priority=priority, since=since,
    )  # fmt: skip
