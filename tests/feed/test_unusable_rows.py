"""Whatever is wrong with one line, every other row is used, and the line is listed."""

import json
import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from one_cell_bench import one_cell

Cells = Callable[..., Any]
HEADER = "Time;Pc;u\n"
LOG = """
[log.channels]
cell_pressure = { column = "Pc", unit = "kPa" }
pore_pressure = { column = "u", unit = "kPa" }
"""


def row(second: int, cell: float = 100.0, pore: float = 50.0) -> str:
    return f"2031-02-03 08:00:{second:02d};{cell + second:.1f};{pore + second:.1f}\n"


FIELD_FAULTS = [
    ("OVER", "OVER"),
    ("---", "---"),
    ("NaN", "NaN"),
    ("#N/A", "#N/A"),
    ("", "empty"),
    ("  ", "empty"),
    ("inf", "inf"),
    ("1e999", "too large"),
    ("12..5", 'not a number: "12..5"'),
    ("1_000", 'not a number: "1_000"'),
    ("0x1F", 'not a number: "0x1F"'),
    ("\x1b[31mred", 'not a number: "red"'),
    ("1,5", 'decimal "," among ".": "1,5"'),
    ("1\x002", "NUL bytes"),
]


@pytest.mark.parametrize(("field", "reason"), FIELD_FAULTS)
def test_a_bad_field_is_listed_and_the_rest_of_its_row_used(
    make_cell: Cells, field: str, reason: str
) -> None:
    cell = make_cell(LOG)
    bad = f"2031-02-03 08:00:02;{field};52.0\n"
    cell.write("a.csv", HEADER + row(1) + bad + row(3))
    told = cell.read()
    assert told.values["pore_pressure"] == [51.0, 52.0, 53.0]
    assert told.values["cell_pressure"][::2] == [101.0, 103.0]
    assert [(one.file, one.line, one.field, one.reason) for one in told.unused] == [
        ("C1/a.csv", 3, "Pc", reason)
    ]


LINE_FAULTS = [
    ("unreadable;1;2\n", 'unreadable time "unreadable"'),
    (";1;2\n", "no time"),
    ("31.02.2031 08:00:02;1;2\n", 'unreadable time "31.02.2031 08:00:02"'),
    ("2031-02-03;1;2\n", 'unreadable time "2031-02-03"'),
    ("2031-02-03 08:0\n", "missing fields: 1 of 3"),
    ("2031-02-03 08:00:02;1;2;3;4\n", "5 fields under 3 columns"),
    ("2031-02-03 08:00:02;" + "9" * 70_000 + ";2\n", "longer than 64 KiB"),
    ("\ufffd\x01\x02\x7f\n", "missing fields: 1 of 3"),
    (row(1), "repeated"),
]


@pytest.mark.parametrize(("line", "reason"), LINE_FAULTS)
def test_a_bad_line_is_listed_and_all_others_used(make_cell: Cells, line: str, reason: str) -> None:
    cell = make_cell(LOG)
    cell.write("a.csv", HEADER + row(1) + line + row(3))
    told = cell.read()
    assert told.values["cell_pressure"] == [101.0, 103.0]
    assert [(one.line, one.field, one.reason) for one in told.unused] == [(3, None, reason)]


@pytest.mark.parametrize(
    "line",
    ["", "\n", "  \n", "\r\n", HEADER, "Time;Pc;u;\n", "\x00" * 3000, "\ufeff", "Operator: B\n"],
)
def test_what_is_no_row_is_not_listed(make_cell: Cells, line: str) -> None:
    cell = make_cell(LOG)
    cell.write("a.csv", "Operator: A\n" + HEADER + row(1) + line + row(3))
    told = cell.read()
    assert told.values["cell_pressure"] == [101.0, 103.0]
    assert told.unused == []


def test_a_row_that_ends_early_gives_what_is_surely_whole(make_cell: Cells) -> None:
    cell = make_cell(LOG + 'axial_load = { column = "F", unit = "N" }\n')
    cell.write(
        "a.csv", "Time;Pc;u;F\n2031-02-03 08:00:01;101.0;51.0;7\n2031-02-03 08:00:02;102.0;5\n"
    )
    told = cell.read()
    assert told.values["cell_pressure"] == [101.0, 102.0]
    assert [(one.field, one.reason) for one in told.unused] == [
        ("u", "perhaps cut: the row ends early"),
        ("F", "missing: the row ends early"),
    ]


def test_a_column_keeps_the_decimal_mark_that_it_showed_first(make_cell: Cells) -> None:
    cell = make_cell(LOG)
    cell.write("a.csv", HEADER + "2031-02-03 08:00:01;1;2\n2031-02-03 08:00:02;1,5;2.5\n")
    cell.read()
    cell.append("a.csv", "2031-02-03 08:00:03;1.234;2,5\n2031-02-03 08:00:04;-,5;+.5e1\n")
    told = cell.read()
    assert told.values["cell_pressure"][1::2] == [1.5, -0.5]
    assert told.values["pore_pressure"][1::2] == [2.5, 5.0]
    assert [one.line for one in told.unused] == [4, 4]


def test_a_block_that_was_sent_twice_counts_once(make_cell: Cells) -> None:
    cell = make_cell(LOG)
    rows = [row(second) for second in range(20)]
    cell.write("a.csv", HEADER + "".join(rows))
    cell.read()
    cell.append("a.csv", "".join(rows[10:]) + row(20))
    told = cell.read()
    assert told.values["cell_pressure"] == [100.0 + second for second in range(21)]
    assert [(one.line, one.reason) for one in told.unused] == [
        (line, "repeated") for line in range(22, 32)
    ]


def test_a_copied_file_counts_once(make_cell: Cells) -> None:
    cell = make_cell(LOG)
    cell.write("a.csv", HEADER + row(1) + row(2))
    cell.write("copy of a.csv", HEADER + row(1) + row(2))
    told = cell.read()
    assert told.values["cell_pressure"] == [101.0, 102.0]
    assert len(told.unused) == 2


def test_rows_alike_at_other_moments_are_no_repeats(make_cell: Cells) -> None:
    cell = make_cell(LOG)
    cell.write(
        "a.csv",
        HEADER + "2031-02-03 08:00:01;1;2\n2031-02-03 08:00:02;1;2\n2031-02-03 08:00:01;1;3\n",
    )
    assert len(cell.read().times) == 3


def test_column_names_carry_no_escapes(make_cell: Cells) -> None:
    cell = make_cell("")
    cell.write("a.csv", "Time,cell_pressure_kPa,\x1b]0;gotcha\x07x\u202ey\n2031-02-03 08:00,1,2\n")
    cell.read()
    assert cell.source.understood["files"]["C1/a.csv"]["unused_columns"] == ["xy"]


@pytest.mark.parametrize(
    ("text", "part"),
    [
        ("", "no row under a header"),
        ("Time;Pc;u\n", "no row under a header"),
        ("Time;Pc;u\nx;1;2\n", "time column"),
        ("A;B\n2031-02-03 08:00;2\n", "cell_pressure needs the column"),
        ("word\n" * 600, "no header"),
        ("x" * 100_000, "no header"),
    ],
)
def test_a_file_that_is_not_understood_says_why(make_cell: Cells, text: str, part: str) -> None:
    cell = make_cell(LOG)
    cell.write("a.csv", text)
    problem = cell.read().said(part)
    assert problem.file == "C1/a.csv"
    assert problem.remedy


@pytest.mark.parametrize(
    ("text", "severity"),
    [("", "note"), ("x\nTime;Pc;u\n;kPa;kPa\n", "note"), ("Time;Pc;u\n1\n2\n3\n", "warning")],
)
def test_a_header_that_waits_for_rows_is_only_a_note(
    make_cell: Cells, text: str, severity: str
) -> None:
    cell = make_cell(LOG)
    cell.write("a.csv", text)
    assert cell.read().said("no row under a header").severity == severity


def test_no_log_yet(make_cell: Cells) -> None:
    told = make_cell(LOG).read()
    assert told.said("no log yet").severity == "warning"


FAULTY = st.sampled_from([line for line, _ in LINE_FAULTS[:6]] + ["\n", HEADER])
JUNK = st.binary(max_size=40).filter(lambda junk: b"\n" not in junk and b"\r" not in junk)


@settings(max_examples=60, deadline=None)
@given(faults=st.lists(st.tuples(st.integers(0, 9), st.one_of(FAULTY, JUNK)), max_size=5))
def test_no_fault_costs_a_good_row(
    tmp_path_factory: pytest.TempPathFactory, faults: list[tuple[int, str | bytes]]
) -> None:
    root: Path = tmp_path_factory.mktemp("bench")
    cell = one_cell(root, LOG)
    lines = [row(second).encode() for second in range(10)]
    for place, fault in faults:
        raw = fault.encode() if isinstance(fault, str) else fault + b"\n"
        lines.insert(place + 1, raw)
    cell.write("a.csv", HEADER.encode() + b"".join(lines))
    told = cell.read()
    good = [100.0 + second for second in range(10)]
    assert [value for value in told.values["cell_pressure"] if value >= 100] == good


PIECES = st.one_of(
    st.binary(max_size=60),
    st.sampled_from(
        [
            HEADER.encode(),
            row(1).encode(),
            row(2).encode("utf-16-le"),
            b"\xff\xfe",
            b'"',
            b"\r",
            b"\n",
            b"1e308;-1e308;nan\n",
            b"2031-02-03 08:00:05;1e308;5\n",
            b"0001-01-01 00:00;1;2\n9999-12-31 23:59;1;2\n",
            b"Time;u;Time\n",
        ]
    ),
)


@settings(max_examples=150, deadline=None)
@given(pieces=st.lists(PIECES, max_size=12), unit=st.sampled_from(["kPa", "psi"]))
def test_no_bytes_at_all_make_it_stumble(
    tmp_path_factory: pytest.TempPathFactory, pieces: list[bytes], unit: str
) -> None:
    log = f'[log]\nlive = "live.csv"\n{LOG.replace("kPa", unit)}'
    cell = one_cell(tmp_path_factory.mktemp("fuzz"), log, "Europe/Oslo")
    for piece in pieces:
        cell.append("a.csv", piece)
        cell.append("live.csv", piece)
        cell.read()
    json.dumps(cell.source.understood)
    assert all(math.isfinite(time) for time in cell.told.times)
    for column in cell.told.values.values():
        assert not any(math.isinf(value) for value in column)
    assert all(one.reason.isprintable() for one in cell.told.unused)


def test_what_is_not_used_has_the_time_of_its_row_or_of_the_one_above(make_cell: Cells) -> None:
    cell = make_cell(LOG)
    bad_field = "2031-02-03 08:00:02;OVER;52.0\n"
    cell.write("a.csv", HEADER + row(1) + bad_field + "no time;1;2\n" + row(4) + row(4))
    zero = cell.read().times[0] - 1.0
    cell.append("a.csv", "cut\n")  # alone in its look
    assert [(one.line, one.time) for one in cell.read().unused] == [
        (3, zero + 2.0), (4, zero + 2.0), (6, zero + 4.0), (7, zero + 4.0),
    ]  # fmt: skip
