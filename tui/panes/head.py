"""The left part of a lane: what its cell does, in as many lines as there are."""

from tui.bench.picture import Cell
from tui.ink.sheet import Piece
from tui.panes.pane import View
from tui.words import (
    age,
    b_value,
    countdown,
    percent,
    phase_words,
    plain,
    pressure,
    readings,
    sanitise,
    shown,
    state,
)

Row = list[Piece]


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


def _pressures(cell: Cell, view: View, named: bool, digits: bool = True) -> str:
    """Cell, pore and back pressure; the unit once, after the last."""
    live = cell.live
    if live is None:
        return ""
    values = (live.cell_pressure_kPa, live.pore_pressure_kPa, live.back_pressure_kPa)
    numbers = [shown(value, "kPa", view.manner)[0] for value in values]
    if not digits and view.manner.units == "SI":
        numbers = [number.partition(".")[0] for number in numbers]
    unit = shown(None, "kPa", view.manner)[1]
    if named:
        names = ("cell", "pore", "back")
        text = "  ".join(f"{n} {v}" for n, v in zip(names, numbers, strict=True))
        return f"{text} {unit}"
    return f"{'/'.join(numbers)} {unit}"


def _name(cell: Cell, view: View, picked: bool) -> Piece:
    sign = view.signs.picked if picked else " "
    return Piece(f"{sign}{plain(sanitise(cell.cell), view.manner)}", "strong", 10)


def _next_hand(cell: Cell, at: float, view: View) -> str:
    times = [hand.at for hand in cell.hands if hand.at is not None]
    if not times:
        return ""
    wait = countdown(min(times) - at)
    return plain("hands now" if wait == "now" else f"hands {wait}", view.manner)


def head_rows(cell: Cell, at: float, view: View, rows: int, picked: bool) -> list[Row]:
    """What to say in so many lines, most needed first."""
    manner = view.manner
    standing = state(cell, manner)
    sign = Piece(standing.sign, standing.style, 10)
    word = Piece(f"{standing.sign} {standing.word}", standing.style, 9)
    phase_ink = cell.phase.name if cell.phase else "dim"
    phase = Piece(phase_words(cell.phase, manner), phase_ink, 8)
    short_phase = Piece(phase_words(cell.phase, manner, short=True).replace(" ", ""), phase_ink, 8)
    old = Piece(plain(age(at - cell.live.at), manner) if cell.live else "", "dim", 6)
    right_old = Piece(old.text, old.ink, 6, right=True)
    stress = Piece(
        plain(f"σ′ {pressure(cell.live.effective_stress_kPa, manner)}", manner) if cell.live else "",
        "text", 7,
    )  # fmt: skip
    own = Piece(own_quantity(cell, view), "text", 5)
    hand = Piece(_next_hand(cell, at, view), "key", 4, right=True)
    count = Piece(readings(cell.schedule, at, manner) if cell.phase else "", "dim", 3)
    short_count = Piece(
        readings(cell.schedule, at, manner, short=True) if cell.schedule else "", "dim", 3, right=True
    )
    name = _name(cell, view, picked)
    quiet = standing.word in ("runs", "well")  # an ordinary state may be told by its sign alone
    named = Piece(" " + _pressures(cell, view, True) if cell.live else "  no readings yet", "text", 7)
    bare = Piece(" " + _pressures(cell, view, False) if cell.live else "  no readings yet", "text", 7)
    terse = Piece(_pressures(cell, view, False, digits=False), "text", 7)
    if rows >= 4:
        return [[name, word, phase], [named, right_old], [_indent(stress), own, hand],
                [_indent(count)]]  # fmt: skip
    if rows == 3:
        return [[name, word, phase], [named, right_old], [_indent(stress), own, short_count]]
    if rows == 2:
        return [[name, word, phase if view.form == "wide" else short_phase, short_count],
                [bare, old, Piece(stress.text, stress.ink, 6, right=True)]]  # fmt: skip
    middle = [sign, short_phase] if quiet else [word]
    return [[name, *middle, terse, old, stress, short_count]]


def _indent(piece: Piece) -> Piece:
    return Piece(f"  {piece.text}" if piece.text else "", piece.ink, piece.weight, piece.right)
