"""A backlog is read in blocks by a compiled reader, and tells what the careful reader tells."""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from fuzzed_logs import PORTIONS, SETTINGS, logs, parts_of, read_in, same
from hypothesis import given, seed, settings
from hypothesis import strategies as st
from one_cell_bench import Told

from tui.feed import blocks as blocks_of
from tui.feed import log_file
from tui.feed.batches import Batch
from tui.feed.parse import LogParser

PLAIN = "cell_pressure_kPa,pore_pressure_kPa"
GERMAN = (
    '[log]\n[log.channels]\ncell_pressure = { column = "Pc", unit = "bar", gain = 1.01 }\n'
    'pore_pressure = { column = "u", unit = "kPa", zero = "0.3 kPa" }\n'
)
ELAPSED = '[log]\ntime = { kind = "elapsed min", start = "2031-02-03T08:00" }\n'
BEGIN = datetime(2031, 10, 26, 0, 30)  # noqa: DTZ001 - the clock on the wall


def stamped(form: str, gap_s: float = 7.5) -> list[str]:
    """Moments through the night in which Oslo's clocks go back, as a logger writes them."""
    moments = [BEGIN + timedelta(seconds=gap_s * row) for row in range(1200)]
    return [moment.strftime(form) for moment in moments]


def table(
    header: str, stamps: list[str], mark: str = ",", decimal: str = ".", end: str = "\n"
) -> str:
    """A log with two columns of numbers."""
    rows = [
        mark.join([stamp, f"{300 + row % 7 / 10}", f"{250 - row / 100:.3f}"])
        for row, stamp in enumerate(stamps)
    ]
    return end.join([header.replace(",", mark), *(row.replace(".", decimal) for row in rows), ""])


CLEAN = {
    "ISO": ("", table(f"Time,{PLAIN}", stamped("%Y-%m-%dT%H:%M:%S"))),
    "ISO with a blank, parts of a second": (
        "",
        table(f"Time,{PLAIN}", stamped("%Y-%m-%d %H:%M:%S.%f")),
    ),
    "ISO, minutes": ("", table(f"Time,{PLAIN}", stamped("%Y-%m-%d %H:%M", 60.0))),
    "ISO, UTC": ("", table(f"Time,{PLAIN}", stamped("%Y-%m-%dT%H:%M:%SZ"))),
    "ISO, offset": ("", table(f"Time,{PLAIN}", stamped("%Y-%m-%dT%H:%M:%S+01:00"))),
    "day first, semicolons, decimal comma, other line ends": (
        GERMAN,
        "Zeit;Pc;u\r\n"
        + "".join(
            f"{stamp};3,0{row % 10};250,{row % 1000:03d}\r\n"
            for row, stamp in enumerate(stamped("%d.%m.%Y %H:%M:%S"))
        ),
    ),
    "day or month first, told late": ("", table(f"Time,{PLAIN}", stamped("%m/%d/%Y %H:%M:%S"))),
    "pinned, month first": (
        '[log]\ntime = { format = "%m/%d/%Y %H:%M:%S" }\n',
        table(f"Time,{PLAIN}", stamped("%m/%d/%Y %H:%M:%S")),
    ),
    "year first with strokes": ("", table(f"Time,{PLAIN}", stamped("%Y/%m/%d %H:%M:%S.%f"))),
    "date and time of day, tabs": (
        "",
        table(f"Date,Time,{PLAIN}", stamped("%d-%m-%Y\t%H:%M:%S"), mark="\t"),
    ),
    "elapsed minutes": (ELAPSED, table(f"Time,{PLAIN}", [f"{row / 8}" for row in range(1200)])),
    "seconds since 1970": (
        "",
        table(f"Time,{PLAIN}", [f"{1.94e9 + row:.1f}" for row in range(1200)]),
    ),
    "whole numbers": (
        "",
        f"Time,{PLAIN}\n"
        + "".join(
            f"{s},{row % 9},{400 + row}\n" for row, s in enumerate(stamped("%Y-%m-%dT%H:%M:%S"))
        ),
    ),
    "words and an empty last field": (
        '[log]\nphases = { "SAT" = "saturation" }\n',
        "Time,cell_pressure_kPa,phase,drainage\n"
        + "".join(
            f"{stamp},{300 + row % 7 / 10},{'SAT' if row < 600 else 'consolidation'},open,\n"
            for row, stamp in enumerate(stamped("%Y-%m-%dT%H:%M:%S"))
        ),
    ),
}


@contextmanager
def blocks(worth: float, piece: int = 4000) -> Iterator[list[int]]:
    """Blocks from a size on are tried by the compiled reader; yields the rows of each that was."""
    rows: list[int] = []
    careful = LogParser.parse_clean

    def counted(self: LogParser, block: bytes, first: int) -> Batch | None:
        batch = careful(self, block, first)
        rows.extend([] if batch is None else [len(batch.rows)])
        return batch

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(blocks_of, "WORTH_BYTES", worth)
        patch.setattr(blocks_of, "PIECE_BYTES", piece)
        patch.setattr(blocks_of, "RUN_BYTES", worth)
        patch.setattr(log_file, "_FIRST_BYTES", min(piece, 2000))
        patch.setattr(LogParser, "parse_clean", counted)
        yield rows


def both(folder: Path, layout: str, content: bytes, cuts: list[float], piece: int = 4000) -> int:
    """How many rows came in blocks; the same was told as without."""
    parts = parts_of(content, cuts) or [content]
    with blocks(float("inf")):
        careful = read_in(folder / "careful", layout, parts)
    with blocks(1, piece) as rows:
        quick = read_in(folder / "quick", layout, parts)
    same(quick, careful)
    assert told(quick) == told(careful)
    return sum(rows)


def told(found: Told) -> set[str]:
    """What was said of the files themselves."""
    return {problem.what for problem in found.problems if "read again" not in problem.what}


@pytest.mark.parametrize("name", CLEAN)
def test_clean_rows_come_in_blocks(name: str, tmp_path: Path) -> None:
    layout, content = CLEAN[name]
    assert both(tmp_path, layout, content.encode(), [0.3, 0.31, 0.7]) > 700


DAMAGE = (
    b"OVER", b"nan", b"inf", b"", b",", b";", b"\n", b"\r", b"\r\n", b" ", b"\0", b'"', b"+",
    b"1_0", b"\xb0", b"x" * 9000, b"24:00:00", b"2031-02-30T08:00:00", b"0x1p3", b"1e999", b"-",
    b"Time", b"99999999999999999999", b".", b"1.5", b"1,5", b"\xef\xbb\xbf",
)  # fmt: skip


@seed(20310203)
@settings(max_examples=60, deadline=None, database=None)
@given(data=st.data(), name=st.sampled_from(sorted(CLEAN)), cuts=PORTIONS)
def test_whatever_is_in_a_block_it_tells_the_same(
    data: st.DataObject, name: str, cuts: list[float], tmp_path_factory: pytest.TempPathFactory
) -> None:
    layout, text = CLEAN[name]
    content = bytearray(text.encode()[:30_000])
    for _ in range(data.draw(st.integers(0, 3))):
        at = data.draw(st.integers(0, len(content)))
        content[at : at + data.draw(st.integers(0, 20))] = data.draw(st.sampled_from(DAMAGE))
    both(tmp_path_factory.mktemp("blocks"), layout, bytes(content), cuts)


@seed(20310204)
@settings(max_examples=60, deadline=None, database=None)
@given(content=logs(), layout=st.sampled_from(SETTINGS), cuts=PORTIONS)
def test_no_bytes_tell_anything_else_in_blocks(
    content: bytes, layout: str, cuts: list[float], tmp_path_factory: pytest.TempPathFactory
) -> None:
    both(tmp_path_factory.mktemp("blocks"), layout, content, cuts, piece=40)


def test_an_odd_row_costs_only_itself(tmp_path: Path) -> None:
    layout, text = CLEAN["ISO"]
    lines = text.splitlines(keepends=True)
    for row in (300, 301, 600, 900):
        lines[row] = lines[row].replace("300", "OVER")
    lines[700] = lines[0]
    assert both(tmp_path, layout, "".join(lines).encode(), []) > 1130
