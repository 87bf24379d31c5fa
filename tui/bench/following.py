"""A bench followed beat by beat: live from its files, replayed from its logs, or standing still.

The three differ only in where rows and the moment come from; the picture is made by `advance.py`.
What has come is folded first, and kept though drawing it fails.
"""

from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

import numpy as np

from tui.bench.advance import fold_of, folded, newest_time, redrawn, taken_up
from tui.bench.clock import Clock, FastClock, WallClock
from tui.bench.disks import DiskWatch
from tui.bench.look import look_at, newest_of
from tui.bench.picture import READING, Bench
from tui.bench.readings import in_time_order, picked
from tui.feed.rows import Arrivals
from tui.feed.source import CellSource
from tui.feed.watch import News, Watcher, read_all
from tui.journal.location import checkpoint_folders
from tui.journal.store import Journal
from tui.settings.places import Layout, read_layout
from tui.settings.zones import machine_zone

EVERY_BEATS = 5
"""At every so many beats one cell may be kept."""
WORTH_ROWS = 100
"""With fewer rows nothing is lost when a log is read again."""
FINISHED_WORTH_ROWS = 20_000
"""The same of a bench that does not grow: nobody will want to know who edited it."""
if TYPE_CHECKING:
    from tui.bench.checkpoints import Checkpoints, Kept


class _Source(Protocol):
    def drain(self) -> News: ...

    def again(self, folder: str) -> None: ...

    def call_on_arrival(self, call: Callable[[], object]) -> None: ...

    def stop(self) -> None: ...


class Following:
    """What the dashboard asks once a beat."""

    def __init__(
        self, source: _Source, root: Path, clock: Clock, *, follows_clock: bool = True
    ) -> None:
        self._keeping: _Keeping | None = None
        self._disks: DiskWatch | None = None
        self._source = source
        self._clock = clock
        self._follows_clock = follows_clock
        self._journal = Journal.open(root)
        self._version: object = None
        self._at_last_row = False
        self.waits = False
        """Whether more has arrived than the last beat took."""
        self._asked: set[str] = set()
        self._bench = Bench(
            at=clock.now(),
            folder=str(root),
            name=root.name,
            zone=machine_zone(),
            problems=(READING,),
            follows_clock=follows_clock,
        )

    @classmethod
    def live(cls, root: Path, clock: Clock) -> "Following":
        """Follow the files as the loggers write them.

        Args:
            root: the bench's folder.
            clock: tells now; a bench with `now = "last row"` goes by its newest row instead.
        """
        kept = _kept(root)
        sources = {folder: one.source for folder, one in kept.items()}
        watcher = Watcher(root, resumed=sources, write=_written)
        watcher.start()
        following = cls(watcher, root, clock)
        folds = {folder: one.fold for folder, one in kept.items()}
        following._bench = taken_up(following._bench, folds)
        following._keeping = _Keeping(root, kept, watcher)
        following._disks = DiskWatch(root)
        return following

    @classmethod
    def replay(cls, root: Path, speed: float) -> "Following":
        """Run through the logs from their start, a number of times faster than life."""
        reel = _Reel(read_layout(root))
        now = WallClock().now()
        first, last = reel.ends() or (now, now)
        clock = FastClock(first, speed, stop_at=last)
        reel.clock = clock
        return cls(reel, root, clock, follows_clock=False)

    @classmethod
    def fixed(cls, root: Path, at: float) -> "Standing":
        """The bench as it stood at a moment."""
        layout = read_layout(root)
        return Standing(look_at(layout, read_all(layout), at=at))

    def beat(self) -> Bench:
        """The picture of this moment."""
        version = self._journal.version()
        acts = problems = None
        if version != self._version:
            acts, problems = self._journal.acts(), self._journal.problems
        news = self._source.drain()
        self.waits = news.more
        # Kept whatever becomes of the look: what was drained comes no second time.
        self._bench = folded(
            self._bench,
            layout=news.layout,
            arrivals=news.arrivals,
            acts=acts,
            problems=problems,
            goes_on=True,
        )
        self._version = version
        if news.layout is not None:
            self._at_last_row = news.layout.bench.now == "last row" and self._follows_clock
        now = self._now(news)
        # A finished bench has no now of its own, and needs no more room.
        watch = None if self._at_last_row else self._disks
        disks = () if watch is None else watch.news(now) or ()
        bench = redrawn(self._bench, now=now, disks=disks, unread=news.unread)
        self._bench = replace(bench, follows_clock=self._follows_clock and not self._at_last_row)
        self._ask_again()
        if self._keeping is not None:
            worth = FINISHED_WORTH_ROWS if self._at_last_row else WORTH_ROWS
            self._keeping.beat(self._bench, news.arrivals, worth)
        return self._bench

    def call_on_arrival(self, call: Callable[[], object]) -> None:
        """Call this when something has arrived, from another thread."""
        self._source.call_on_arrival(call)

    def _ask_again(self) -> None:
        """Once for each cell that needs rows which it does not keep any more."""
        asking = {
            cell.folder
            for cell in self._bench.cells
            if (fold := fold_of(self._bench, cell.folder)) is not None and fold.asks_all
        }
        for folder in asking - self._asked:
            self._source.again(folder)
        self._asked = asking

    def _now(self, news: News) -> float:
        if not self._at_last_row:
            return self._clock.now()
        known = (newest_time(self._bench), newest_of(news.arrivals))
        return max((time for time in known if time is not None), default=self._clock.now())

    def close(self) -> None:
        """Let go of files and threads."""
        self._source.stop()
        self._journal.close()
        if self._keeping is not None:
            self._keeping.close()


def _kept(root: Path) -> "dict[str, Kept]":
    if not any(folder.is_dir() for folder in checkpoint_folders(root)):
        return {}
    from tui.bench.checkpoints import load_checkpoints  # noqa: PLC0415 (where there are any)

    return load_checkpoints(read_layout(root))


def _written(source: CellSource) -> bytes:
    from tui.bench.frozen import written  # noqa: PLC0415 (only once one is asked for)

    return written(source)


class _Keeping:
    """Keeps a cell now and then, at a moment when its source and its fold are at one row."""

    def __init__(self, root: Path, kept: "Mapping[str, Kept]", watcher: Watcher) -> None:
        self._root, self._kept, self._watcher = root, kept, watcher
        self._checkpoints: Checkpoints | None = None
        self._beats = 0
        self._turn = 0

    def beat(self, bench: Bench, arrivals: tuple[Arrivals, ...], worth_rows: int) -> None:
        """Keep what was asked for; ask for the next cell that is worth it.

        A mark stands behind the last rows of its cell, and both came to this beat in order. Rows
        that came behind the mark make its fold another: then it is asked again.
        """
        for place, arrived in enumerate(arrivals):
            fold = fold_of(bench, arrived.folder)
            later = any(one.folder == arrived.folder for one in arrivals[place + 1 :])
            if arrived.mark is not None and fold is not None and fold.is_whole and not later:
                self._open().save(arrived.mark, fold)
        self._beats += 1
        if self._beats % EVERY_BEATS:
            return
        # In turn, so that those that grow fast do not keep the others waiting.
        cells = (*bench.cells[self._turn :], *bench.cells[: self._turn])
        for place, cell in enumerate(cells, start=self._turn + 1):
            fold = fold_of(bench, cell.folder)
            if fold is None or not fold.is_whole or fold.rows < worth_rows:
                continue
            if self._open().wants(fold):
                self._turn = place % len(cells)
                self._watcher.ask(cell.folder)
                return

    def _open(self) -> "Checkpoints":
        if self._checkpoints is None:
            from tui.bench.checkpoints import Checkpoints  # noqa: PLC0415 (long logs only)

            self._checkpoints = Checkpoints(self._root)
            self._checkpoints.goes_on(self._kept)
        return self._checkpoints

    def close(self) -> None:
        """Wait for what is being written."""
        if self._checkpoints is not None:
            self._checkpoints.close()


class Standing:
    """A bench that does not change."""

    waits = False

    def __init__(self, bench: Bench) -> None:
        self._bench = bench

    def beat(self) -> Bench:
        """The same picture."""
        return self._bench

    def call_on_arrival(self, call: Callable[[], object]) -> None:
        """Nothing arrives."""

    def close(self) -> None:
        """Nothing is held."""


class _Reel:
    """All rows of a bench, let out as a clock passes them."""

    def __init__(self, layout: Layout) -> None:
        self._layout: Layout | None = layout
        self._arrivals = [
            replace(arrived, rows=in_time_order(arrived.rows), live=None)
            for arrived in read_all(layout)
            if arrived.rows is not None and len(arrived.rows)
        ]
        self._given = [0] * len(self._arrivals)
        self._restarts: set[str] = set()
        self.clock: Clock | None = None

    def ends(self) -> tuple[float, float] | None:
        """First and last time of all rows; None when there is none. [s]"""
        rows = [arrived.rows for arrived in self._arrivals if arrived.rows is not None]
        if not rows:
            return None
        return min(float(r.times[0]) for r in rows), max(float(r.times[-1]) for r in rows)

    def drain(self) -> News:
        """The rows that the clock has passed since the last call."""
        layout, self._layout = self._layout, None
        now = self.clock.now() if self.clock is not None else 0.0
        out: list[Arrivals] = []
        for place, arrived in enumerate(self._arrivals):
            assert arrived.rows is not None
            since = self._given[place]
            until = int(np.searchsorted(arrived.rows.times, now, side="right"))
            if until <= since:
                continue
            self._given[place] = until
            rows = picked(arrived.rows, np.arange(since, until))
            first = since == 0
            out.append(
                replace(
                    arrived,
                    rows=rows,
                    unused=arrived.unused if first else (),
                    problems=arrived.problems if first else None,
                    restart=first and arrived.folder in self._restarts,
                )
            )
        return News(layout, tuple(out))

    def again(self, folder: str) -> None:
        """Let out the rows of a cell once more."""
        for place, arrived in enumerate(self._arrivals):
            if arrived.folder == folder:
                self._given[place] = 0
                self._restarts.add(folder)

    def call_on_arrival(self, call: Callable[[], object]) -> None:
        """Rows come with the beats of its clock."""

    def stop(self) -> None:
        """Nothing is held."""
