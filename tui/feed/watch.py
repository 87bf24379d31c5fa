"""One background thread that looks at a bench: events hint, a slow sweep knows.

A share may keep a look waiting for minutes. Only this thread waits then; whoever shows the bench
takes what is ready and goes on.
"""

import threading
import time
from collections import deque
from collections.abc import Callable, Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from tui.feed.batches import joined_rows
from tui.feed.rounds import Rounds, failure_of, guarded
from tui.feed.rows import Arrivals
from tui.feed.source import CellSource
from tui.settings.places import Layout

THOROUGH_EVERY = 15
"""At every so many sweeps each file is opened, whatever its size and time say."""

_BURST_S = 0.01
"""How long a burst of events is let come together."""
_APART_S = 0.05
"""Between two looks that events ask for: a logger that writes letter by letter costs no more."""

_TOGETHER_S = 0.05
"""Loggers write at one moment what is then read file by file: so long whoever shows it waits for
the end of the round, and looks once."""

_MOST_WAITING = 64
"""Arrivals that wait for `drain` before reading pauses."""

MOST_ROWS_AT_ONCE = 10_000
"""Rows that are handed on at a time: whoever folds them has to answer keys in between."""


@dataclass(frozen=True, slots=True, eq=False)
class News:
    """What came since the last `drain`."""

    layout: Layout | None
    """The layout if it was read anew: at the start and when settings changed."""
    arrivals: tuple[Arrivals, ...]
    """In the order in which they came; they belong to the layout."""
    more: bool = False
    """Whether others wait already: so many rows are not handed on at once."""
    unread: frozenset[str] = frozenset()
    """Folders of cells whose logs have not been handed on to their end yet."""


class Watcher:
    """Looks at the files of a bench in the background."""

    def __init__(
        self,
        root: Path,
        *,
        sweep_s: float = 2.0,
        resumed: Mapping[str, CellSource] | None = None,
        write: Callable[[CellSource], bytes] | None = None,
    ) -> None:
        self._root = root
        self._sweep_s = sweep_s
        self._wake: Callable[[], object] | None = None
        self._resumed, self._write = resumed, write
        self._asked: set[str] = set()
        self._again: set[str] = set()
        self._rounds: Rounds | None = None
        self._lock = threading.Lock()
        self._layout: Layout | None = None
        self._arrivals: deque[Arrivals] = deque()
        self._hinted: set[Path] = set()
        self._look = threading.Event()
        self._room = threading.Event()
        self._stopped = threading.Event()
        self._untold: float | None = None
        """Since when something waits of which nobody was told. [s]"""
        self._thread: threading.Thread | None = None

    def start(self) -> None:
        """Begin to look."""
        self._thread = threading.Thread(target=self._run, name="feed", daemon=True)
        self._thread.start()

    def drain(self) -> News:
        """What waits, in portions that are soon folded; never blocks on a file."""
        arrivals: list[Arrivals] = []
        rows = 0
        with self._lock:
            while self._arrivals and rows < MOST_ROWS_AT_ONCE:
                arrivals.append(self._arrivals.popleft())
                rows += len(arrivals[-1].rows or ())
            # Asked in here: what a cell had when it came to its end has been put by then.
            unread = frozenset() if self._rounds is None else self._rounds.unread
            unread -= {arrived.folder for arrived in arrivals if not arrived.more}
            unread |= {arrived.folder for arrived in self._arrivals}
            news = News(self._layout, tuple(arrivals), bool(self._arrivals), unread)
            self._layout = None
        self._room.set()
        return news

    def call_on_arrival(self, call: Callable[[], object]) -> None:
        """Call this from the thread that reads when something waits for `drain`."""
        self._wake = call

    def ask(self, folder: str) -> None:
        """Let the state of a cell's source come behind its next rows: see `Arrivals.mark`."""
        with self._lock:
            self._asked.add(folder)
        self._look.set()

    def again(self, folder: str) -> None:
        """Read the logs of a cell once more from their start; they come as a restart."""
        with self._lock:
            self._again.add(folder)
        self._look.set()

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
        # Only who watches pays for watchdog; `status` and `check` read once.
        from tui.feed.events import Events  # noqa: PLC0415

        events = Events(self._hint)
        events.start()
        rounds = Rounds(self._root, events, self._put_layout, self._put, self._resumed, self._write)
        self._rounds = rounds
        try:
            rounds.go(thorough=True)
            self._tell()
            looked_at = time.monotonic()
            sweeps, next_at = 0, looked_at + self._sweep_s
            while not self._stopped.is_set():
                if self._look.wait(max(0.0, next_at - time.monotonic())):
                    self._stopped.wait(max(_BURST_S, looked_at + _APART_S - time.monotonic()))
                self._look.clear()
                with self._lock:
                    folders, self._hinted = self._hinted, set()
                    rounds.asked |= self._asked
                    again, self._again = self._again, set()
                    self._asked.clear()
                for folder in again:
                    rounds.again(folder)
                if time.monotonic() < next_at:
                    rounds.go_to(folders)
                    self._tell()
                    looked_at = time.monotonic()
                    continue
                sweeps += 1
                rounds.go(thorough=sweeps % THOROUGH_EVERY == 0)
                self._tell()
                looked_at = time.monotonic()
                next_at = looked_at + self._sweep_s
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
        now = time.monotonic()
        self._untold = now if self._untold is None else self._untold
        if full or now - self._untold >= _TOGETHER_S:
            self._tell()
        while full and not self._stopped.is_set() and not self._room.wait(0.5):
            continue
        return not self._stopped.is_set()

    def _tell(self) -> None:
        if self._untold is not None:
            self._untold = None
            self._awake()

    def _awake(self) -> None:
        if self._wake is not None and not self._stopped.is_set():
            with suppress(RuntimeError):  # a screen that is just closing takes no more calls
                self._wake()


def read_all(layout: Layout, resumed: Mapping[str, CellSource] | None = None) -> Iterator[Arrivals]:
    """Everything that the logs of a bench hold now: one arrival a cell that has any.

    Cell by cell: whoever folds them as they come never holds the rows of two.

    Args:
        layout: the bench.
        resumed: sources that go on from a checkpoint; theirs is what has come since.
    """
    for place in layout.places:
        source = (resumed or {}).get(place.folder) or CellSource(place, layout.root, layout.zone)
        parts: list[Arrivals] = []
        while (arrived := guarded(place.folder, source, thorough=not parts)) is not None:
            parts.append(arrived)
            if failure_of(arrived) is not None:
                break
        source.close()
        if parts:
            yield _whole(parts)


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
        counted_back_s=max(part.counted_back_s for part in parts),
    )
