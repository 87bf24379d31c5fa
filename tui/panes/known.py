"""What is known of a cell, in lines of text and ink: of a low pane and of the whole screen."""

from datetime import tzinfo

from rich.cells import cell_len

from tui.bench.picture import Bench, Cell, PhaseSpan
from tui.ink.sheet import Sheet, first_fitting
from tui.panes.pane import View
from tui.words import (
    Manner,
    age,
    b_value,
    force,
    length,
    moment,
    percent,
    phase_words,
    plain,
    pressure,
    source_words,
    temperature,
    volume,
)

Told = list[tuple[str, str]]
"""Lines as (text, ink)."""

COLUMN = 25
"""Cells that label and value take at least."""
MOMENT = 11
"""Cells of "today 14:20" and the like."""


def values(cell: Cell, view: View) -> list[tuple[str, str]]:
    """Every value that is known, as label and text."""
    manner, live, known = view.manner, cell.live, cell.quantities
    degree = "U"
    found: list[tuple[str, float | None, str]] = []
    if live is not None:
        if live.back_volume_ml is not None:
            degree = "U by volume"
        found += [
            ("cell pressure", live.cell_pressure_kPa, pressure(live.cell_pressure_kPa, manner)),
            ("back pressure", live.back_pressure_kPa, pressure(live.back_pressure_kPa, manner)),
            ("pore pressure", live.pore_pressure_kPa, pressure(live.pore_pressure_kPa, manner)),
            ("σ′₃", live.effective_stress_kPa, pressure(live.effective_stress_kPa, manner)),
        ]
    found += [
        ("B", known.B, b_value(known.B, manner)),
        (degree, known.U, percent(known.U, manner, 1)),
        ("deviator q", known.deviator_kPa, pressure(known.deviator_kPa, manner)),
        ("axial strain", known.axial_strain, percent(known.axial_strain, manner, 2)),
        ("vol. strain", known.volumetric_strain, percent(known.volumetric_strain, manner, 2)),
    ]
    if live is not None:
        found += [
            ("volume in", live.back_volume_ml, volume(live.back_volume_ml, manner)),
            ("gauge left", live.stroke_left_ml, volume(live.stroke_left_ml, manner)),
            ("cell volume", live.cell_volume_ml, volume(live.cell_volume_ml, manner)),
            ("travel", live.axial_displacement_mm, length(live.axial_displacement_mm, manner)),
            ("axial load", live.axial_load_N, force(live.axial_load_N, manner)),
            ("temperature", live.temperature_C, temperature(live.temperature_C, manner)),
        ]
    return [(plain(name, manner), text) for name, value, text in found if value is not None]


def tick_row(ticks: str, width: int, view: View) -> str:
    """The schedule's slots as signs; the part around the next slot if there are too many."""
    signs = view.signs
    text = "".join({"t": signs.taken, "m": signs.missed}.get(tick, signs.due) for tick in ticks)
    if len(text) <= width:
        return text
    following = next((i for i, tick in enumerate(ticks) if tick == "d"), len(ticks))
    start = max(0, min(following - 2 * width // 3, len(text) - width))
    part = text[start : start + width]
    if start > 0:
        part = signs.more + part[1:]
    return part if start + width >= len(text) else part[:-1] + signs.more


def phase_line(cell: Cell, bench: Bench, width: int, manner: Manner) -> str:
    """Phase, step, whose word that is, since when; in a narrow pane less. "" without a phase."""
    phase, at = cell.phase, bench.at
    if phase is None:
        return ""
    since = f"since {moment(phase.since, bench.zone, at)}"
    words = f"{phase_words(phase)}, {source_words(phase)}"
    old = age(at - phase.since)
    said = (f"{words}, {since} ({old})", f"{words}, {since}", f"{words}, {old}", words)
    return plain(first_fitting(width, *said), manner)


def check_lines(cell: Cell, zone: tzinfo, at: float, manner: Manner, most: int) -> Told:
    """The newest B checks, the newest first."""
    told: Told = []
    for check in reversed(cell.checks[-most:]):
        standing = "" if check.settled else ", not settled"
        if not check.finished:
            standing = ", still running"
        where = pressure(check.back_pressure_kPa, manner)
        words = f"B {b_value(check.B, manner)} at back pressure {where}{standing}"
        told.append(
            (plain(f"{moment(check.at, zone, at):<{MOMENT}} {words}", manner), "saturation")
        )
    return told


def span_line(span: PhaseSpan, zone: tzinfo, at: float, manner: Manner, *, short: bool) -> str:
    """When a phase or step began, and what it is."""
    words = f"{moment(span.start, zone, at):<{MOMENT}} {phase_words(span, manner, short)}"
    return plain(words, manner)


def in_columns(sheet: Sheet, found: list[tuple[str, str]], y: int, room: int) -> int:
    """Labels and values in as many columns as fit, within some lines; gives the next free one."""
    columns = max(1, (sheet.width + 2) // COLUMN)
    rows = min(max(0, room), -(-len(found) // columns))
    if rows <= 0:
        return y
    wide = (sheet.width + 2) // columns
    for i, (name, text) in enumerate(found[: rows * columns]):
        column, row = divmod(i, rows)
        x = column * wide
        sheet.put(x, y + row, name, "dim")
        sheet.put(x + wide - 2 - cell_len(text), y + row, text, "text")
    return y + rows
