"""One background thread that looks at a bench: events hint, a slow sweep knows.

A share may keep a look waiting for minutes. Only this thread waits then; whoever shows the bench
takes what is ready and goes on.
"""

import threading
import time
from collections import deque
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import UTC, tzinfo
from pathlib import Path

from tui.feed.events import Events
from tui.feed.parse import joined_rows
from tui.feed.rows import Arrivals
from tui.feed.source import CellSource
from tui.settings.bench_toml import BenchToml
from tui.settings.places import Layout, Place, layout_signature, read_layout
from tui.settings.problems import Problem

THOROUGH_EVERY = 15
"""At every so many sweeps each file is opened, whatever its size and time say."""

_SETTLE_S = 0.05
"""How long a burst of events is let come together."""

_MOST_WAITING = 64
"""Arrivals that wait for `drain` before reading pauses."""


@dataclass(frozen=True, slots=True, eq=False)
class News:
    """What came since the last `drain`."""

    layout: Layout | None
    """The layout if it was read anew: at the start and when settings changed."""
    arrivals: tuple[Arrivals, ...]
    """In the order in which they came; they belong to the layout."""


class Watcher:
    """Looks at the files of a bench in the background."""

    def __init__(
        self, root: Path, *, sweep_s: float = 2.0, wake: Callable[[], None] | None = None
    ) -> None:
        self._root = root
        self._sweep_s = sweep_s
        self._wake = wake
        self._lock = threading.Lock()
        self._layout: Layout | None = None
        self._arrivals: deque[Arrivals] = deque()
        self._hinted: set[Path] = set()
        self._look = threading.Event()
        self._room = threading.Event()
        self._stopped = threading.Event()
        self._thread: threading.Thread | None = None

    def start(self) -> None:
        """Begin to look."""
        self._thread = threading.Thread(target=self._run, name="feed", daemon=True)
        self._thread.start()

    def drain(self) -> News:
        """Everything that waits; never blocks on a file."""
        with self._lock:
            news = News(self._layout, tuple(self._arrivals))
            self._layout = None
            self._arrivals.clear()
        self._room.set()
        return news

    def stop(self) -> None:
        """End the thread; one that a share keeps waiting is left to end by itself."""
        self._stopped.set()
        self._look.set()
        self._room.set()
        if self._thread is not None:
            self._thread.join(timeout=5.0)

    def _hint(self, folder: Path) -> None:
        with self._lock:
            self._hinted.add(folder)
        self._look.set()

    def _run(self) -> None:
        events = Events(self._hint)
        events.start()
        rounds = _Rounds(self._root, events, self._put_layout, self._put)
        try:
            rounds.go(thorough=True)
            sweeps, next_at = 0, time.monotonic() + self._sweep_s
            while not self._stopped.is_set():
                if self._look.wait(max(0.0, next_at - time.monotonic())):
                    self._stopped.wait(_SETTLE_S)
                self._look.clear()
                with self._lock:
                    folders, self._hinted = self._hinted, set()
                if time.monotonic() < next_at:
                    rounds.go_to(folders)
                    continue
                sweeps += 1
                rounds.go(thorough=sweeps % THOROUGH_EVERY == 0)
                next_at = time.monotonic() + self._sweep_s
        finally:
            events.stop()
            rounds.close()

    def _put_layout(self, layout: Layout) -> None:
        with self._lock:
            self._layout = layout
        self._awake()

    def _put(self, arrived: Arrivals) -> bool:
        """Queue an arrival, waiting for room; False when it is time to stop."""
        with self._lock:
            self._arrivals.append(arrived)
            full = len(self._arrivals) >= _MOST_WAITING
            if full:
                self._room.clear()
        self._awake()
        while full and not self._stopped.is_set() and not self._room.wait(0.5):
            continue
        return not self._stopped.is_set()

    def _awake(self) -> None:
        if self._wake is not None and not self._stopped.is_set():
            with suppress(RuntimeError):  # a screen that is just closing takes no more calls
                self._wake()


class _Rounds:
    """The sources of a bench and the rounds that are made through them, all in one thread."""

    def __init__(
        self,
        root: Path,
        events: Events,
        put_layout: Callable[[Layout], None],
        put: Callable[[Arrivals], bool],
    ) -> None:
        self._root = root
        self._events = events
        self._put_layout = put_layout
        self._put = put
        self._signature: object = None
        self._noted: str | None = None
        self._zone: tzinfo = UTC
        self._sources: dict[str, tuple[Place, CellSource]] = {}
        self._begin_again: set[str] = set()
        self._broken: dict[str, str] = {}

    def go(self, *, thorough: bool) -> None:
        """Look at the settings, then at the files of all cells."""
        self._look_at_settings()
        for folder, (place, source) in list(self._sources.items()):
            if folder in self._broken:
                if not thorough:
                    continue
                # Whatever state it was left in: it begins afresh.
                source.close()
                self._sources[folder] = (place, CellSource(place, self._root, self._zone))
                self._begin_again.add(folder)
            if not self._read(folder, self._sources[folder][1], thorough=thorough):
                return

    def go_to(self, folders: set[Path]) -> None:
        """Look earlier where something is said to have changed."""
        if self._root in folders:
            self._look_at_settings()
        for folder, (place, source) in list(self._sources.items()):
            hinted = place.path in folders and folder not in self._broken
            if hinted and not self._read(folder, source, thorough=False):
                return

    def close(self) -> None:
        """Let go of all sources."""
        for _, source in self._sources.values():
            source.close()

    def _look_at_settings(self) -> None:
        signature = layout_signature(self._root)
        trouble = self._events.trouble
        if signature == self._signature and trouble == self._noted:
            return
        layout = _layout_of(self._root)
        self._signature = signature
        self._keep_sources(layout)
        self._events.watch([self._root, *(place.path for place in layout.places)])
        self._noted = self._events.trouble
        if self._noted is not None:
            layout = replace(layout, problems=(*layout.problems, _no_events(self._noted)))
        self._put_layout(layout)

    def _keep_sources(self, layout: Layout) -> None:
        before, self._sources = self._sources, {}
        for place in layout.places:
            known = before.pop(place.folder, None)
            if known is not None and self._zone == layout.zone and _same(known[0], place):
                self._sources[place.folder] = known
                continue
            if known is not None:
                known[1].close()
                self._begin_again.add(place.folder)
            source = CellSource(place, layout.root, layout.zone)
            self._sources[place.folder] = (place, source)
        for _, source in before.values():
            source.close()
        self._zone = layout.zone

    def _read(self, folder: str, source: CellSource, *, thorough: bool) -> bool:
        while True:
            arrived = _guarded(folder, source, thorough=thorough)
            thorough = False
            if arrived is not None and (failure := _failure(arrived)) is not None:
                known, self._broken[folder] = self._broken.get(folder), failure
                return known == failure or self._put(arrived)
            self._broken.pop(folder, None)
            if folder in self._begin_again:
                self._begin_again.discard(folder)
                arrived = arrived or Arrivals(folder)
                arrived = replace(arrived, restart=True, problems=arrived.problems or ())
            if arrived is None:
                return True
            if not self._put(arrived):
                return False


def _same(before: Place, after: Place) -> bool:
    return (before.path, before.settings, before.log) == (after.path, after.settings, after.log)


def _layout_of(root: Path) -> Layout:
    try:
        return read_layout(root)
    except OSError as error:
        what = f"the bench cannot be read: {error.strerror or error}"
        problem = Problem("error", what, "make the folder readable; it is tried again")
        return Layout(root, BenchToml(), UTC, (), (), (problem,))


def _no_events(why: str) -> Problem:
    return Problem(
        "note",
        f"no change events from this bench ({why}); its files are looked at every few seconds",
        "nothing needs to be done; new rows show a little later",
    )


_BROKEN = "reading its logs failed: "


def _failure(arrived: Arrivals) -> str | None:
    told = (problem.what for problem in arrived.problems or ())
    return next((what for what in told if what.startswith(_BROKEN)), None)


def _guarded(folder: str, source: CellSource, *, thorough: bool = True) -> Arrivals | None:
    try:
        return source.read(thorough=thorough)
    except Exception as error:  # noqa: BLE001 - one broken source must not end the others' watch
        return Arrivals(
            folder,
            problems=(
                Problem(
                    "error",
                    f"{_BROKEN}{type(error).__name__}: {error}",
                    "report this with the log file; the other cells go on",
                    folder,
                ),
            ),
        )


def read_all(layout: Layout) -> tuple[Arrivals, ...]:
    """Everything that the logs of a bench hold now: one arrival a cell that has any."""
    answer: list[Arrivals] = []
    for place in layout.places:
        source = CellSource(place, layout.root, layout.zone)
        parts: list[Arrivals] = []
        while (arrived := _guarded(place.folder, source, thorough=not parts)) is not None:
            parts.append(arrived)
            if _failure(arrived) is not None:
                break
        source.close()
        if parts:
            answer.append(_whole(parts))
    return tuple(answer)


def _whole(parts: list[Arrivals]) -> Arrivals:
    rows = [part.rows for part in parts if part.rows is not None]
    told = [part.problems for part in parts if part.problems is not None]
    live = [part.live for part in parts if part.live is not None]
    return Arrivals(
        parts[0].folder,
        joined_rows(rows) if rows else None,
        live[-1] if live else None,
        tuple(one for part in parts for one in part.unused),
        told[-1] if told else None,
        any(part.restart for part in parts),
    )
