"""The life of a watch: it waits for its turn, keeps watch beat by beat, and hands over in order."""

import time
from collections.abc import Callable
from contextlib import suppress
from datetime import UTC, datetime
from pathlib import Path
from queue import Empty, SimpleQueue

from tui.bench.clock import Clock
from tui.guard.announcements import Writer
from tui.guard.duty import Duty, Holder, LostError
from tui.guard.keeping import Keeping
from tui.guard.kit import Following, Kit
from tui.journal.store import Journal
from tui.settings.alarm_tables import BenchAlarms
from tui.settings.folders import BENCH_FILE
from tui.settings.reading import read_bench

BEAT_S = 1.0
"""Longest time between two looks. [s]"""
APART_S = 0.02
"""Shortest; what arrives meanwhile is in the next. [s]"""
TURN_S = 1.0
"""How often a guard that waits looks whether the watch is free. [s]"""
ONCE_S = 30.0
"""How long a single look waits for its messages to be taken. [s]"""
LEAVING_S = 3.0
"""How long a watch that ends waits for messages on their way, so that none goes twice. [s]"""


class Bell:
    """Wakes the watch; may be rung from any thread, and from within a signal's handler."""

    def __init__(self) -> None:
        self._rung: SimpleQueue[None] = SimpleQueue()
        self.is_over = False
        """Whether somebody has asked the watch to end."""

    def ring(self) -> None:
        """Something is to be done."""
        self._rung.put(None)

    def end(self) -> None:
        """The watch is to end."""
        self.is_over = True
        self._rung.put(None)

    def wait(self, for_s: float) -> None:
        """Wait until it rings, or time is over."""
        with suppress(Empty):
            self._rung.get(timeout=max(0.0, for_s))
            while True:
                self._rung.get_nowait()


class AlarmSettings:
    """`[alarms]` of `bench.toml` as it is now; what stood last while it cannot be read."""

    def __init__(self, root: Path) -> None:
        self._path = root / BENCH_FILE
        self._seen: object = None
        self._alarms = BenchAlarms.model_validate({})

    def __call__(self) -> BenchAlarms:
        """The tables; the file is read only when it has changed."""
        try:
            stat = self._path.stat()
        except OSError:
            return self._alarms
        seen = (stat.st_ino, stat.st_size, stat.st_mtime_ns)
        if seen != self._seen:
            self._seen = seen
            file = read_bench(self._path)
            refused = any(
                (problem.key or "alarms").startswith("alarms") for problem in file.problems
            )
            if not refused or not self._alarms.routes:
                self._alarms = file.settings.alarms
        return self._alarms


class Night:
    """Everything that a watch of one bench needs."""

    def __init__(
        self,
        root: Path,
        clock: Clock,
        by: Writer,
        say: Callable[[str], object],
        *,
        open_following: Callable[[], Following],
        beat_s: float = BEAT_S,
    ) -> None:
        """Nothing is opened yet.

        Args:
            root: the bench.
            clock: tells now.
            by: in whose name entries are written.
            say: takes a line for whoever reads the watch's output.
            open_following: begins to follow the bench, once the watch is ours.
            beat_s: longest time between two looks. [s]
        """
        self.bell = Bell()
        self._root, self._clock, self._by, self._say = root, clock, by, say
        self._open, self._beat_s = open_following, beat_s
        self._alarms = AlarmSettings(root)

    def keep(self) -> None:
        """Keep watch until the bell says that it is over; waits first while another keeps it.

        Raises:
            OSError: nothing at all can be written, so it cannot be told who keeps the watch.
        """
        while not self.bell.is_over:
            duty = Duty(self._root)
            if not self._waited(duty):
                return
            try:
                self._kept(duty)
            except LostError as lost:
                self._say(f"{lost}; waiting for it to end")
            finally:
                duty.leave()

    def once(self) -> tuple[Keeping | None, Holder | None]:
        """One look; or who keeps the watch already, and then nothing is journalled or told."""
        duty = Duty(self._root)
        if (holder := duty.take(self._clock.now())) is not None:
            return None, holder
        journal = Journal.open(self._root)
        following = self._open()
        try:
            keeping = self._keeping(following, journal, duty, comes_back=False)
            begun = time.monotonic()
            keeping.beat()
            while keeping.is_busy and time.monotonic() - begun < ONCE_S and not self.bell.is_over:
                self.bell.wait(self._beat_s)
                keeping.beat()
        except LostError as lost:
            return None, lost.holder
        else:
            return keeping, None
        finally:
            following.close()
            journal.close()
            duty.leave()

    def _waited(self, duty: Duty) -> bool:
        """Whether the watch is ours; waits until it is, or until it is over."""
        told: tuple[str, int] | None = None
        while not self.bell.is_over:
            holder = duty.take(self._clock.now())
            if holder is None:
                return True
            if told != (holder.host, holder.pid):
                told = holder.host, holder.pid
                self._say(f"{holder_words(holder, self._clock.now())}; waiting to take over")
            self.bell.wait(TURN_S)
        return False

    def _keeping(
        self, following: Following, journal: Journal, duty: Duty, *, comes_back: bool
    ) -> Keeping:
        kit = Kit(
            self._root, following, self._clock, time.monotonic, self._alarms, self._by, self._say,
            self.bell.ring,
        )  # fmt: skip
        following.call_on_arrival(self.bell.ring)
        return Keeping(kit, journal, duty, comes_back=comes_back)

    def _kept(self, duty: Duty) -> None:
        journal = Journal.open(self._root)
        following = self._open()
        try:
            keeping = self._keeping(following, journal, duty, comes_back=True)
            keeping.enter("on duty")
            while not self.bell.is_over:
                begun = time.monotonic()
                keeping.beat()
                left = self._beat_s - (time.monotonic() - begun)
                self.bell.wait(0.0 if following.waits else left)
                time.sleep(max(0.0, APART_S - (time.monotonic() - begun)))
            until = time.monotonic() + LEAVING_S
            while keeping.is_busy and time.monotonic() < until:
                self.bell.wait(0.1)
                keeping.collect()
            keeping.enter("off duty")
        finally:
            following.close()
            journal.close()


def holder_words(holder: Holder, now: float) -> str:
    """Who keeps the watch, and since when.

    Example:
        >>> holder_words(Holder("lab-2", 311, 0.0, 95.0), 100.0)
        'the watch is kept by process 311 on lab-2 since 1970-01-01 00:00 UTC, last beat 5 s ago'
    """
    since = f"{datetime.fromtimestamp(holder.since, UTC):%Y-%m-%d %H:%M} UTC"
    beat_s = max(0.0, now - holder.beat_at)
    return (
        f"the watch is kept by process {holder.pid} on {holder.host} since {since}, "
        f"last beat {beat_s:.0f} s ago"
    )
