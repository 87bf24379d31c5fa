"""Bytes that are nearly a log: written in some dialect, then damaged, and cut into portions."""

import json
import math
from itertools import pairwise
from pathlib import Path

from hypothesis import strategies as st
from one_cell_bench import Told, one_cell

from tui.settings.problems import has_hidden_letters

SETTINGS = (
    "",
    '[log]\nlive = "live.csv"\n[log.channels]\ncell_pressure = { column = "Pc", unit = "bar" }\n'
    'pore_pressure = { column = "u", unit = "kPa" }\nphase = { column = "ph" }\n',
    '[log]\ntime = { kind = "elapsed h", start = "banner" }\n[log.channels]\n'
    'cell_pressure = { columns = ["Pc", "u"], combine = "mean", unit = "kPa" }\n',
    '[log]\nseparator = "spaces"\ntime = { column = ["Date", "Time"], zone = "Europe/Oslo" }\n'
    '[log.channels]\ncell_pressure = { column = "Pc", unit = "kPa", table = [[0, 0], [1, 700]] }\n',
    '[log]\nencoding = "utf-16"\ndecimal = ","\nheader_row = 2\n'
    '[log.channels]\ncell_pressure = { column = "Pc", unit = "psi" }\n',
)
_TIMES = (
    "2031-02-03T08:{m:02d}:{s:02d}",
    "03.02.2031 08:{m:02d}:{s:02d}",
    "02/03/2031 8:{m:02d}:{s:02d} PM",
    "2031-10-26 02:{m:02d}:{s:02d}",
    "2031-02-03 08:{m:02d}:{s:02d}+01:00",
    "19278{m:02d}{s:02d}0",
    "{m}.{s:02d}",
    "0:{m:02d}:{s:02d}",
    "²:{m:02d}",
    "9e307",
)
_FIELDS = ("101.5", "99,5", "1e308", "-1e308", "nan", "OVER", "---", "#N/A", "", '"7"', "1_0", "٣")
_PIECES = (
    b"\xff\xfe",
    b"\xfe\xff",
    b"\xef\xbb\xbf",
    b"\0",
    b"\0" * 600,
    b"\r",
    b"\n",
    b"\n\r",
    b"\x85",
    b"\xe2\x80\xa8",
    b'"',
    b"\x1b[31m",
    b"x" * 70_000,
    b",;\t|" * 9,
    b"0001-01-01 00:00;1;2\n",
    b"9999-12-31T23:59:59,1,2\n",
    "2031-02-03T08:00:01,1,2\n".encode("utf-16-le"),
)


@st.composite
def logs(draw: st.DrawFn) -> bytes:
    """A file in one of many dialects, whole or damaged in a few places."""
    mark = draw(st.sampled_from([",", ";", "\t", "  ", " ", "|"]))
    ends = draw(st.sampled_from(["\n", "\r\n", "\r"]))
    form = draw(st.sampled_from(_TIMES))
    names = draw(st.permutations(["Pc", "u", "ph", "cell_pressure_kPa", "Date", "x"]))
    header = mark.join(["Time", *names[: draw(st.integers(1, 5))]])
    lines = draw(
        st.lists(
            st.sampled_from(["", "Start: 03.02.2031 08:00", "00010101", "ä=1", "-"]), max_size=3
        )
    )
    lines.append(header)
    if draw(st.booleans()):
        lines.append(mark.join(["", "kPa", "bar"]))
    for _ in range(draw(st.integers(0, 8))):
        stamp = form.format(m=draw(st.integers(0, 59)), s=draw(st.integers(0, 59)))
        fields = draw(st.lists(st.sampled_from(_FIELDS), min_size=1, max_size=4))
        lines.append(draw(st.sampled_from([mark.join([stamp, *fields]), header])))
    encoding = draw(st.sampled_from(["utf-8", "utf-8-sig", "utf-16", "utf-16-be", "cp1252"]))
    content = bytearray(ends.join([*lines, ""]).encode(encoding, "replace"))
    for _ in range(draw(st.integers(0, 4))):
        at = draw(st.integers(0, len(content)))
        piece = draw(st.one_of(st.sampled_from(_PIECES), st.binary(max_size=12)))
        content[at : at + draw(st.integers(0, 5))] = piece
    return bytes(content)


PORTIONS = st.lists(st.floats(0, 1), max_size=6)


def parts_of(content: bytes, cuts: list[float]) -> list[bytes]:
    """The content cut at some of its places."""
    places = sorted({0, len(content), *(int(cut * len(content)) for cut in cuts)})
    return [content[a:b] for a, b in pairwise(places)]


def read_in(folder: Path, settings: str, parts: list[bytes]) -> Told:
    """Everything that the feed tells of a file that grows by these parts."""
    cell = one_cell(folder, settings, "Europe/Oslo")
    for part in parts:
        cell.append("a.csv", part)
        if "live" in settings:
            cell.append("live.csv", part)
        cell.read(thorough=False)
    told = cell.read()
    json.dumps(cell.source.understood)
    assert all(math.isfinite(time) for time in told.times)
    for column in told.values.values():
        assert len(column) == len(told.times)
        assert not any(math.isinf(value) for value in column)
    assert all(not has_hidden_letters(one.reason) and one.line > 0 for one in told.unused)
    assert all(not has_hidden_letters(problem.what) and problem.remedy for problem in told.problems)
    return told


def same(one: Told, other: Told) -> None:
    """The same rows and reasons, whatever came on the way there."""
    assert one.times == other.times
    # A channel without any reading may be left out.
    assert repr(one.values) == repr(other.values)
    assert one.words == other.words
    assert one.unused == other.unused
