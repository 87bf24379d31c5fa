"""Lines that are slow, and lines that break while something is on its way."""

import os
import select
import time
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from tui.journal.store import Journal

CELL = """
[test]
id = "T015"
kind = "CU"
[specimen]
diameter = "50.0 mm"
height = "100.0 mm"
"""
HEADER = "time,cell_pressure_kPa,back_pressure_kPa,pore_pressure_kPa\n"
GONE_WITHIN_S = 10.0


@pytest.fixture
def bench(tmp_path: Path) -> Path:
    root = tmp_path / "bench"
    (root / "C1").mkdir(parents=True)
    (root / "C1" / "cell.toml").write_text(CELL)
    (root / "C1" / "log.csv").write_text(HEADER)
    (root / "bench.toml").write_text('name = "Ferry quay"\nzone = "UTC"\n')
    append(root, 60.0)
    return root


def append(bench: Path, pressure: float) -> None:
    """A row of this moment."""
    stamp = time.strftime("%Y-%m-%dT%H:%M:%S", time.gmtime())
    with (bench / "C1" / "log.csv").open("a", encoding="utf-8") as log:
        log.write(f"{stamp},{pressure:.1f},50.0,50.0\n")


def left_over(bench: Path) -> list[str]:
    """Files that nobody means to keep: half-written ones, locks, what a journal cleans up."""
    kept = {"cell.toml", "bench.toml", "log.csv", "journal.sqlite3"}
    half = (".new", ".lock", "-wal", "-shm", "-journal")
    return [
        str(path.relative_to(bench))
        for path in bench.rglob("*")
        if path.is_file()
        and path.name not in kept
        and (path.parent.name != "checkpoints" or path.name.endswith(half))
    ]


def entries(bench: Path) -> list[str]:
    """The texts in the journal, which can be read without a complaint."""
    journal = Journal.open(bench)
    try:
        texts = [entry.act.text for entry in journal.entries()]
        assert journal.problems == ()
    finally:
        journal.close()
    return texts


def hung_up(there: Any) -> None:
    there.hang_up()
    begun = time.monotonic()
    there.process.wait(GONE_WITHIN_S)
    assert time.monotonic() - begun < GONE_WITHIN_S
    assert not _children(there.process.pid)


def _children(session: int) -> list[str]:
    found = []
    for path in Path("/proc").glob("[0-9]*"):
        try:
            if os.getsid(int(path.name)) == session:
                found.append((path / "cmdline").read_bytes().decode())
        except OSError:
            continue
    return found


def test_a_line_that_breaks_while_the_screen_is_sent(
    terminal: Callable[..., Any], bench: Path
) -> None:
    """Nobody reads: the process stands in its write, with the line full, when the line breaks."""
    there = terminal("watch", str(bench), columns=160, lines=48)
    there.wait_for("60.0")
    deadline = time.monotonic() + 3.0
    k = 0
    while time.monotonic() < deadline:
        there.type("tu+-0?\x1b")
        append(bench, 100.0 + k % 400)
        k += 1
        time.sleep(0.02)
    hung_up(there)
    assert left_over(bench) == []


@pytest.mark.parametrize("wait_s", [0.0, 0.02, 0.1, 0.4])
def test_a_line_that_breaks_while_a_note_is_entered(
    terminal: Callable[..., Any], bench: Path, wait_s: float
) -> None:
    there = terminal("watch", str(bench))
    there.wait_for("60.0")
    there.type("n")
    there.wait_for("what no logger can know")
    there.type("before\r")
    there.wait_for("is in the journal")
    there.type("n")
    there.wait_for("what no logger can know")
    there.type("while it breaks\r")
    time.sleep(wait_s)
    hung_up(there)
    assert entries(bench) in (["before"], ["before", "while it breaks"])
    assert left_over(bench) == []
    # and the next one can write
    there = terminal("note", "C1", "after", "--bench", str(bench))
    assert there.wait_for_end() == 0
    assert entries(bench)[-1] == "after"


def test_a_quiet_line_is_sent_something_every_five_seconds_at_most(
    terminal: Callable[..., Any], bench: Path
) -> None:
    there = terminal("watch", str(bench), "--quiet-link", columns=100, lines=30)
    there.wait_for("60.0")
    sent: list[float] = []
    begun = time.monotonic()
    k = 0
    while (now := time.monotonic() - begun) < 12.0:
        if now > k:  # a logger that writes each second
            append(bench, 200.0 + k)
            k += 1
        if select.select([there._master], [], [], 0.05)[0]:
            there._read(0.0)
            sent.append(now)
    looks = [at for i, at in enumerate(sent) if i == 0 or at - sent[i - 1] > 1.0]
    assert 1 <= len(looks) <= 3, sent
    assert all(after - before > 4.0 for before, after in pairwise(looks)), sent


def drained(there: Any, for_s: float) -> int:
    """Read what comes meanwhile; gives in how many bursts, a second apart, it came."""
    bursts = 0
    deadline = time.monotonic() + for_s
    while (left := deadline - time.monotonic()) > 0:
        if select.select([there._master], [], [], left)[0]:
            bursts += 1
            while select.select([there._master], [], [], 1.0)[0]:  # a busy machine sends in parts
                if not there._read(0.0):
                    return bursts
    return bursts


def test_a_cursor_stands_still(terminal: Callable[..., Any], bench: Path) -> None:
    there = terminal("watch", str(bench), "--quiet-link", columns=100, lines=30)
    there.wait_for("60.0")
    there.type("n")
    there.wait_for("what no logger can know")
    drained(there, 2.0)
    assert drained(there, 6.0) <= 2  # a look or two at the bench behind it, in 6 s
    there.type("\x1b")
    there.wait_for(lambda text: "what no logger can know" not in text)
    there.type("qq")
    assert there.wait_for_end() == 0
