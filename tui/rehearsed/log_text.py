"""Readings as the bytes that a logger leaves on disk."""

from datetime import datetime, tzinfo

import numpy as np
from numpy.typing import NDArray

from reduce.rehearsal.sensors import Readings
from reduce.units import convert
from tui.rehearsed.dialects import Dialect, LogColumn
from tui.settings.cell_toml import NUMERIC_CHANNELS


def raw_of(column: LogColumn, values: NDArray[np.float64]) -> NDArray[np.float64]:
    """What a gauge without ends reads for internal values. (n,)"""
    internal = NUMERIC_CHANNELS[column.channel]
    ends = convert(0.0, internal, column.unit), convert(1.0, internal, column.unit)
    return column.sign * (values * (ends[1] - ends[0]) + ends[0]) + column.zero


def _stopped(column: LogColumn, raw: NDArray[np.float64]) -> NDArray[np.float64]:
    """What it reads between its ends. (n,)"""
    if column.range is not None:
        # A transducer beyond its range stays at its stop, a little further on.
        beyond = 0.02 * (column.range[1] - column.range[0])
        raw = np.clip(raw, column.range[0] - beyond, column.range[1] + beyond)
    if column.stroke is not None:
        raw = np.clip(raw, *column.stroke)
    return raw


def _fields(column: LogColumn, readings: Readings, decimal: str, finer: int) -> list[str]:
    digits = column.decimals + finer
    values = readings.values[column.channel]
    # Adding 0.0 turns a rounded -0.0 into 0.0.
    rounded = np.round(_stopped(column, raw_of(column, values)), digits) + 0.0
    texts = [f"{value:.{digits}f}" for value in rounded.tolist()]
    if decimal != ".":
        texts = [text.replace(".", decimal) for text in texts]
    for (row, channel), text in readings.texts.items():
        if channel == column.channel:
            texts[row] = text
    return texts


def log_files(
    dialect: Dialect,
    readings: Readings,
    phases: list[str],
    started: float,
    zone: tzinfo,
    finer: int = 0,
) -> dict[str, bytes]:
    """The files of one cell.

    Args:
        dialect: how its logger writes.
        readings: what it has.
        phases: "saturation/raise" and so on, one a row.
        started: epoch of the first reading. [s]
        zone: of the logger's naive clock.
        finer: so many more decimals than the logger usually writes.

    Returns:
        Name → content, in order of time.
    """
    columns = [_fields(column, readings, dialect.decimal, finer) for column in dialect.columns]
    if dialect.drainage_header:
        columns.append(["open" if is_open else "closed" for is_open in readings.open_])
    if dialect.phase_header:
        words = dict(dialect.phase_words)
        columns.append([words.get(phase, phase) for phase in phases])
    head = _head(dialect)
    lines: dict[str, list[str]] = {}
    name, day = "", None
    for row, second in enumerate(readings.seconds.tolist()):
        stamp = second + float(readings.clock_s[row])
        local = datetime.fromtimestamp(started + stamp, zone)
        if local.date() != day:
            day = local.date()
            name = local.strftime(dialect.file_name)
        if dialect.time_style == "elapsed min":
            time = f"{stamp / 60.0:.{4 + finer}f}".replace(".", dialect.decimal)
        else:
            time = local.strftime(dialect.time_style)
        fields = [time, *(column[row] for column in columns)]
        lines.setdefault(name, list(head)).append(dialect.separator.join(fields))
    return {
        name: (dialect.newline.join(body) + dialect.newline).encode(dialect.encoding)
        for name, body in lines.items()
    }


def _head(dialect: Dialect) -> list[str]:
    header = [dialect.time_header, *(column.header for column in dialect.columns)]
    units = ["", *(column.unit for column in dialect.columns)]
    for extra in (dialect.drainage_header, dialect.phase_header):
        if extra:
            header.append(extra)
            units.append("")
    head = [*dialect.banner, dialect.separator.join(header)]
    if dialect.units_line:
        head.append(dialect.separator.join(units))
    return head
