"""A whole rehearsed bench in memory: what each file would hold, and the truth about it."""

import json
import math
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np

from reduce.rehearsal.readings import scheduled_times, steady_times
from reduce.rehearsal.sensors import sense
from tui.rehearsed.fault_kinds import FaultOrder
from tui.rehearsed.log_text import log_files
from tui.rehearsed.scenario import BENCH_NAME, SUPPLY_SIZE, ferry_quay
from tui.rehearsed.sets import Kind, one_soil
from tui.rehearsed.settings_text import bench_toml, cell_toml
from tui.rehearsed.striking import Begun, begin_tests
from tui.rehearsed.truth import phase_of, truth_of

ZONE = "Europe/Oslo"

DEFAULT_START = datetime(2031, 2, 3, 8, 0)  # noqa: DTZ001 - the zone is that of the bench
"""A Monday morning."""

QUAY_S = 52 * 3600.0
"""From Monday morning to Wednesday noon: the holds of the ferry quay fall into nights."""

DAY_S = 86400.0

DIGITS = 6
"""Of the truth: more than any reading has."""

EXACT_DIGITS = 12
"""Of the truth about perfect sensors."""

MOST_FINER = 6
"""Decimals that a log has beyond its usual ones."""


@dataclass(frozen=True, slots=True)
class Order:
    """What is to be rehearsed."""

    cells: int = 6
    seed: int = 0
    soil: str | None = None
    """None: the ferry quay."""
    kind: Kind | None = None
    """Of every test on a bench of one soil; None: in turns."""
    noise: float = 1.0
    """Errors of every instrument over the usual; 0: none, and logs without rounding."""
    start: datetime = DEFAULT_START
    """Of the bench, naive, in its zone."""
    days: float | None = None
    """Length of the bench; None: as long as the tests need."""
    rows: str = "scheduled"
    every_s: float = 10.0
    now: str = "last row"
    faults: tuple[FaultOrder, ...] = ()

    @property
    def first(self) -> float:
        """Epoch of the bench's begin. [s]"""
        return self.start.replace(tzinfo=ZoneInfo(ZONE)).timestamp()


@dataclass(frozen=True, slots=True)
class Composed:
    """A bench ready to be written."""

    files: dict[str, bytes]
    """By path relative to the bench; logs and settings."""
    truth: dict[str, bytes]
    """By name relative to the folder of truths."""
    rows: int


def compose(order: Order) -> Composed:
    """Rehearse every cell of the order.

    Nothing but the order decides the answer: no clock, no locale, no order of a set.

    Raises:
        WrongOrderError: a fault fits no cell of the bench.
    """
    setups = (
        ferry_quay(order.cells, order.seed)
        if order.soil is None
        else one_soil(order.soil, order.cells, order.seed, order.kind)
    )
    setups = [replace(s, made=replace(s.made, errors=order.noise)) for s in setups]
    first = order.first
    cells, end = begin_tests(setups, order.faults, first, lambda need_s: _length_s(order, need_s))
    files: dict[str, bytes] = {}
    truth: dict[str, bytes] = {}
    rows = sum(_write_cell(order, begun, end, files, truth) for begun in cells)
    names = [setup.plan.cell for setup in setups]
    supplies = [names[i : i + SUPPLY_SIZE] for i in range(0, len(names), SUPPLY_SIZE)]
    name = BENCH_NAME if order.soil is None else f"Rehearsal, {order.soil}"
    files["bench.toml"] = bench_toml(name, ZONE, supplies, order.now, order.seed).encode()
    return Composed(files, truth, rows)


def _length_s(order: Order, need_s: float) -> float:
    if order.days is not None:
        return DAY_S * order.days
    least = QUAY_S if order.soil is None else DAY_S
    return least + DAY_S * max(0, math.ceil((need_s - least) / DAY_S))


def _write_cell(
    order: Order, begun: Begun, end: float, files: dict[str, bytes], truth: dict[str, bytes]
) -> int:
    zone = ZoneInfo(ZONE)
    setup, run, started = begun.setup, begun.run, begun.started
    if order.rows == "scheduled":
        extra = tuple(s.here.onset_s + after for s in begun.strikes for after in s.kind.extra_s)
        times = scheduled_times(run, setup.reading, extra)
    else:
        times = steady_times(run, order.every_s)
    times = times[times <= end - started]
    start = datetime.fromtimestamp(started, zone)
    readings = sense(run, times, setup.made, start.hour + start.minute / 60.0)
    for strike in begun.strikes:
        if strike.kind.spoil is not None:
            strike.kind.spoil(strike.here, strike.size, readings)
    phases = [phase_of(run, second) for second in readings.seconds.tolist()]
    cell = setup.plan.cell
    finer = _finer(order.noise)
    for name, content in log_files(setup.dialect, readings, phases, started, zone, finer).items():
        files[f"{cell}/{name}"] = content
    files[f"{cell}/cell.toml"] = cell_toml(setup, start, order.rows).encode()
    digits = EXACT_DIGITS if setup.exact else DIGITS
    known = _brief(truth_of(begun, readings.seconds, zone), digits)
    truth[f"{cell}.json"] = (json.dumps(known, ensure_ascii=False, indent=1) + "\n").encode()
    return len(readings.seconds)


def _finer(noise: float) -> int:
    """More decimals than usual: rounding shrinks as the noise does, six places at most."""
    if noise <= 0.0:
        return MOST_FINER
    return min(max(math.ceil(-math.log10(noise)), 0), MOST_FINER)


def _brief(value: Any, digits: int) -> Any:
    """So many digits, and the same on every machine."""
    if isinstance(value, dict):
        return {key: _brief(inner, digits) for key, inner in value.items()}
    if isinstance(value, list | tuple):
        return [_brief(inner, digits) for inner in value]
    if isinstance(value, bool) or value is None or isinstance(value, str | int):
        return value
    number = float(value)
    return float(f"{number:.{digits}g}") if np.isfinite(number) else None
