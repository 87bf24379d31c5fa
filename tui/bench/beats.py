"""The one thread that makes pictures: it looks once a beat, and sooner when something has arrived.

Whoever shows the pictures only receives them: a look that takes long keeps no key waiting.
"""

import threading
import time
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

if TYPE_CHECKING:  # the first frame is painted before any picture
    from tui.bench.picture import Bench

EARLY_S = 0.1
"""A row that arrives is shown at once, but not sooner than this after the last look. [s]"""

LATER_S = 0.2
"""Behind a row that arrived, the next beat waits for its successor by so much longer: rows that
come once a beat are then looked at once a beat. [s]"""

SPARED_S = 1.0
"""Lines so slow that their beats are further apart than this are spared early looks. [s]"""

LEAVING_S = 2.0
"""How long a look that is being made is waited for when somebody leaves. [s]"""


class Following(Protocol):
    """Something that knows the picture of the bench at every moment."""

    waits: bool
    """Whether more has arrived than the last beat took."""

    def beat(self) -> "Bench":
        """The picture as of now."""
        ...

    def call_on_arrival(self, call: Callable[[], object]) -> None:
        """Call this, from any thread, when something has arrived."""
        ...

    def close(self) -> None:
        """Let go of files and threads."""
        ...


@dataclass(frozen=True, slots=True)
class Look:
    """What a look at the bench gave."""

    bench: "Bench | None"
    """The picture; the one before when the look failed, None before the first."""
    failure: Exception | None = None
    """Why the look failed; None when it did not."""


class Beats:
    """Looks at a bench until it is told to stop, then lets go of it."""

    def __init__(self, following: Following, beat_s: float, show: Callable[[Look], object]) -> None:
        """Nothing is looked at before `start`.

        Args:
            following: where pictures come from; from `start` on only the thread touches it.
            beat_s: time between two looks. [s]
            show: takes each look, in the thread that made it.
        """
        self._following = following
        self._beat_s = beat_s
        self._show = show
        self._bench: Bench | None = None
        self._due = threading.Event()
        self._stopped = threading.Event()
        self._thread: threading.Thread | None = None

    def start(self) -> None:
        """Begin to look."""
        if self._stopped.is_set():
            return
        if self._beat_s <= SPARED_S:
            self._following.call_on_arrival(self._due.set)
        # A look that something holds up must not keep the program from ending.
        self._thread = threading.Thread(target=self._run, name="pictures", daemon=True)
        self._thread.start()

    def look(self) -> Look:
        """Look once, in the thread that calls."""
        try:
            self._bench = self._following.beat()
        except Exception as error:  # noqa: BLE001 - a failed look must not end the looking
            return Look(self._bench, error)
        return Look(self._bench)

    def stop(self) -> None:
        """Look no more; what was followed is let go of behind the look that is being made."""
        if self._stopped.is_set():
            return
        self._stopped.set()
        self._due.set()
        if self._thread is None:
            self._following.close()

    def close(self) -> None:
        """Stop, and wait a while for the end of the look that is being made."""
        self.stop()
        if self._thread is not None:
            self._thread.join(LEAVING_S)

    def _run(self) -> None:
        # Files of the journal belong to the thread that opened them: it closes them, too.
        try:
            early = False
            while not self._stopped.is_set():
                begun = time.monotonic()
                self._due.clear()
                look = self.look()
                with suppress(RuntimeError):  # a screen that is just closing takes no more looks
                    self._show(look)
                looked_at = time.monotonic()
                if not self._following.waits:
                    next_at = begun + self._beat_s + (LATER_S if early else 0.0)
                    early = self._due.wait(max(0.0, next_at - looked_at))
                self._stopped.wait(max(0.0, looked_at + EARLY_S - time.monotonic()))
        finally:
            self._following.close()
