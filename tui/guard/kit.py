"""What a watch is given: where pictures, moments and settings come from, and who is told."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

from tui.bench.clock import Clock
from tui.bench.picture import Bench
from tui.guard.announcements import Writer
from tui.settings.alarm_tables import BenchAlarms


class Following(Protocol):
    """Something that knows the picture of the bench at every moment."""

    waits: bool

    def beat(self) -> Bench:
        """The picture as of now."""
        ...

    def call_on_arrival(self, call: Callable[[], object]) -> None:
        """Call this, from any thread, when something has arrived."""
        ...

    def close(self) -> None:
        """Let go of files and threads."""
        ...


@dataclass(frozen=True, slots=True)
class Kit:
    """What a watch is given."""

    root: Path
    following: Following
    clock: Clock
    ticks: Callable[[], float]
    """Seconds of a clock that is never set."""
    alarms: Callable[[], BenchAlarms]
    """`[alarms]` of the bench as it is now."""
    by: Writer
    say: Callable[[str], object]
    """Takes one line for whoever reads the watch's own output."""
    wake: Callable[[], object]
    """Called, from any thread, when there is something to do before the next beat."""
