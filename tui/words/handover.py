"""What one shift hands to the next, in words; and the page of it for a terminal."""

from datetime import tzinfo

from tui.bench.alarms.spells import Spell
from tui.bench.handover import Before, Handover
from tui.bench.picture import Cell, PhaseSpan
from tui.bench.unused import DATED
from tui.journal.entries import Entry
from tui.words.alarms import alarm_sign, kind_words
from tui.words.entries import said
from tui.words.messages import message
from tui.words.plain import Manner, sanitise
from tui.words.printed import print_bench
from tui.words.times import age, moment
from tui.words.told import Parts

_MOST = 12
"""Spans, missed readings and alarms that are over, the newest; more are counted."""


def handover_lines(handed: Handover, manner: Manner, width: int) -> list[str]:
    """The whole page, no line longer than it is wide."""
    bench = handed.bench
    more = {cell.folder: _before_lines(handed, cell, manner) for cell in bench.cells}
    more[""] = [
        *over_told(handed.before[""], handed, manner),
        *entries_told(handed.before[""], handed),
    ]
    return print_bench(bench, manner, width, more, title(handed))


def title(handed: Handover) -> str:
    """What page this is."""
    return f"Handover of what was since {_when(handed.since, handed)}"


def _before_lines(handed: Handover, cell: Cell, manner: Manner) -> list[Parts]:
    before = handed.before[cell.folder]
    lines = []
    if spans := spans_told(before):
        first = f"before, since {_when(handed.since, handed)}: {spans[0]}"
        lines.append((first, *spans[1:]))
    if since := since_told(before, cell, handed, manner):
        lines.append((f"since then: {since[0]}", *since[1:]))
    return [*lines, *over_told(before, handed, manner), *entries_told(before, handed)]


def spans_told(before: Before) -> Parts:
    """Phases and steps that ended, each with how long it lasted."""
    spans = before.spans
    left = (f"… {len(spans) - _MOST} more",) if len(spans) > _MOST else ()
    return (*left, *map(_span_words, spans[-_MOST:]))


def _span_words(span: PhaseSpan) -> str:
    step = f"/{sanitise(span.step)}" if span.step and span.step != span.name else ""
    assert span.end is not None
    return f"{span.name}{step} {age(span.end - span.start)}"


def since_told(before: Before, cell: Cell, handed: Handover, manner: Manner) -> Parts:
    """B checks, readings that were missed, rows that could not be used; none for no test."""
    if cell.phase is None:
        return ()
    checks = sum(span.step == "b-check" for span in before.spans)
    told = [f"{checks} B check{'' if checks == 1 else 's'}"] if checks else []
    missed = before.missed
    told += ["no reading missed"] if cell.schedule is not None and not missed else []
    if len(missed) > _MOST:
        told.append(f"readings missed {len(missed)} times, the last {_MOST} of them:")
    told += [
        f"{_when(one.raised_at, handed)} {message(one.message, manner)}" for one in missed[-_MOST:]
    ]
    more = " or more" if before.unused >= DATED else ""
    told.append(f"{before.unused or 'no'}{more} row{'s' if before.unused > 1 else ''} unused")
    return tuple(told)


def over_told(before: Before, handed: Handover, manner: Manner) -> tuple[Parts, ...]:
    """Alarms that are over and known, a line each."""
    over = before.over
    left = (
        ((f"{len(over) - _MOST} more alarms before those are over",),) if len(over) > _MOST else ()
    )
    return (*left, *(_over_words(spell, handed, manner) for spell in over[-_MOST:]))


def _over_words(spell: Spell, handed: Handover, manner: Manner) -> Parts:
    assert spell.cleared_at is not None
    return (
        f"over: {alarm_sign(spell)} {spell.priority}",
        kind_words(spell),
        f"{_when(spell.since, handed)}, for {age(spell.cleared_at - spell.since)}",
        message(spell.message, manner),
    )


def entries_told(before: Before, handed: Handover) -> tuple[Parts, ...]:
    """What people entered, a line each."""
    return tuple(_entry_words(entry, handed.bench.zone, handed) for entry in before.entries)


def _entry_words(entry: Entry, zone: tzinfo, handed: Handover) -> Parts:
    act = entry.act
    text = (f"“{sanitise(act.text)}”",) if act.text else ()
    return (
        f"{_when(act.held_at, handed)}: {said(act, zone)}",
        *text,
        f"{sanitise(act.who)} at {sanitise(act.host)}, entry {entry.number}",
    )


def _when(at: float, handed: Handover) -> str:
    return moment(at, handed.bench.zone, handed.bench.at)
