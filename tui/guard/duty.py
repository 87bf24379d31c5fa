"""Who keeps the watch: one guard a bench.

On one host a lock tells, which ends with its process however that ends. Between hosts (a bench on a
share) the age of the last beat tells, because locks do not always reach there: a guard that has not
been heard of for `SILENT_S` is taken to be dead, and finds out by itself if it is not.

What the guard does stands in `.porewatch/duty.json`: whoever looks computes from it whether the
watch is kept. Where the bench cannot be written, both lie in the user's state folder.
"""

import json
import math
import os
import re
import socket
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from filelock import FileLock, Timeout

from tui.bench.picture import Guard
from tui.journal.location import own_file, shared_file
from tui.settings.problems import Problem, clean

SILENT_S = 60.0
"""A guard whose last beat is older than this keeps no watch. [s]"""
WRITTEN_S = 1.0
"""The file is written at most so often. [s]"""
_FILE = "duty.json"
_SCHEMA = "porewatch.duty/1"


@dataclass(frozen=True, slots=True)
class Holder:
    """Who holds the watch, or did."""

    host: str
    pid: int
    since: float
    """[s]"""
    beat_at: float
    """When it last said that it lives. [s]"""
    troubles: tuple[str, ...] = ()
    """What it says is wrong with the watch."""

    def is_alive(self, now: float) -> bool:
        """Whether it keeps the watch, as far as can be told from here."""
        if now - self.beat_at > SILENT_S:
            return False
        return self.host != socket.gethostname() or _runs(self.pid)


class LostError(Exception):
    """Another guard has taken the watch meanwhile; says who."""

    def __init__(self, holder: Holder) -> None:
        super().__init__(f"the watch was taken by process {holder.pid} on {holder.host}")
        self.holder = holder


class Duty:
    """The watch of one bench, in the hands of this process or not."""

    def __init__(self, root: Path) -> None:
        self._root = root
        self.folder = shared_file(root).parent
        self._lock: FileLock | None = None
        self._since = 0.0
        self._written_at = 0.0
        self._written: dict[str, Any] = {}
        self.refused: str | None = None
        """Why the last beat could not be written; None when it could."""

    def take(self, now: float) -> Holder | None:
        """Take the watch; gives who holds it instead, or None when it is ours.

        Args:
            now: the moment. [s]

        Raises:
            OSError: neither the bench nor the user's state folder can be written.
        """
        if (holder := self._holder()) is not None and not _is_ours(holder) and holder.is_alive(now):
            return holder
        lock = self._locked()
        if lock is None:
            # Its process lives, whatever its last beat says.
            return self._holder() or Holder(socket.gethostname(), 0, now, now)
        self._lock, self._since = lock, now
        self.beat(now, {}, forced=True)
        return None

    def _locked(self) -> FileLock | None:
        name = re.sub(r"[^A-Za-z0-9.-]", "_", socket.gethostname())[:80]
        for folder in (shared_file(self._root).parent, own_file(self._root).parent):
            lock = FileLock(folder / f"duty-{name}.lock", timeout=0)
            try:
                folder.mkdir(parents=True, exist_ok=True)
                lock.acquire()
            except Timeout:
                return None
            except (OSError, NotImplementedError) as error:
                refused = error
                continue
            self.folder = folder
            return lock
        raise OSError(f"neither the bench nor the user's state folder can be written ({refused})")

    def beat(self, now: float, evaluated: dict[str, Any], *, forced: bool = False) -> None:
        """Say that this guard lives, and what it has evaluated.

        Args:
            now: the moment. [s]
            evaluated: plain values; "troubles" is shown to whoever looks.

        Raises:
            LostError: another guard holds the watch.
        """
        troubles = evaluated.get("troubles") != self._written.get("troubles")
        if not forced and not troubles and 0.0 <= now - self._written_at < WRITTEN_S:
            return
        holder = _read(self.folder / _FILE)
        if holder is not None and not _is_ours(holder) and holder.is_alive(now):
            self._let_go()
            raise LostError(holder)
        self._written_at, self._written = now, evaluated
        told = {
            "schema": _SCHEMA, "host": socket.gethostname(), "pid": os.getpid(),
            "since": self._since, "beat_at": now, **evaluated,
        }  # fmt: skip
        path = self.folder / _FILE
        fresh = path.with_name(f"{_FILE}.{os.getpid()}")
        try:
            fresh.write_text(json.dumps(told), encoding="utf-8")
            fresh.replace(path)
            self.refused = None
        except OSError as error:
            self.refused = error.strerror or type(error).__name__
            with suppress(OSError):
                fresh.unlink(missing_ok=True)

    def leave(self) -> None:
        """Give the watch back."""
        if self._lock is None:
            return
        holder = _read(self.folder / _FILE)
        if holder is not None and _is_ours(holder):
            with suppress(OSError):
                (self.folder / _FILE).unlink(missing_ok=True)
        self._let_go()

    def _let_go(self) -> None:
        if self._lock is not None:
            with suppress(OSError):  # the folder itself may be gone
                self._lock.release()
        self._lock = None

    def _holder(self) -> Holder | None:
        return newest_holder(self._root)


def newest_holder(root: Path) -> Holder | None:
    """Who was on duty last, as far as it is written down."""
    found = [
        one
        for folder in (shared_file(root).parent, own_file(root).parent)
        if (one := _read(folder / _FILE)) is not None
    ]
    return max(found, key=lambda one: one.beat_at, default=None)


def read_duty(root: Path, now: float) -> Guard:
    """Whether somebody keeps the watch of a bench, for whoever looks.

    Args:
        root: the bench.
        now: the moment of the look, by the clock on the wall. [s]
    """
    holder = newest_holder(root)
    if holder is None:
        return Guard()
    age_s = max(0.0, now - holder.beat_at)
    return Guard(on_duty=holder.is_alive(now), host=holder.host, beat_age_s=age_s)


def duty_problems(root: Path, now: float) -> tuple[Problem, ...]:
    """What the guard on duty says is wrong with the watch, for whoever looks."""
    holder = newest_holder(root)
    if holder is None or not holder.is_alive(now):
        return ()
    return tuple(
        Problem("warning", f"the night watch says: {text}", "see the messages of porewatch guard")
        for text in holder.troubles
    )


def _is_ours(holder: Holder) -> bool:
    return (holder.host, holder.pid) == (socket.gethostname(), os.getpid())


def _runs(pid: int) -> bool:
    if pid <= 0:
        return False
    if os.name != "posix":  # there such a question would end the process
        return True
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    except (PermissionError, OverflowError, ValueError):
        return True
    return True


def _read(path: Path) -> Holder | None:
    """The file as it is now; None when there is none, or it is damaged."""
    try:
        told = json.loads(path.read_text(encoding="utf-8"))
        troubles: Sequence[Any] = told.get("troubles") or ()
        if not (math.isfinite(float(told["since"])) and math.isfinite(float(told["beat_at"]))):
            return None
        return Holder(
            clean(str(told["host"]))[:100],
            int(told["pid"]),
            float(told["since"]),
            float(told["beat_at"]),
            tuple(clean(str(one))[:400] for one in troubles[:20]),
        )
    except (OSError, ValueError, TypeError, KeyError, AttributeError):
        return None
