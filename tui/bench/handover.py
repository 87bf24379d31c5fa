"""What one shift hands to the next: what was since a moment, and what people said of it.

What it does now, its open alarms and what comes next stand in the picture.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from tui.bench.alarms.spells import Alarm, Spell
from tui.bench.picture import Bench, PhaseSpan
from tui.journal.acts import WATCH_KINDS
from tui.journal.entries import UNDO, Entry

SHIFT_S = 12.0 * 3600.0
"""So far back a handover looks unless somebody says otherwise: common practice, no source. [s]"""


@dataclass(frozen=True, slots=True)
class Before:
    """Of one cell, or of the bench itself."""

    spans: tuple[PhaseSpan, ...] = ()
    """Phases and steps that ended since then, in order."""
    entries: tuple[Entry, ...] = ()
    """What people entered since then and nobody took back, in the order in which it holds."""
    missed: tuple[Spell, ...] = ()
    """Readings that were missed since then: one spell may be several in turn."""
    unused: int = 0
    """Rows and fields since then that could not be used."""
    over: tuple[Spell, ...] = ()
    """Other urgent alarms and warnings that lasted into that time, and are over and known."""


MISSED = "reading-missed"
"""The kind of alarm that tells of it."""


@dataclass(frozen=True, slots=True)
class Handover:
    """The picture, with what led to it."""

    bench: Bench
    since: float
    """From when on it tells what was. [s]"""
    before: Mapping[str, Before]
    """By folder; "" is the bench itself."""


def handed_over(bench: Bench, entries: Iterable[Entry], since: float) -> Handover:
    """What there is to say at the moment of a picture.

    Args:
        bench: the picture.
        entries: of the journal, in any order.
        since: from when on. [s]
    """
    people = sorted(
        (
            one
            for one in entries
            if one.act.kind not in (*WATCH_KINDS, UNDO)
            and one.undone_by is None
            and since <= max(one.act.held_at, one.act.entered_at)
            and one.act.held_at <= bench.at
        ),
        key=lambda one: (one.act.held_at, one.number),
    )
    folders = [cell.folder for cell in bench.cells]
    before = {
        cell.folder: Before(
            tuple(span for span in cell.spans if span.end is not None and span.end > since),
            tuple(one for one in people if one.act.cell == cell.folder),
            tuple(
                spell for spell in cell.spells if spell.kind == MISSED and spell.raised_at >= since
            ),
            cell.unused.since(since),
            _over(cell.spells, cell.alarms, since),
        )
        for cell in bench.cells
    }
    of_bench = tuple(one for one in people if one.act.cell not in folders)
    before[""] = Before((), of_bench, over=_over(bench.spells, bench.alarms, since))
    return Handover(bench, since, before)


def _over(spells: Iterable[Spell], alarms: Iterable[Alarm], since: float) -> tuple[Spell, ...]:
    """What is over but for what still stands among the alarms, as nobody has said it is known."""
    listed = {(alarm.kind, alarm.about, alarm.since) for alarm in alarms}
    return tuple(
        spell
        for spell in spells
        if spell.cleared_at is not None
        and spell.cleared_at >= since
        and spell.held_back is None
        and spell.kind != MISSED
        and spell.priority != "note"
        and (spell.kind, spell.about, spell.since) not in listed
    )
