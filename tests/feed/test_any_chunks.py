"""However the bytes of a log arrive, the rows and the reasons are the same."""

from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from one_cell_bench import Told, one_cell

LOG = """[log]
time = { column = "Zeit" }
[log.channels]
cell_pressure = { column = "Pc", unit = "bar" }
temperature = { column = "Tä", unit = "degC" }
phase = { column = "ph" }
"""
LINES = [
    "Prüfstand 7; Gerät ä€",
    "Kanal;P1;P2;x",
    "",
    "Zeit;Pc;Tä;ph",
    ";bar;°C;",
    "kaputt;1;2;x",
    "03.02.2031 08:00:00;1;20;SAT",
    "03.02.2031 08:00:10;1,5;20,1;SAT",
    "03.02.2031 08:00:10;1,5;20,1;SAT",
    "03.02.2031 08:00:20;OVER;20.1;Sättigung",
    "Zeit;Pc;Tä;ph",
    "03.02.2031 08:00:3",
    '"03.02.2031 08:00:40";1,7;;"a;b"',
    "Zeit;ph;Pc",
    "03.02.2031 08:00:50;€;1,8",
    "x" * 70_000,
    "03.02.2031 08:01:00;c;1,9",
]


def whole(encoding: str, ends: str) -> bytes:
    text = ends.join(LINES) + ends + "03.02.2031 08:02:00;unfinished;2"
    if encoding == "mixed":  # a logger that fell back to its old code page for a while
        return b"".join(
            line.encode("cp1252" if index % 2 else "utf-8")
            for index, line in enumerate(text.splitlines(keepends=True))
        )
    return text.encode(encoding)


def told_in(folder: Path, parts: list[bytes]) -> Told:
    cell = one_cell(folder, LOG)
    for part in parts:
        cell.append("a.csv", part)
        cell.read(thorough=False)
    return cell.read()


def same(one: Told, other: Told) -> None:
    assert one.times == other.times
    assert repr(one.values) == repr(other.values)
    assert one.words == other.words
    assert one.unused == other.unused
    assert one.restarts == other.restarts == 0


@pytest.mark.parametrize(
    "encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-be", "cp1252", "mixed"]
)
@pytest.mark.parametrize("ends", ["\n", "\r\n"])
def test_the_rows_themselves(tmp_path: Path, encoding: str, ends: str) -> None:
    told = told_in(tmp_path, [whole(encoding, ends)])
    start = told.times[0]
    assert [time - start for time in told.times] == [0, 10, 20, 40, 50, 60]
    assert told.values["cell_pressure"][:2] == [100.0, 150.0]
    assert told.values["cell_pressure"][3:] == pytest.approx([170.0, 180.0, 190.0])
    assert told.words["phase"] == ["SAT", "SAT", "Sättigung", "a;b", "€", "c"]
    assert [(one.line, one.field, one.reason) for one in told.unused] == [
        (6, None, 'unreadable time "kaputt"'),
        (9, None, "repeated"),
        (10, "Pc", "OVER"),
        (10, "Tä", 'decimal "." among ",": "20.1"'),
        (12, None, "missing fields: 1 of 4"),
        (13, "Tä", "empty"),
        (16, None, "longer than 64 KiB"),
    ]


@settings(max_examples=40, deadline=None)
@given(
    encoding=st.sampled_from(["utf-8", "utf-16", "utf-16-be", "cp1252", "mixed"]),
    ends=st.sampled_from(["\n", "\r\n"]),
    cuts=st.lists(st.floats(0, 1), max_size=12),
    early=st.lists(st.integers(0, 900), max_size=12),
)
@example(encoding="utf-8", ends="\n", cuts=[], early=list(range(900)))
@example(encoding="utf-16", ends="\r\n", cuts=[], early=list(range(1, 900, 3)))
def test_any_chunks_give_the_same(
    tmp_path_factory: pytest.TempPathFactory,
    encoding: str,
    ends: str,
    cuts: list[float],
    early: list[int],
) -> None:
    content = whole(encoding, ends)
    at_once = told_in(tmp_path_factory.mktemp("once"), [content])
    places = sorted({int(cut * len(content)) for cut in cuts} | set(early))
    edges = [0, *[place for place in places if place < len(content)], len(content)]
    parts = [content[a:b] for a, b in pairwise(edges)]
    same(told_in(tmp_path_factory.mktemp("parts"), parts), at_once)
