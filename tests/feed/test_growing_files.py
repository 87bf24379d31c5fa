"""Files that grow, shrink, vanish, move: nothing is lost, nothing is read twice."""

import os
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tui.feed import tail
from tui.feed.source import MOST_ROWS
from tui.feed.tail import Tail

Cells = Callable[..., Any]
HEADER = "time,cell_pressure_kPa\n"


def rows(first: int, last: int) -> str:
    return "".join(
        f"2031-02-03T{8 + k // 3600:02d}:{k // 60 % 60:02d}:{k % 60:02d},{k}\n"
        for k in range(first, last)
    )


def numbers(first: int, last: int) -> list[float]:
    return [float(k) for k in range(first, last)]


def test_growth_is_read_once(make_cell: Cells, monkeypatch: pytest.MonkeyPatch) -> None:
    cell = make_cell()
    cell.write("a.csv", HEADER + rows(0, 5000))
    cell.read()
    taken: list[int] = []
    consume = Tail.consume

    def spy(self: Tail, part: bytes) -> None:
        taken.append(len(part))
        consume(self, part)

    monkeypatch.setattr(Tail, "consume", spy)
    cell.append("a.csv", rows(5000, 5002))
    told = cell.read(thorough=False)
    assert told.values["cell_pressure"] == numbers(0, 5002)
    assert sum(taken) == len(rows(5000, 5002))
    calls = told.calls
    assert cell.read(thorough=True).calls == calls, "nothing new, nothing told"


def test_an_unfinished_last_line_waits(make_cell: Cells) -> None:
    cell = make_cell()
    cell.write("a.csv", HEADER + rows(0, 2) + "2031-02-03T08:00:02,2")
    assert cell.read().values["cell_pressure"] == [0, 1]
    assert cell.told.unused == []
    cell.append("a.csv", "5.5\n")
    assert cell.read().values["cell_pressure"] == [0, 1, 25.5]


def test_an_unfinished_last_line_may_be_written_over(make_cell: Cells) -> None:
    cell = make_cell()
    path = cell.write("a.csv", HEADER + rows(0, 2) + "2031-02-03T08:0")
    cell.read()
    with path.open("r+b") as opened:
        opened.seek(len(HEADER + rows(0, 2)))
        opened.write(rows(2, 4).encode())
    told = cell.read()
    assert told.values["cell_pressure"] == numbers(0, 4)
    assert told.restarts == 0


def test_room_taken_beforehand_is_no_row(make_cell: Cells) -> None:
    cell = make_cell()
    path = cell.write("a.csv", (HEADER + rows(0, 2)).encode() + bytes(4096))
    assert cell.read().values["cell_pressure"] == [0, 1]
    with path.open("r+b") as opened:
        opened.seek(len(HEADER + rows(0, 2)))
        opened.write(rows(2, 4).encode())
    told = cell.read()
    assert told.values["cell_pressure"] == numbers(0, 4)
    assert (told.unused, told.restarts) == ([], 0)


def test_a_file_cut_short_is_told_anew(make_cell: Cells) -> None:
    cell = make_cell()
    cell.write("a.csv", HEADER + rows(0, 100))
    cell.read()
    cell.write("a.csv", HEADER + rows(0, 10))
    told = cell.read()
    assert told.restarts == 1
    assert told.values["cell_pressure"] == numbers(0, 10)
    assert told.said("replaced or cut short").severity == "note"


def test_a_file_replaced_by_a_longer_one_is_told_anew(make_cell: Cells) -> None:
    cell = make_cell()
    cell.write("a.csv", HEADER + rows(0, 100))
    cell.read()
    cell.write("new", HEADER + rows(500, 900)).replace(cell.folder / "a.csv")
    told = cell.read(thorough=False)
    assert told.restarts == 1
    assert told.values["cell_pressure"] == numbers(500, 900)


def test_a_change_in_the_middle_of_what_was_read_is_found(make_cell: Cells) -> None:
    cell = make_cell()
    path = cell.write("a.csv", HEADER + rows(0, 1000))
    cell.read()
    text = path.read_bytes()
    assert len(text) > 4 * tail._KEPT  # neither head nor end tell
    changed = text.replace(b",500\n", b",666\n")
    path.write_bytes(changed)
    os.utime(path, ns=(1, 1))
    told = cell.read(thorough=False)
    assert told.restarts == 1
    assert told.values["cell_pressure"][500] == 666.0
    assert told.said("C1/a.csv was changed in what was read already").severity == "note"


def test_a_change_in_the_newest_row_is_found(make_cell: Cells) -> None:
    cell = make_cell()
    path = cell.write("a.csv", HEADER + rows(0, 1000))
    cell.read()
    path.write_bytes(path.read_bytes().replace(b",999\n", b",666\n") + rows(1000, 1002).encode())
    told = cell.read()
    assert told.values["cell_pressure"] == [*numbers(0, 999), 666.0, 1000.0, 1001.0]
    assert told.said("C1/a.csv was changed in what was read already")


def test_the_same_content_under_a_new_inode_goes_on(make_cell: Cells) -> None:
    cell = make_cell()
    path = cell.write("a.csv", HEADER + rows(0, 1000))
    cell.read()
    copy = Path(shutil.copy(path, cell.folder / "copy"))
    copy.replace(path)
    cell.append("a.csv", rows(1000, 1001))
    told = cell.read()
    assert told.restarts == 0
    assert told.values["cell_pressure"] == numbers(0, 1001)


def test_a_touched_file_is_not_told_again(make_cell: Cells) -> None:
    cell = make_cell()
    path = cell.write("a.csv", HEADER + rows(0, 100))
    calls = cell.read().calls
    os.utime(path, ns=(5, 5))
    assert cell.read().calls == calls


def test_renaming_reads_nothing_twice(make_cell: Cells) -> None:
    cell = make_cell()
    path = cell.write("a.csv", HEADER + rows(0, 100))
    cell.read()
    path.rename(cell.folder / "b.csv")
    cell.append("b.csv", rows(100, 101))
    told = cell.read()
    assert (told.restarts, told.unused) == (0, [])
    assert told.values["cell_pressure"] == numbers(0, 101)
    assert list(cell.source.understood["files"]) == ["C1/b.csv"]


def test_rotation_reads_nothing_twice(make_cell: Cells) -> None:
    cell = make_cell()
    names = ["log.csv", "log.1.csv", "log.2.csv", "log.3.csv"]
    cell.write("log.csv", HEADER + rows(0, 10))
    cell.read()
    for turn in range(1, 4):
        for older, newer in reversed(list(zip(names[1:], names, strict=False))):
            if (cell.folder / newer).exists():
                (cell.folder / newer).replace(cell.folder / older)
        cell.write("log.csv", HEADER + rows(10 * turn, 10 * turn + 10))
        told = cell.read(thorough=False)
        assert (told.restarts, told.unused) == (0, [])
        assert told.values["cell_pressure"] == numbers(0, 10 * turn + 10)
    # The oldest goes, the others move up: what was read is kept and not read again.
    for older, newer in reversed(list(zip(names[1:], names, strict=False))):
        (cell.folder / newer).replace(cell.folder / older)
    cell.write("log.csv", HEADER + rows(40, 50))
    told = cell.read(thorough=False)
    assert (told.restarts, told.unused) == (0, [])
    assert told.values["cell_pressure"] == numbers(0, 50)


def test_rotation_by_copy_reads_nothing_twice(make_cell: Cells) -> None:
    cell = make_cell()
    path = cell.write("log.csv", HEADER + rows(0, 10))
    cell.read()
    shutil.copy(path, cell.folder / "log.1.csv")
    cell.write("log.csv", HEADER + rows(10, 12))
    told = cell.read()
    assert (told.restarts, told.unused) == (0, [])
    assert told.values["cell_pressure"] == numbers(0, 12)


def test_a_file_that_vanishes_and_returns(make_cell: Cells) -> None:
    cell = make_cell()
    path = cell.write("a.csv", HEADER + rows(0, 10))
    cell.read()
    away = path.rename(cell.root / "away")
    told = cell.read()
    assert told.said("is gone").severity == "warning"
    assert told.values["cell_pressure"] == numbers(0, 10)
    away.rename(path)
    cell.append("a.csv", rows(10, 12))
    told = cell.read()
    assert told.problems == ()
    assert (told.restarts, told.values["cell_pressure"]) == (0, numbers(0, 12))


def test_a_file_emptied_and_written_again(make_cell: Cells) -> None:
    cell = make_cell()
    cell.write("a.csv", HEADER + rows(0, 10))
    cell.read()
    cell.write("a.csv", "")
    told = cell.read()
    assert told.said("is empty now").severity == "warning"
    assert told.values["cell_pressure"] == numbers(0, 10)
    cell.write("a.csv", HEADER + rows(0, 12))  # as a program writes that saves it anew
    told = cell.read()
    assert (told.restarts, told.values["cell_pressure"]) == (0, numbers(0, 12))
    assert told.problems == ()


def test_a_file_that_may_not_be_read(make_cell: Cells, monkeypatch: pytest.MonkeyPatch) -> None:
    cell = make_cell()
    cell.write("a.csv", HEADER + rows(0, 10))
    cell.write("b.csv", HEADER + rows(10, 20))
    opened = Path.open

    def locked(self: Path, *args: Any, **more: Any) -> Any:
        if self.name == "a.csv":
            raise PermissionError(13, "Permission denied")
        return opened(self, *args, **more)

    with monkeypatch.context() as patch:
        patch.setattr(Path, "open", locked)
        told = cell.read()
    assert told.said("C1/a.csv cannot be read: permission denied").severity == "error"
    assert told.values["cell_pressure"] == numbers(10, 20)
    told = cell.read()
    assert told.problems == ()
    assert sorted(told.values["cell_pressure"]) == numbers(0, 20)


def test_a_folder_that_cannot_be_read(make_cell: Cells) -> None:
    cell = make_cell()
    cell.write("a.csv", HEADER + rows(0, 10))
    cell.read()
    shutil.rmtree(cell.folder)
    told = cell.read()
    assert told.said("the folder C1 cannot be read").severity == "error"
    assert told.values["cell_pressure"] == numbers(0, 10)


def test_a_pipe_or_folder_in_the_glob_holds_nothing_up(make_cell: Cells) -> None:
    cell = make_cell()
    os.mkfifo(cell.folder / "pipe.csv")
    (cell.folder / "folder.csv").mkdir()
    cell.write("a.csv", HEADER + rows(0, 10))
    told = cell.read()
    assert told.values["cell_pressure"] == numbers(0, 10)
    assert "it is not a file" in told.said("pipe.csv").what


def test_files_come_in_the_order_of_their_first_rows(make_cell: Cells) -> None:
    cell = make_cell()
    cell.write("a.csv", HEADER + rows(20, 30))
    cell.write("b.csv", HEADER + rows(0, 10))
    cell.write("c.csv", HEADER + rows(10, 20))
    assert cell.read().values["cell_pressure"] == numbers(0, 30)


def test_files_elsewhere_may_be_named(make_cell: Cells) -> None:
    cell = make_cell('[log]\nfiles = "logs/**/*.txt"\n')
    (cell.folder / "logs" / "deep").mkdir(parents=True)
    cell.write("logs/deep/a.txt", HEADER + rows(0, 3))
    cell.write("not.csv", HEADER + rows(5, 8))
    assert cell.read().values["cell_pressure"] == numbers(0, 3)
    assert list(cell.source.understood["files"]) == ["C1/logs/deep/a.txt"]


def test_a_long_history_comes_in_portions(make_cell: Cells) -> None:
    cell = make_cell()
    cell.write("a.csv", HEADER + rows(0, 57_000))
    sizes = []
    while (arrived := cell.source.read()) is not None:
        sizes.append(len(arrived.rows))
        cell.told.add(arrived)
    assert cell.told.values["cell_pressure"] == numbers(0, 57_000)
    assert max(sizes) <= MOST_ROWS


def test_there_is_more_until_every_file_was_read(make_cell: Cells) -> None:
    cell = make_cell()
    cell.write("a.csv", HEADER + rows(0, MOST_ROWS))
    cell.write("b.csv", HEADER + rows(MOST_ROWS, MOST_ROWS + 3))
    told = []
    while (arrived := cell.source.read()) is not None:
        told.append((len(arrived.rows or ()), arrived.more))
    assert told == [(MOST_ROWS, True), (3, False)]


def test_short_lines_make_no_larger_portions(make_cell: Cells) -> None:
    cell = make_cell('[log]\ntime = { kind = "elapsed s", start = "2031-02-03T08:00" }\n')
    text = "t,cell_pressure_kPa\n" + "".join(f"{k},1\n" for k in range(120_000))
    cell.write("a.csv", text)
    sizes = []
    while (arrived := cell.source.read()) is not None:
        sizes.append(len(arrived.rows))
    assert sum(sizes) == 120_000
    assert max(sizes) <= MOST_ROWS


def test_an_overlong_line_that_spans_portions(make_cell: Cells) -> None:
    cell = make_cell()
    long = "x" * (3 * tail.PORTION + 5)
    cell.write("a.csv", HEADER + rows(0, 3) + long + "\n" + rows(3, 6))
    told = cell.read()
    assert told.values["cell_pressure"] == numbers(0, 6)
    assert [(one.line, one.reason) for one in told.unused] == [(5, "longer than 64 KiB")]


def test_who_was_told_of_more_is_told_when_there_is_none(make_cell: Cells) -> None:
    """Room that a logger took beforehand looks like more to read, and is none."""
    cell = make_cell()
    content = (HEADER + rows(0, MOST_ROWS)).encode()
    cell.write("a.csv", content + b"\0" * (2 * tail.PORTION + 5))
    told = []
    while (arrived := cell.source.read()) is not None:
        told.append(arrived.more)
    assert told[0]
    assert not told[-1]
