"""One row per dialect: the bytes that a logger writes, and the readings that they mean.

Units are checked against their definitions: psi = 0.45359237 kg × 9.80665 m/s² / (0.0254 m)²
(international pound and inch of 1959), bar = 100 kPa, lbf = 0.45359237 × 9.80665 N.
"""

import codecs
from collections.abc import Callable
from datetime import UTC, datetime
from typing import Any

import pytest

PSI_KPA = 0.45359237 * 9.80665 / 0.0254**2 / 1000
EIGHT = datetime(2031, 2, 3, 8, tzinfo=UTC).timestamp()

CHANNELS = """
[log.channels]
cell_pressure = { column = "Pc", unit = "kPa" }
pore_pressure = { column = "u", unit = "kPa" }
"""
PLAIN = "Time,Pc,u\n2031-02-03 08:00:00,100.5,50.25\n2031-02-03 08:00:10,101.5,51.25\n"


def with_log(line: str) -> str:
    return f"[log]\n{line}\n{CHANNELS}"


DIALECTS: list[tuple[str, str, str | bytes]] = [
    ("comma", CHANNELS, PLAIN),
    ("crlf", CHANNELS, PLAIN.replace("\n", "\r\n")),
    ("carriage returns only", CHANNELS, PLAIN.replace("\n", "\r")),
    ("byte order mark", CHANNELS, codecs.BOM_UTF8 + PLAIN.encode()),
    ("utf-16", CHANNELS, PLAIN.encode("utf-16")),
    ("utf-16 big end first", CHANNELS, codecs.BOM_UTF16_BE + PLAIN.encode("utf-16-be")),
    ("utf-16 without mark", CHANNELS, PLAIN.encode("utf-16-le")),
    ("windows-1252", CHANNELS, ("Prüfer: Müller, 20 °C\n" + PLAIN).encode("cp1252")),
    (
        "semicolon and decimal comma",
        CHANNELS,
        "Time;Pc;u\n03.02.2031 08:00:00;100,5;50,25\n03.02.2031 08:00:10;101,5;51,25\n",
    ),
    (
        "quoted decimal comma between commas",
        CHANNELS,
        'Time,Pc,u\n"2031-02-03 08:00:00","100,5","50,25"\n"2031-02-03 08:00:10","101,5","51,25"\n',
    ),
    ("tab", CHANNELS, PLAIN.replace(",", "\t")),
    (
        "tab with an empty first column",
        CHANNELS,
        "No\tTime\tPc\tu\n\t2031-02-03 08:00\t100.5\t50.25\n\t2031-02-03 08:00:10\t101.5\t51.25\n",
    ),
    (
        "spaces, date and time as two columns",
        CHANNELS,
        "Date Time Pc u\n2031-02-03 08:00:00 100.5 50.25\n2031-02-03 08:00:10 101.5 51.25\n",
    ),
    (
        "spaces, date and time under one name",
        CHANNELS,
        "Time Pc u\n2031-02-03 08:00:00 100.5 50.25\n2031-02-03 08:00:10 101.5 51.25\n",
    ),
    (
        "columns of fixed width",
        CHANNELS,
        "Time                  Pc       u\n"
        "2031-02-03 08:00:00   100.5    50.25\n"
        "2031-02-03 08:00:10   101.5    51.25\n",
    ),
    (
        "banner, units line, blank lines",
        CHANNELS,
        "Station 4\nSerial; 12; 13\nStarted: 2031-02-03\n\nTime;Pc;u\n;kPa;kPa\n\n"
        "2031-02-03T08:00:00;100.5;50.25\n\n2031-02-03T08:00:10;101.5;51.25\n",
    ),
    (
        "a banner that looks like a table",
        CHANNELS,
        "Channel;P1;P2\nGain;2,5;3,1\nDate;03.02.2031;03.02.2031\nTime;Pc;u\n"
        "03.02.2031 08:00:00;100,5;50,25\n03.02.2031 08:00:10;101,5;51,25\n",
    ),
    (
        "header and units again in mid-file",
        CHANNELS,
        "Time,Pc,u\n-,kPa,kPa\n2031-02-03 08:00:00,100.5,50.25\nTime,Pc,u\n-,kPa,kPa\n"
        "2031-02-03 08:00:10,101.5,51.25\n",
    ),
    (
        "another order of columns from mid-file on",
        CHANNELS,
        "Time,Pc,u\n2031-02-03 08:00:00,100.5,50.25\nTime,u,T,Pc\ns,kPa,degC,kPa\n"
        "2031-02-03 08:00:10,51.25,20.1,101.5\n",
    ),
    ("units in the names", CHANNELS, PLAIN.replace("Pc,u", "Pc [kPa],u (kPa)")),
    ("another case and blanks", CHANNELS, PLAIN.replace("Pc,u", " PC , U")),
    ("separator at the end of lines", CHANNELS, PLAIN.replace("\n", ",\n")),
    (
        "offsets from UTC",
        CHANNELS,
        "Time,Pc,u\n2031-02-03T09:00:00+01:00,100.5,50.25\n2031-02-03T08:00:10Z,101.5,51.25\n",
    ),
    (
        "12-hour clock",
        CHANNELS,
        "Time,Pc,u\n13/02/2031 8:00:00 AM,1,1\n02/03/2031 8:00:00 AM,100.5,50.25\n",
    ),
    (
        "month names",
        CHANNELS,
        "Time,Pc,u\n03-Feb-2031 08:00:00,100.5,50.25\n03-Feb-2031 08:00:10,101.5,51.25\n",
    ),
    (
        "seconds since 1970",
        with_log('time = { column = "Time" }'),
        f"Time,Pc,u\n{EIGHT:.0f},100.5,50.25\n{EIGHT + 10:.0f},101.5,51.25\n",
    ),
    (
        "pinned format, logger clock ahead",
        with_log('time = { column = "Time", format = "%Y%m%d%H%M%S", offset = "-95 s" }'),
        "Time,Pc,u\n20310203080135,100.5,50.25\n20310203080145,101.5,51.25\n",
    ),
    (
        "two named time columns",
        with_log('time = { column = ["Tag", "Uhr"] }'),
        "Tag;Uhr;Pc;u\n03.02.2031;08:00:00;100,5;50,25\n03.02.2031;08:00:10;101,5;51,25\n",
    ),
    (
        "zone of the log",
        with_log('time = { zone = "Europe/Oslo" }'),
        PLAIN.replace(" 08:", " 09:"),
    ),
    (
        "elapsed seconds from a start",
        with_log('time = { column = "t", kind = "elapsed s", start = "2031-02-03T08:00" }'),
        "t,Pc,u\n0,100.5,50.25\n10,101.5,51.25\n",
    ),
    (
        "elapsed minutes, decimal comma",
        with_log('time = { column = "t", kind = "elapsed min", start = "2031-02-03T07:59:50" }'),
        "t;Pc;u\n0,166666666666666666;100,5;50,25\n0,333333333333333333;101,5;51,25\n",
    ),
    (
        "elapsed from the banner",
        with_log('time = { kind = "elapsed h", start = "banner" }'),
        "Version 1.2.03\nStart 2031-02-03 07:00:00\nElapsed,Pc,u\n1,100.5,50.25\n"
        "1.00277777777777778,101.5,51.25\n",
    ),
    (
        "elapsed as hours, minutes, seconds; a second banner begins again",
        with_log('time = { kind = "elapsed s", start = "banner" }'),
        "Start: 2031-02-03 07:00:00\nElapsed,Pc,u\n1:00:00,100.5,50.25\n"
        "Start: 2031-02-03 08:00:05\nElapsed,Pc,u\n0:00:05,101.5,51.25\n",
    ),
    (
        "everything pinned",
        "[log]\nseparator = ';'\ndecimal = ','\nencoding = 'cp1252'\nheader_row = 3\n" + CHANNELS,
        "Time;Pc;u\n2031-01-01 00:00;1;1\nTime;Pc;u\n2031-02-03 08:00:00;100,5;50,25\n"
        "2031-02-03 08:00:10;101,5;51,25\n",
    ),
    (
        "self-named columns of any unit and case",
        "",
        "time,CELL_PRESSURE_KPA,Pore pressure [psi]\n2031-02-03 08:00:00,100.5,"
        f"{50.25 / PSI_KPA!r}\n2031-02-03 08:00:10,101.5,{51.25 / PSI_KPA!r}\n",
    ),
    (
        "self-named columns with a units line",
        "",
        "time;cell pressure;pore pressure\n;kPa;bar\n2031-02-03 08:00:00;100,5;0,5025\n"
        "2031-02-03 08:00:10;101,5;0,5125\n",
    ),
]


@pytest.mark.parametrize(
    ("log", "text"), [case[1:] for case in DIALECTS], ids=[case[0] for case in DIALECTS]
)
def test_every_dialect_means_the_same_two_readings(
    make_cell: Callable[..., Any], log: str, text: str | bytes
) -> None:
    cell = make_cell(log)
    cell.write("a.csv", text)
    told = cell.read()
    if "12-hour" in str(text) or "13/02/2031" in str(text):
        # Its first row is there to tell day from month.
        told.times, told.values = told.times[1:], {k: v[1:] for k, v in told.values.items()}
        expected = [datetime(2031, 3, 2, 8, tzinfo=UTC).timestamp()]
    else:
        expected = [EIGHT, EIGHT + 10]
    assert told.times == pytest.approx(expected, abs=1e-5)
    assert told.values["cell_pressure"] == pytest.approx([100.5, 101.5][: len(expected)], rel=1e-12)
    assert told.values["pore_pressure"] == pytest.approx([50.25, 51.25][: len(expected)], rel=1e-12)
    assert told.unused == []
    assert told.problems == ()


def test_elapsed_time_starts_where_the_file_name_says(make_cell: Callable[..., Any]) -> None:
    cell = make_cell(with_log('time = { kind = "elapsed s", start = "file name" }'))
    cell.write("C1_2031-02-03_0800.csv", "Elapsed,Pc,u\n0,1,2\n")
    cell.write("C1 20310203T080100.csv", "Elapsed,Pc,u\n0,1,2\n")
    cell.write("C1 late.csv", "Elapsed,Pc,u\n0,1,2\n")
    told = cell.read()
    assert told.times == [EIGHT, EIGHT + 60]
    assert told.said("C1 late.csv").severity == "error"
    assert "its name holds no date" in told.said("C1 late.csv").what


def test_how_a_file_was_understood_is_told(make_cell: Callable[..., Any]) -> None:
    cell = make_cell(
        '[log]\nlive = "live.csv"\n[log.channels]\n'
        'cell_pressure = { column = "Pc", unit = "psi", sign = -1, gain = 2.0, zero = "1 psi" }\n'
        'phase = { column = "ph" }\n'
    )
    cell.write("a.csv", "x\nTime;Pc;spare;ph\n03.02.2031 08:00;1,5;9;SAT\n03.02".encode("utf-16"))
    cell.read()
    understood = cell.source.understood["files"]["C1/a.csv"]
    assert understood["encoding"] == "utf-16-le"
    assert understood["separator"] == "semicolon"
    assert understood["decimal"] == ","
    assert understood["header_line"] == 2
    assert understood["unfinished_last_line"] is True
    assert understood["time"]["columns"] == ["Time"]
    assert understood["channels"]["cell_pressure"][0]["unit"] == "psi"
    assert understood["channels"]["cell_pressure"][0]["factor"] == pytest.approx(-2 * PSI_KPA)
    assert understood["channels"]["phase"] == [{"columns": ["ph"]}]
    assert understood["unused_columns"] == ["spare"]
    assert cell.source.understood["live"] == {"file": "C1/live.csv"}


def test_words_of_the_phase_column_are_translated_and_made_safe(
    make_cell: Callable[..., Any],
) -> None:
    cell = make_cell(
        '[log]\nphases = { "SAT" = "saturation", "chk" = "saturation/b-check" }\n'
        '[log.channels]\nphase = { column = "ph" }\ndrainage = { column = "valve" }\n'
    )
    cell.write(
        "a.csv",
        "Time,ph,valve\n2031-02-03 08:00,sat,open\n2031-02-03 08:01,CHK,\x1b[2Jclosed\u202e\n"
        f"2031-02-03 08:02,,{'x' * 500}\n",
    )
    told = cell.read()
    assert told.words["phase"] == ["saturation", "saturation/b-check", None]
    assert told.words["drainage"][:2] == ["open", "closed"]
    assert len(str(told.words["drainage"][2])) <= 120
