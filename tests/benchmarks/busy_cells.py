"""What a busy bench costs: bytes and CPU of 16 cells that get a row a second each.

Beside it an otherwise empty Textual app that changes as many signs a second, in as many runs, as
were seen to change on the dashboard, and `top` (or btop, where it is installed) at the same beat.
All run in the same minute in terminals of one size: a busy machine is busy for all of them.
"""

import shutil
import tempfile
import time
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

from many_cells_keys import Loggers, Rehearsed, used
from pairs import Ratio, Terminal

CELLS, FOR_S, SETTLING_S, READ_WITHIN_S = 16, 25.0, 8.0, 120.0
THINNED = 30
"""Before the begin one row in so many: reading a backlog is not what is measured."""
SIZES = ((80, 24), (160, 48))
ALLOWED = 2_500.0
"""Bytes a second at 80 × 24 that a slow line carries beside what people type."""
EMPTY = """
import sys
from textual.app import App
from textual.geometry import Region
from textual.strip import Strip
from rich.segment import Segment
from textual.widget import Widget
SIGNS, RUNS = int(sys.argv[1]), int(sys.argv[2])
LONG = max(1, SIGNS // max(1, RUNS))
class Changing(Widget):
    number = 0
    def render_line(self, y):
        width = self.size.width
        line = "".join(str((self.number + y + x) % 10) for x in range(width))
        return Strip([Segment(line, self.rich_style)], width)
    def change(self):
        self.number += 1
        width, height = self.size
        across = max(1, width // (LONG + 1))
        self.refresh(*(Region(run // height % across * (LONG + 1), run % height, LONG, 1)
                       for run in range(RUNS)))
class Empty(App):
    def compose(self):
        yield Changing()
    def on_mount(self):
        self.set_interval(1.0, self.query_one(Changing).change)
Empty().run()
"""


@dataclass
class Spent:
    """What one program used and sent in a while."""

    bytes_a_second: float
    cpu: float
    """Share of a processor."""
    screen_cpu: float
    """Of it, by the thread that draws."""


def measure() -> Iterator[Ratio | str]:
    """A small terminal and a wide one; the small one also with --quiet-link."""
    with tempfile.TemporaryDirectory() as folder, busy_bench(Path(folder)) as loggers:
        for size in SIZES:
            yield from _at(loggers.root, *size)
        yield from _quiet(loggers.root)


def busy_bench(folder: Path) -> Loggers:
    """Every cell gets a row a second, all at one moment, and shows another pressure with each."""
    rehearsed = Rehearsed(folder / "rehearsed")
    return Loggers(
        folder / "bench", rehearsed, CELLS, together=True, thinned=THINNED, unsteady_kPa=1.0
    )


def _at(root: Path, columns: int, rows: int) -> Iterator[Ratio | str]:
    watch = _watch(root, columns, rows)
    try:
        ours, signs, runs = changes(watch)
        empty = Terminal("-c", EMPTY, str(signs), str(runs), columns=columns, rows=rows)
        other, arguments = _other()
        beside = Terminal(*arguments, columns=columns, rows=rows, program=other)
        try:
            for terminal in (empty, beside):
                terminal.read(2.0)
            used_by, theirs, tops = spent((watch, empty, beside))
        finally:
            empty.close()
            beside.close()
    finally:
        watch.close()
    what = f"{CELLS} busy cells at {columns} × {rows}"
    yield f"{what}: {signs} signs in {runs} runs change a second"
    name = Path(other).name
    yield f"  {name} at the same beat: {tops.bytes_a_second:.0f} B/s, CPU {tops.cpu:.1%}"
    sent = theirs.bytes_a_second
    yield Ratio(f"bytes of {what} / of an empty app with as many changes", ours, sent,
                ours / sent, "B/s")  # fmt: skip
    if (columns, rows) == SIZES[0]:
        yield Ratio("bytes of the same / 2.5 kB/s", ours, ALLOWED, ours / ALLOWED, "B/s")
    mine, its = used_by.cpu, theirs.cpu
    yield Ratio("CPU of the same, reading and reducing included", mine, its, mine / its, "CPU")
    mine, its = used_by.screen_cpu, theirs.screen_cpu
    yield Ratio("CPU of the thread that draws / of that app's", mine, its, mine / its, "CPU")


def _quiet(root: Path) -> Iterator[Ratio]:
    quiet, usual = _watch(root, 80, 24, "--quiet-link"), _watch(root, 80, 24)
    try:
        ours, theirs = spent((quiet, usual))
    finally:
        quiet.close()
        usual.close()
    sent, usually = ours.bytes_a_second, theirs.bytes_a_second
    yield Ratio("bytes with --quiet-link / without, 80 × 24", sent, usually, sent / usually, "B/s")
    yield Ratio("CPU of the same", ours.cpu, theirs.cpu, ours.cpu / theirs.cpu, "CPU")


def _watch(root: Path, columns: int, rows: int, *options: str) -> Terminal:
    command = ("-m", "tui.commands.main", "watch", str(root), *options)
    watch = Terminal(*command, columns=columns, rows=rows)
    ready(watch)
    return watch


def ready(watch: Terminal) -> None:
    """Until every cell is read and has its phase, and what came meanwhile is shown."""
    while "C1 " not in (text := watch.text()) or "◦" in text:
        watch.read(0.5)
        assert time.perf_counter() - watch.began < READ_WITHIN_S, watch.text()
    watch.read(SETTLING_S)


def _other() -> tuple[str, tuple[str, ...]]:
    """btop where it is, else what every machine has; both once a second."""
    if btop := shutil.which("btop"):
        return btop, ("--update", "1000")
    return shutil.which("top") or "top", ("-d", "1")


def changes(terminal: Terminal, seconds: int = int(FOR_S)) -> tuple[float, int, int]:
    """Bytes a second, and the signs that they change, in how many runs; the mean of a while."""
    signs = runs = sent = 0
    before = terminal.cells()
    for _ in range(seconds):
        sent += terminal.read(1.0)
        after = terminal.cells()
        for old, new in zip(before, after, strict=True):
            changed = [a != b for a, b in zip(old, new, strict=True)]
            signs += sum(changed)
            runs += sum(now and not was for was, now in pairwise([False, *changed]))
        before = after
    return sent / seconds, max(1, round(signs / seconds)), max(1, round(runs / seconds))


def spent(terminals: tuple[Terminal, ...], for_s: float = FOR_S) -> list[Spent]:
    """What several programs use and send in the same while; all are read all the time."""
    for one in terminals:  # what has piled up while the others were begun
        one.read(1.0)
    began = [(len(one.seen), used(one.pid)) for one in terminals]
    slices = int(for_s * 10)
    for _ in range(slices):
        for one in terminals:
            one.read(for_s / slices / len(terminals))
    found = []
    for one, (sent, before) in zip(terminals, began, strict=True):
        now = used(one.pid)
        found.append(
            Spent(
                (len(one.seen) - sent) / for_s,
                (now.total() - before.total()) / for_s,
                (now[str(one.pid)] - before[str(one.pid)]) / for_s,
            )
        )
    return found
