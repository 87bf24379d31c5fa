"""Benches of one cell that the tests of the feed write logs into."""

from dataclasses import dataclass, field
from pathlib import Path

from tui.feed.rows import Arrivals, LiveRow, Rows, UnusedRow
from tui.feed.source import CellSource
from tui.settings.places import read_layout
from tui.settings.problems import Problem

CELL = """[cell]
name = "C1"
rating = "1700 kPa"
[test]
id = "T1"
kind = "CU"
started = "2031-02-03T08:00"
[specimen]
diameter = "50 mm"
height = "100 mm"
"""


@dataclass
class Told:
    """Everything that a source handed on, put together."""

    times: list[float] = field(default_factory=list)
    values: dict[str, list[float]] = field(default_factory=dict)
    words: dict[str, list[str | None]] = field(default_factory=dict)
    unused: list[UnusedRow] = field(default_factory=list)
    live: list[LiveRow] = field(default_factory=list)
    problems: tuple[Problem, ...] = ()
    restarts: int = 0
    calls: int = 0

    def add(self, arrived: Arrivals) -> None:
        self.calls += 1
        if arrived.restart:
            self.restarts += 1
            self.times, self.values, self.words, self.unused = [], {}, {}, []
        if arrived.rows is not None:
            self._add_rows(arrived.rows)
        self.unused += arrived.unused
        if arrived.live is not None:
            self.live.append(arrived.live)
        if arrived.problems is not None:
            self.problems = arrived.problems

    def _add_rows(self, rows: Rows) -> None:
        before = len(self.times)
        self.times += rows.times.tolist()
        for name, column in rows.channels.items():
            self.values.setdefault(name, [float("nan")] * before).extend(column.tolist())
        for name, words in rows.words.items():
            self.words.setdefault(name, [None] * before).extend(words)
        for column in self.values.values():
            column.extend([float("nan")] * (len(self.times) - len(column)))

    def said(self, part: str) -> Problem:
        """The problem that says something."""
        found = [problem for problem in self.problems if part in problem.what]
        assert found, f"{part!r} is not in {[problem.what for problem in self.problems]}"
        return found[0]


@dataclass
class OneCell:
    """A bench with one cell."""

    root: Path
    source: CellSource
    told: Told = field(default_factory=Told)

    @property
    def folder(self) -> Path:
        return self.root / "C1"

    def write(self, name: str, text: str | bytes, encoding: str = "utf-8") -> Path:
        path = self.folder / name
        path.write_bytes(text if isinstance(text, bytes) else text.encode(encoding))
        return path

    def append(self, name: str, text: str | bytes, encoding: str = "utf-8") -> None:
        with (self.folder / name).open("ab") as opened:
            opened.write(text if isinstance(text, bytes) else text.encode(encoding))

    def read(self, *, thorough: bool = True) -> Told:
        while (arrived := self.source.read(thorough=thorough)) is not None:
            self.told.add(arrived)
        return self.told


def one_cell(root: Path, log: str = "", zone: str = "UTC") -> OneCell:
    """A bench whose cell has the given lines in its `[log]` tables."""
    (root / "C1").mkdir(parents=True, exist_ok=True)
    (root / "bench.toml").write_text(f'zone = "{zone}"\n', encoding="utf-8")
    (root / "C1" / "cell.toml").write_text(CELL + log, encoding="utf-8")
    layout = read_layout(root)
    place = layout.places[0]
    assert place.problems == (), place.problems
    return OneCell(root, CellSource(place, layout.root, layout.zone))
