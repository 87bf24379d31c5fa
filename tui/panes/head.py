"""The left part of a lane: what its cell does, in as many lines as there are."""

from collections.abc import Sequence
from dataclasses import replace

from tui.bench.alarms.spells import Alarm
from tui.bench.picture import Cell
from tui.ink.sheet import Piece, clip
from tui.panes.pane import View
from tui.words import (
    Manner,
    age,
    b_value,
    coarse_age,
    countdown,
    kind_words,
    message,
    no_readings,
    percent,
    phase_words,
    plain,
    pressure,
    pressure_short,
    readings,
    readings_short,
    sanitise,
    shown,
    state,
)

Row = list[Piece]

HEAD_COLUMNS = {"wide": 48, "medium": 40, "narrow": 0, "tiny": 0}
"""Width of a lane's head by form; 0: the head lies above its track."""
_ONE_LINE_COLUMNS = 68
"""Width of a head that has one line only, where the screen is wide."""


def head_columns(view: View) -> int:
    """Width of the heads; 0 where they lie above their tracks."""
    if view.form == "wide" and view.lane_rows == 1:
        return _ONE_LINE_COLUMNS
    return HEAD_COLUMNS[view.form]


def own_quantity(cell: Cell, view: View) -> str:
    """The quantity that the present phase is about, with its name."""
    known, manner = cell.quantities, view.manner
    phase = cell.phase.name if cell.phase else ""
    if phase == "saturation" and known.B is not None:
        return f"B {b_value(known.B, manner)}"
    if phase == "consolidation" and known.U is not None:
        return f"U {percent(known.U, manner)}"
    if phase == "shear" and known.axial_strain is not None:
        return plain(f"ε₁ {percent(known.axial_strain, manner, 2)}", manner)
    return ""


def _pressures(cell: Cell, view: View) -> str:
    """Cell, back and pore pressure by name; the unit once, after the last."""
    live = cell.live
    if live is None:
        return no_readings(cell)
    values = (live.cell_pressure_kPa, live.back_pressure_kPa, live.pore_pressure_kPa)
    named = zip(("cell", "back", "pore"), values, strict=True)
    text = "  ".join(f"{name} {shown(value, 'kPa', view.manner)[0]}" for name, value in named)
    return f"{text} {shown(None, 'kPa', view.manner)[1]}"


def _pressures_slim(cell: Cell, view: View) -> str:
    """The three pressures in the order of the heading, with their digits."""
    live = cell.live
    if live is None:
        return no_readings(cell)
    values = (live.cell_pressure_kPa, live.back_pressure_kPa, live.pore_pressure_kPa)
    numbers = "/".join(shown(value, "kPa", view.manner)[0] for value in values)
    return f"{numbers} {shown(None, 'kPa', view.manner)[1]}"


def _pressures_short(cell: Cell, view: View) -> tuple[str, str]:
    """Cell/back/pore pressure in whole units: with σ′, and without."""
    live = cell.live
    if live is None:
        return no_readings(cell), no_readings(cell)
    values = (live.cell_pressure_kPa, live.back_pressure_kPa, live.pore_pressure_kPa)
    numbers = "/".join(pressure_short(value, view.manner) for value in values)
    stress = plain(f"σ′ {pressure_short(live.effective_stress_kPa, view.manner)}", view.manner)
    unit = shown(None, "kPa", view.manner)[1]
    return f"{numbers} {stress} {unit}", f"{numbers} {unit}"


def reason(cell: Cell, manner: Manner, shared: Sequence[Alarm] = ()) -> str:
    """Why a cell stands as it does, in few words: its most pressing alarm, what is broken or
    doubtful; "" where it is nothing of that.
    """
    standing = [alarm for alarm in (*shared, *cell.alarms) if alarm.counts]
    urgent = [alarm for alarm in standing if alarm.priority == "urgent"]
    broken = any(problem.severity == "error" for problem in cell.problems)
    if standing and (urgent or not broken):
        alarm = (urgent or standing)[0]
        return plain(f"{kind_words(alarm)}: {message(alarm.message, manner, 120)}", manner)
    for severity in ("error", "warning"):
        for problem in cell.problems:
            if problem.severity == severity:
                return plain(sanitise(problem.what, 120), manner)
    differs = cell.phase.contradiction if cell.phase else None
    return plain(sanitise(differs, 120), manner) if differs else ""


def _next_hand(cell: Cell, at: float, view: View) -> str:
    times = [hand.at for hand in cell.hands if hand.at is not None]
    if not times:
        return ""
    wait = countdown(min(times) - at)
    late = wait == "now" or wait.endswith("late")
    return plain(f"hands {wait}" if late else f"hands in {wait}", view.manner)


def _tight_age(cell: Cell, at: float, old: str, ink: str) -> Piece:
    if old.endswith("ahead"):  # by how much is told where there is more room, as a problem
        return Piece(old, ink, 7, least="ahead", core=9)
    return Piece(old, ink, 9, short=coarse_age(at - cell.live.at) if cell.live else "")


_LIVE = ("alarm", "alert", "bad", "warn", "good", "plain")
"""Inks of what goes on where the rest of a head has been frozen: states, alarms, ages."""


def _frozen(cell: Cell) -> Cell:
    """A cell without what would be wrong by now: until when something was to be done."""
    schedule = cell.schedule and replace(cell.schedule, next_at=None)
    return replace(cell, hands=(), schedule=schedule)


def as_frozen(row: Row) -> Row:
    """What is not live does not look so: it is dim, and its age stands out."""
    return [
        piece if piece.ink in _LIVE or piece.weight == 10 else replace(piece, ink="dim")
        for piece in row
    ]


def said_of_moment(cell: Cell, at: float) -> object:
    """What a head says of the moment: while it stands, so does the head of a cell that stands."""
    live, hands = cell.live, [hand.at for hand in cell.hands if hand.at is not None]
    due = None if cell.schedule is None else cell.schedule.next_at
    return (
        live and age(at - live.at),
        hands and countdown(min(hands) - at),
        due is not None and countdown(due - at),
    )


def head_rows(
    cell: Cell,
    at: float,
    view: View,
    rows: int,
    room: int = 0,
    shared: Sequence[Alarm] = (),
) -> list[Row]:
    """What to say in so many lines, most needed first.

    Args:
        cell: whose head it is.
        at: moment that ages are told of. [s]
        view: how it is wanted.
        rows: lines that there are.
        room: cells that names are padded to, so that what follows stands in columns.
        shared: alarms of the bench that the cell has a part in.
    """
    manner, frozen = view.manner, view.frozen is not None
    cell = _frozen(cell) if frozen else cell
    standing = state(cell, manner, shared)
    called = clip(plain(sanitise(cell.cell), manner), 24, view.signs.more)
    name = Piece(f" {called}".ljust(room + 1), "strong", 10)
    word = f"{standing.sign} {standing.word}"
    ink = cell.phase.name if cell.phase else "dim"
    old = plain(age(at - cell.live.at), manner) if cell.live else ""
    aged = "warn" if frozen else "dim"
    wide_word = Piece(word.ljust(10) if room else word, standing.style, 9)
    phase = Piece(phase_words(cell.phase, manner), ink, 8)
    if rows >= 3:
        stress = pressure(cell.live.effective_stress_kPa, manner) if cell.live else ""
        third = [
            Piece(plain(f"  σ′ {stress} ", manner) if stress else " ", "text", 7),
            Piece(own_quantity(cell, view), "text", 5),
        ]
        first = [name, wide_word, phase]
        second = [
            Piece(
                "  " + _pressures(cell, view), "text", 7, short="  " + _pressures_slim(cell, view)
            ),
            Piece(old, aged, 6, right=True),
        ]
        hand = Piece(_next_hand(cell, at, view), "key", 4, right=True)
        count = readings(cell.schedule, at, manner) if cell.phase else ""
        if frozen and cell.schedule is not None:
            count = readings_short(cell.schedule, at, manner, least=False)
        doubt = reason(cell, manner, shared) if cell.phase else ""
        if doubt and rows > 3:  # why it is doubtful matters more than the whole of the count
            count = readings_short(cell.schedule, at, manner, least=True)
            count = f"  {count}" if count else " "
            doubt = clip(doubt, head_columns(view) - len(count) - 1, view.signs.more)
            # no line of it stands out as the state does: that is told once
            calm = {"alarm": "bad", "alert": "warn"}.get(standing.style, standing.style)
            last = [Piece(count, "dim", 3), Piece(doubt, calm, 2)]
            return [first, second, [*third, hand], last]
        if rows == 3:
            short = readings_short(cell.schedule, at, manner, least=False)
            return [first, second, [*third, Piece(short, "dim", 3, right=True)]]
        return [first, second, [*third, hand], [Piece(f"  {count}", "dim", 3)]]
    words = phase_words(cell.phase, manner, short=True)
    name_alone = words.split(" ")[0]
    short_phase = Piece(words.replace(" ", ""), ink, 8, short=name_alone)
    # values without their age would be taken for those of now: they go before it does
    pressures, bare = _pressures_short(cell, view)
    if rows == 2:
        count = readings_short(cell.schedule, at, manner, least=False)
        least = readings_short(cell.schedule, at, manner, least=True)
        taken = readings_short(_frozen(cell).schedule, at, manner, least=True)
        return [
            [name, wide_word, phase if view.form == "wide" else short_phase],
            [Piece(f"  {pressures}", "text", 6, least=f"  {bare}"), Piece(old, aged, 7),
             Piece(count, "dim", 5, right=True, short=least, least=taken)],
        ]  # fmt: skip
    # an ordinary state may be told by its sign alone where a phase in words stands beside it
    quiet = standing.word in ("runs", "well")
    count = readings_short(cell.schedule, at, manner, least=True)
    if view.form == "wide":  # many lanes of one line: all in columns
        short_phase = replace(short_phase, text=short_phase.text.ljust(12))
        pressures = pressures.ljust(20)
        told = wide_word
    else:
        text = standing.sign if quiet else word
        told = Piece(text, standing.style, 9, short=text.replace("doubtful", "doubt"))
        short_phase = replace(short_phase, weight=7)  # the track shows what is under way as well
    return [[name, told, short_phase, Piece(pressures, "text", 6, least=bare, core=8),
             _tight_age(cell, at, old, aged), Piece(count, "dim", 5, right=True)]]  # fmt: skip
