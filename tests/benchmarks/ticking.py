"""A live bench without a new row: what its ages and countdowns cost, in bytes and in CPU."""

import tempfile
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

from latency import CELL, HEADER
from pairs import Ratio, Terminal

FOR_S, SLICES = 60.0, 100
STARTING_S = 4.0
SCHEDULE = """[schedule]
saturation = { kind = "every", step = "3660 s", slots = 200 }
"""
TICKING_S = (2.0, 31.0, 58.0, 75.0, 590.0, 3_580.0, 7_300.0, 90_000.0)
"""Ages of the newest rows: seconds, minutes, hours, days, and all that change into the next."""
QUIET_S = (75.0, 130.0, 190.0, 590.0, 3_580.0, 7_300.0, 7_900.0, 90_000.0)
"""Ages that are told in minutes or longer."""
TIMER = """
import time
from textual.app import App
from textual.widgets import Static
class Empty(App):
    def compose(self):
        yield Static('an empty app')
    def on_mount(self):
        self.set_interval(1.0, self.tick)
    def tick(self):
        {}
Empty().run()
"""
NOTHING = TIMER.format("pass")
LABEL = TIMER.format("self.query_one(Static).update(f'an empty app {int(time.time())}')")


def measure() -> Iterator[Ratio]:
    """Eight cells each, a minute at once for all; the pairs share their minute."""
    for what, ages, schedule in (
        ("ages and countdowns tick in seconds", TICKING_S, SCHEDULE),
        ("ages are told in minutes", QUIET_S, ""),
    ):
        with tempfile.TemporaryDirectory() as folder:
            _bench(Path(folder), ages, schedule)
            watch = _started("-m", "tui.commands.main", "watch", folder)
            others = {"of nothing": _started("-c", NOTHING), "of one label": _started("-c", LABEL)}
            try:
                yield from _compared(what, watch, others)
            finally:
                for terminal in (watch, *others.values()):
                    terminal.close()


def _compared(what: str, watch: Terminal, others: dict[str, Terminal]) -> Iterator[Ratio]:
    all_of_them = (watch, *others.values())
    began = {terminal: terminal.cpu_seconds() for terminal in all_of_them}
    before = len(watch.seen)
    for _ in range(SLICES):  # all are read, so that none waits for room in its terminal
        for terminal in all_of_them:
            terminal.read(FOR_S / SLICES / len(all_of_them))
    sent = (len(watch.seen) - before) / FOR_S
    used = {terminal: terminal.cpu_seconds() - began[terminal] for terminal in all_of_them}
    yield Ratio(f"bytes a second while {what}", sent, 300.0, sent / 300.0, "B/s allowed")
    for name, other in others.items():
        yield Ratio(f"CPU while {what} / of an empty app with a timer {name}",
                    used[watch], used[other], used[watch] / used[other], "s a minute")  # fmt: skip


def _started(*arguments: str) -> Terminal:
    terminal = Terminal(*arguments, columns=80, rows=24)
    terminal.read(STARTING_S)
    return terminal


def _bench(root: Path, ages: tuple[float, ...], schedule: str) -> None:
    (root / "bench.toml").write_text('zone = "UTC"\n')
    now = datetime.now(UTC)
    for number, age in enumerate(ages, 1):
        cell = root / f"C{number}"
        cell.mkdir()
        (cell / "cell.toml").write_text(CELL.format(name=cell.name) + schedule)
        stamps = (now - timedelta(seconds=age + 60.0 * back) for back in range(60, -1, -1))
        rows = (f"{stamp:%Y-%m-%dT%H:%M:%S},320.1,310.2,309.9,1.25\n" for stamp in stamps)
        (cell / "log.csv").write_text(HEADER + "".join(rows))
