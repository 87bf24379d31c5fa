"""The view with which somebody left a bench, kept for when they come back to it.

It lies in the user's state folder, one small file a bench. It is a comfort and never a reason to
stop: whatever is wrong with the file, or with writing it, the view begins as it would without.
"""

import json
import stat
import threading
from contextlib import suppress
from dataclasses import asdict, dataclass, fields, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal, get_args

from tui.ink.times import SPANS_S
from tui.journal.location import own_file
from tui.panes.orders import ORDERS
from tui.settings.safe_write import put

if TYPE_CHECKING:  # it is read before the first frame, which needs none of that
    from tui.panes.pane import View

FILE = "view.json"
_LONGEST = 16_384
"""What is longer was not written here. [bytes]"""
SOON_S = 1.0
"""From a change until it is written. [s]"""

Theme = Literal["dark", "light", "contrast"]
Units = Literal["SI", "US"]


@dataclass(frozen=True, slots=True)
class LastView:
    """What is remembered of a view; where a list has moved or is sought through is not."""

    span_s: float | None = None
    """Time across the lanes; None fits what there is. [s]"""
    order: str = "bench"
    """Of the lanes."""
    theme: Theme | None = None
    """As chosen by its key; None where nobody has."""
    units: Units | None = None
    """As chosen by their key; None where nobody has: then `bench.toml` says."""
    picked: str | None = None
    """Folder of the cell in focus."""
    plot: int = 0
    """Which of its plots."""

    def begun(self, view: "View") -> "View":
        """A view that goes on with what is remembered; units and colours are the caller's."""
        return replace(
            view, span_s=self.span_s, order=self.order, picked=self.picked, plot=self.plot
        )

    def after(self, before: "View", now: "View") -> "LastView":
        """What is to be remembered once somebody has changed a view.

        Units that an option or `bench.toml` named are not chosen by changing something else.
        """
        chosen = self.units if now.manner.units == before.manner.units else now.manner.units
        return replace(
            self, span_s=now.span_s, order=now.order, units=chosen, picked=now.picked, plot=now.plot
        )

    def coloured(self, name: str) -> "LastView":
        """With a theme that somebody chose, by its name for any number of colours."""
        chosen = next((one for one in get_args(Theme) if one == name.partition("-")[0]), None)
        return replace(self, theme=chosen)

    @property
    def possible(self) -> bool:
        """Whether all of it is what somebody can have chosen."""
        span_s, plot, picked = self.span_s, self.plot, self.picked
        return (
            (span_s is None or (_number(span_s) and SPANS_S[0] <= span_s <= SPANS_S[-1]))
            and self.order in ORDERS
            and self.theme in (None, *get_args(Theme))
            and self.units in (None, *get_args(Units))
            and (picked is None or (isinstance(picked, str) and len(picked) <= 4096))
            and (isinstance(plot, int) and _number(plot) and 0 <= plot <= 99)
        )


def _number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


class Memory:
    """The file of one bench: read once, written when the view has changed."""

    def __init__(self, path: Path | None) -> None:
        """Read it.

        Args:
            path: of the file; None where nothing is to be kept.
        """
        self._path = path
        self.last = LastView() if path is None else load(path)
        """As it was left, or stands by now."""
        self._written = self.last
        self._changed, self._leaving = threading.Event(), threading.Event()
        self._writer: threading.Thread | None = None

    @classmethod
    def of_bench(cls, root: Path) -> "Memory":
        """That of a bench, beside what else the user's state folder holds of it."""
        return cls(own_file(root).with_name(FILE))

    def keep(self, view: LastView) -> None:
        """Remember a view; it is written away from the screen, as a home may lie on a share."""
        if view == self.last:
            return
        self.last = view
        if self._path is None:
            return
        if self._writer is None:
            # whoever leaves does not wait for a share that has gone
            self._writer = threading.Thread(target=self._write, name="last view", daemon=True)
            self._writer.start()
        self._changed.set()

    def finish(self, within_s: float = 1.0) -> None:
        """Let what was changed last be written, as far as that is quick. [s]"""
        if self._writer is None:
            return
        self._leaving.set()
        self._changed.set()
        self._writer.join(within_s)
        if not self._writer.is_alive():
            self._writer = None
            self._leaving.clear()

    def _write(self) -> None:
        """Write what has changed until somebody leaves; what follows soon goes in one turn."""
        assert self._path is not None
        while not self._leaving.is_set() or self.last != self._written:
            self._changed.wait()
            self._leaving.wait(SOON_S)  # a key is answered first
            self._changed.clear()
            wanted = self.last
            if wanted != self._written:
                save(self._path, wanted)
                self._written = wanted


def load(path: Path) -> LastView:
    """What a file says; the defaults if it is none of ours, damaged, or cannot be read."""
    try:
        # a pipe in its place would keep one waiting for ever
        if not stat.S_ISREG(path.stat().st_mode):
            return LastView()
        with path.open("rb") as file:
            content = file.read(_LONGEST + 1)
        if len(content) > _LONGEST:
            return LastView()
        written: dict[str, Any] = json.loads(content)
        view = LastView(
            **{one.name: written[one.name] for one in fields(LastView) if one.name in written}
        )
        return view if view.possible else LastView()
    # whatever lies there: no JSON, no letters, no table, too deep, lists where words should be
    except (OSError, ValueError, TypeError, RecursionError):
        return LastView()


def save(path: Path, view: LastView) -> None:
    """Write a view whole or not at all; where it cannot be written, nothing is remembered."""
    with suppress(OSError):
        path.parent.mkdir(parents=True, exist_ok=True)
        put(path, json.dumps(asdict(view)).encode() + b"\n")
