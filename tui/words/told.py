"""What is told of a cell, an alarm, a visit: parts of lines, before anything is laid out.

A page for a terminal and one for a mail are made of the same parts, so that both say the same.
"""

import shlex
from collections.abc import Sequence
from dataclasses import dataclass

from tui.bench.alarms.spells import Alarm
from tui.bench.picture import Bench, Blind, Cell, Hand, Live
from tui.bench.visits import grouped
from tui.words.alarms import (
    WHOLE_BENCH,
    alarm_sign,
    duty_words,
    kind_words,
    kinds_words,
    shared_by,
    since_words,
    state_words,
)
from tui.words.cells import (
    State,
    ahead_words,
    cannot_judge_words,
    event_words,
    phase_words,
    readings,
    source_words,
    state,
)
from tui.words.hands import attended_words, visit_words
from tui.words.messages import message
from tui.words.plain import Manner, sanitise
from tui.words.quantities import b_value, percent, pressure
from tui.words.times import age, date_and_time, interval, moment

Parts = tuple[str, ...]
"""Of one line; it may be broken between them."""


@dataclass(frozen=True, slots=True)
class HandTold:
    """Something that needs a person."""

    when: str
    """"" where that is not known."""
    cell: str
    what: str
    attended: str
    """From when on somebody is there for it; "" where that changes nothing."""


@dataclass(frozen=True, slots=True)
class VisitTold:
    """Hands that one visit serves, or a hand for itself."""

    words: Parts
    """What the visit is; none where it serves no more than one."""
    hands: tuple[HandTold, ...]


@dataclass(frozen=True, slots=True)
class AlarmTold:
    """An alarm."""

    priority: str
    what: Parts
    """Its kind; of one that cells share those as well."""
    state: str
    since: str
    more: Parts
    """Of one that stands: what was read, what follows from it, what to do; a line each."""
    command: str
    """By which somebody says that it is known; "" where somebody has, or nobody need."""


def bench_told(bench: Bench) -> tuple[Parts, Parts]:
    """Its name, how many cells, as of when; and who keeps the watch."""
    count = f"{len(bench.cells)} cell{'' if len(bench.cells) == 1 else 's'}"
    when = date_and_time(bench.at, bench.zone)
    duty = duty_words(bench.guard)
    return (
        (
            sanitise(bench.name),
            count if bench.cells else "no cell",
            when if bench.follows_clock else f"as of {when}",
        ),
        (duty if bench.guard.on_duty else f"{duty}: nobody is told of alarms",),
    )


def visits_told(bench: Bench) -> tuple[VisitTold, ...]:
    """What needs hands, the soonest first."""
    told = []
    for visit, hands in grouped(bench.hands, bench.visits):
        together = visit is not None and len(hands) > 1
        words = visit_words(visit, bench.zone, bench.at) if visit is not None and together else ()
        told.append(VisitTold(words, tuple(_hand(one, bench, together=together) for one in hands)))
    return tuple(told)


def _hand(hand: Hand, bench: Bench, *, together: bool) -> HandTold:
    return HandTold(
        "" if hand.at is None else moment(hand.at, bench.zone, bench.at),
        sanitise(hand.cell),
        sanitise(hand.what),
        ""
        if hand.attended_at is None or together
        else attended_words(hand.attended_at, bench.zone, bench.at),
    )


def alarm_told(alarm: Alarm, folder: str, bench: Bench, manner: Manner) -> AlarmTold:
    """One alarm; in full where it stands.

    Args:
        folder: of its cell; "" for the bench as a whole.
    """
    zone, now = bench.zone, bench.at
    shared = (", ".join(map(sanitise, alarm.cells)),) if alarm.cells else ()
    more: Parts = ()
    command = ""
    if alarm.counts:
        follows = (f"with it: {kinds_words(alarm.consequences)}",) if alarm.consequences else ()
        more = (message(alarm.message, manner), *follows, f"→ {sanitise(alarm.action)}")
        if alarm.state == "unacknowledged":
            about = () if alarm.about is None else ("--about", sanitise(alarm.about))
            words = (sanitise(folder) or WHOLE_BENCH, sanitise(alarm.kind), *about)
            command = f"porewatch acknowledge {shlex.join(words)}"
    return AlarmTold(
        f"{alarm_sign(alarm)} {alarm.priority}",
        (kind_words(alarm), *shared),
        state_words(alarm, zone, now),
        since_words(alarm, zone, now) if alarm.counts else "",
        more,
        command,
    )


def cell_head(cell: Cell, bench: Bench, manner: Manner) -> tuple[State, Parts]:
    """How it stands, and which test and specimen it holds."""
    found = state(cell, manner, shared_by(cell, bench.alarms))
    facts = (cell.test, cell.specimen, cell.test_id)
    return found, tuple(sanitise(fact) for fact in facts if fact)


def cell_told(cell: Cell, bench: Bench, manner: Manner) -> tuple[Parts, ...]:
    """What it does, how it stands by its readings and what comes, a line each; alarms apart."""
    zone, now = bench.zone, bench.at
    lines: list[Parts] = []
    phase = cell.phase
    if phase is not None:
        since = phase.step_since if phase.step else phase.since
        lines.append(
            (
                phase_words(phase, manner),
                f"since {moment(since, zone, now)}",
                source_words(phase),
            )
        )
        if phase.contradiction:
            lines.append((f"but {sanitise(phase.contradiction)}",))
    if cell.live is not None:
        lines.append(_live_words(cell.live, now, manner))
    if quantities := _quantity_words(cell, manner):
        lines.append(quantities)
    if cell.schedule is not None:
        lines.append((f"readings {readings(cell.schedule, now, manner)}",))
        lines += [(message(words, manner),) for words in cell.advice[:1] if cell.slots_end_early]
    lines.append(_next_words(cell, bench, manner))
    if then := ahead_words(cell.ahead, zone, now, manner):
        lines.append((f"then: {then[0]}", *then[1:]))
    if cell.rows_unused:
        lines.append((f"{cell.rows_unused} of {cell.rows_used + cell.rows_unused} rows unused",))
    return tuple(lines)


def _next_words(cell: Cell, bench: Bench, manner: Manner) -> Parts:
    zone, now, projection = bench.zone, bench.at, cell.projection
    event = [f"next: {event_words(projection, zone, now, manner)}"]
    if projection.at is not None:
        likely = (
            f" ({percent(projection.confidence, manner)})"
            if projection.confidence is not None
            else ""
        )
        if projection.earliest is not None or projection.latest is not None:
            event.append(f"{interval(projection.earliest, projection.latest, zone, now)}{likely}")
        if projection.progress is not None:
            event.append(f"{percent(projection.progress, manner)} done")
    return tuple(event)


def blind_in_all(cells: Sequence[Cell]) -> tuple[Blind, ...]:
    """What no cell can be judged for: said once, or it would bury what differs."""
    told = [cell for cell in cells if cell.blind]
    if len(told) < 2:
        return ()
    return tuple(one for one in told[0].blind if all(one in cell.blind for cell in told))


def blind_told(cell: Cell, shared: Sequence[Blind]) -> tuple[Parts, ...]:
    """Which alarms of a cell cannot be judged, but those that no cell can be judged for."""
    own = [one for one in cell.blind if one not in shared]
    return tuple((f"cannot judge {words}",) for words in cannot_judge_words(own))


def _live_words(live: Live, now: float, manner: Manner) -> Parts:
    named = (
        ("cell", live.cell_pressure_kPa),
        ("back", live.back_pressure_kPa),
        ("pore", live.pore_pressure_kPa),
        ("σ′3", live.effective_stress_kPa),
    )
    words = [f"{name} {pressure(value, manner)}" for name, value in named if value is not None]
    how_old = age(now - live.at)
    words.append(how_old if how_old.endswith("ahead") else f"{how_old} ago")
    return tuple(words)


def _quantity_words(cell: Cell, manner: Manner) -> Parts:
    found = cell.quantities
    words = []
    if found.B is not None:
        words.append(f"B {b_value(found.B, manner)}")
    if found.U is not None:
        words.append(f"U {percent(found.U, manner)}")
    if found.axial_strain is not None:
        words.append(f"ε₁ {percent(found.axial_strain, manner, digits=2)}")
    if found.volumetric_strain is not None:
        words.append(f"εᵥ {percent(found.volumetric_strain, manner, digits=2)}")
    if found.deviator_kPa is not None:
        words.append(f"deviator {pressure(found.deviator_kPa, manner)}")
    return tuple(words)
