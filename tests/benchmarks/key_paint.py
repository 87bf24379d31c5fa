"""From a key to what it paints: the dashboard of the samples against an empty Textual app.

The key on the dashboard is the one for the next cell, which draws numbers, plot and two lanes anew;
the app's updates one label.
"""

import random
import time
from collections.abc import Iterator
from statistics import median

from first_frame import SAMPLES
from pairs import Ratio, Terminal

TURNS, KEYS, SETTLING_S = 5, 16, 6.0
SIZES = ((80, 24), (160, 48))
EMPTY = """
from textual.app import App
from textual.binding import Binding
from textual.widgets import Static
class Empty(App):
    BINDINGS = [Binding("j", "step(1)"), Binding("k", "step(-1)")]
    number = 0
    def compose(self):
        yield Static('an empty app 0')
    def action_step(self, by):
        self.number += by
        self.query_one(Static).update(f'an empty app {self.number}')
Empty().run()
"""


def measure() -> Iterator[Ratio]:
    """Both stand side by side and are asked in turns."""
    for columns, rows in SIZES:
        size = {"columns": columns, "rows": rows}
        watch = Terminal("-m", "tui.commands.main", "watch", str(SAMPLES), **size)
        watch.until(b"C6", 60.0)
        watch.read(SETTLING_S)
        empty = Terminal("-c", EMPTY, **size)
        empty.until(b"an empty app")
        try:
            turns = [(_answers(watch, empty), _answers(empty, watch)) for _ in range(TURNS)]
        finally:
            watch.close()
            empty.close()
        ours, theirs = ([one for turn in side for one in turn] for side in zip(*turns, strict=True))
        yield Ratio(f"key → paint at {columns} × {rows} / of an empty app, median",
                    median(ours), median(theirs),
                    median(median(a) / median(b) for a, b in turns), "s")  # fmt: skip
        yield Ratio("the same, longest", max(ours), max(theirs), max(ours) / max(theirs), "s")


def _answers(asked: Terminal, other: Terminal) -> list[float]:
    """Seconds from each of some keys to the first byte that it has painted."""
    chance = random.Random(20310203)
    found = []
    for number in range(KEYS):
        for terminal in (asked, other):
            terminal.read(chance.uniform(0.05, 0.15))
        while asked.read(0.1):  # what a beat has sent
            pass
        sent, begun = len(asked.seen), time.perf_counter()
        asked.press(b"jk"[number % 2 : number % 2 + 1])
        while len(asked.seen) == sent:
            asked.read(0.001)
            assert time.perf_counter() - begun < 10.0, asked.text()
        found.append(time.perf_counter() - begun)
    return found
