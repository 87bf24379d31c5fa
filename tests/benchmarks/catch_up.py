"""A week at a row a second read at once, and rows that come in batches, against plain readers."""

import csv
import tempfile
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pandas as pd
from pairs import Ratio, ratio, seconds

from tui.feed.source import CellSource
from tui.settings.places import read_layout

ROWS, BATCH, BATCHES = 604_800, 1000, 60
CELL = """[cell]
name = "C1"
[test]
id = "T1"
kind = "CU"
[specimen]
diameter = "50 mm"
height = "100 mm"
drainage = "both ends"
"""
HEADER = (
    "time,cell_pressure_kPa,back_pressure_kPa,pore_pressure_kPa,back_volume_ml,"
    "axial_displacement_mm,temperature_C\n"
)


def measure() -> Iterator[Ratio]:
    """From the file to channels in internal units."""
    with tempfile.TemporaryDirectory() as folder:
        root = Path(folder)
        lines = _lines(ROWS)
        log = _bench(root, [HEADER, *lines])
        yield ratio(
            f"catch-up of {ROWS:,} rows to channels / pandas.read_csv with ISO times",
            lambda: seconds(lambda: _read(root, ROWS)),
            lambda: seconds(lambda: pd.read_csv(log, engine="c", parse_dates=["time"])),
        )
        bad = [
            line.replace(",", ",OVER,", 1) if k % 2000 == 7 else line
            for k, line in enumerate(lines)
        ]
        _bench(root, [HEADER, *(line if "OVER" not in line else _over(line) for line in bad)])
        yield ratio(
            "the same with OVER in one row of 2,000",
            lambda: seconds(lambda: _read(root, ROWS)),
            lambda: seconds(lambda: pd.read_csv(log, engine="c", parse_dates=["time"])),
        )
        yield ratio(
            f"tailing in batches of {BATCH:,} rows / csv.reader and float()",
            lambda: _tail(root, lines),
            lambda: _plain(lines),
        )


def _over(line: str) -> str:
    fields = line.replace(",OVER", "").split(",")
    return ",".join([fields[0], "OVER", *fields[2:]])


def _lines(count: int) -> list[str]:
    chance = np.random.default_rng(20310203)
    times = np.datetime64("2031-02-03T08:00:00") + np.arange(count).astype("timedelta64[s]")
    columns = [
        400.0 + chance.normal(0.0, 0.2, count),
        300.0 + chance.normal(0.0, 0.2, count),
        295.0 + chance.normal(0.0, 0.2, count),
        np.cumsum(chance.normal(0.0, 0.001, count)),
        np.cumsum(chance.normal(0.0, 0.001, count)),
        20.0 + chance.normal(0.0, 0.05, count),
    ]
    rows = zip(times.astype(str), *(column.tolist() for column in columns), strict=True)
    return [
        f"{time},{cell:.3f},{back:.3f},{pore:.3f},{volume:.3f},{travel:.4f},{warmth:.2f}\n"
        for time, cell, back, pore, volume, travel, warmth in rows
    ]


def _bench(root: Path, lines: list[str]) -> Path:
    cell = root / "C1"
    cell.mkdir(exist_ok=True)
    (cell / "cell.toml").write_text(CELL)
    (cell / "log.csv").write_text("".join(lines))
    return cell / "log.csv"


def _source(root: Path) -> CellSource:
    layout = read_layout(root)
    return CellSource(layout.places[0], root, layout.zone)


def _take(source: CellSource, *, thorough: bool = False) -> int:
    count = 0
    while (arrived := source.read(thorough=thorough)) is not None:
        count += 0 if arrived.rows is None else len(arrived.rows)
        thorough = False
    return count


def _read(root: Path, rows: int) -> None:
    assert _take(_source(root), thorough=True) == rows


def _tail(root: Path, lines: list[str]) -> float:
    """Seconds for all batches, the writing left out."""
    log = _bench(root, [HEADER, *lines[:BATCH]])
    source = _source(root)
    _take(source, thorough=True)
    spent = 0.0
    for batch in range(1, BATCHES + 1):
        with log.open("a") as grows:
            grows.writelines(lines[batch * BATCH : (batch + 1) * BATCH])
        spent += seconds(lambda: _take(source))
    return spent


def _plain(lines: list[str]) -> float:
    def read() -> None:
        for batch in range(1, BATCHES + 1):
            rows = csv.reader(lines[batch * BATCH : (batch + 1) * BATCH])
            [[float(field) for field in row[1:]] for row in rows]

    return seconds(read)
