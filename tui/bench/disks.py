"""Room on the disks of the bench and of this program's own files."""

import shutil
import threading
from dataclasses import dataclass, replace
from pathlib import Path

from tui.bench.alarms.spells import Spell
from tui.journal.location import own_file
from tui.settings.alarm_limits import Limits

KIND = "disk-low"
EVERY_S = 60.0
"""Disks are looked at so often; they fill slowly. Common practice, no source. [s]"""
KEPT = 20
"""Spells that are over and kept."""


@dataclass(frozen=True, slots=True)
class Disk:
    """What was measured of one."""

    about: str
    """"bench" or "state"."""
    free: int
    """[bytes]"""
    total: int
    """[bytes]"""


def measured(root: Path) -> tuple[Disk, ...]:
    """The disks that a bench needs; one that cannot be measured is left out.

    Args:
        root: the bench's folder.
    """
    found = []
    for about, folder in (("bench", root), ("state", own_file(root).parent)):
        there = next((one for one in (folder, *folder.resolve().parents) if one.is_dir()), None)
        try:
            usage = None if there is None else shutil.disk_usage(there)
        except OSError:
            continue  # a share that is away is told by the feed
        if usage is not None and usage.total > 0:
            found.append(Disk(about, usage.free, usage.total))
    return tuple(found)


class DiskWatch:
    """Measures now and then in a thread of its own, because a lost share may hang."""

    def __init__(self, root: Path) -> None:
        self._root = root
        self._thread: threading.Thread | None = None
        self._found: tuple[Disk, ...] | None = None
        self._asked_at: float | None = None

    def news(self, now: float) -> tuple[Disk, ...] | None:
        """What was measured since the last call; None: nothing new."""
        found, self._found = self._found, None
        running = self._thread is not None and self._thread.is_alive()
        if not running and (self._asked_at is None or abs(now - self._asked_at) >= EVERY_S):
            self._asked_at = now
            self._thread = threading.Thread(target=self._measure, daemon=True)
            self._thread.start()
        return found

    def _measure(self) -> None:
        self._found = measured(self._root)


def low_disks(
    disks: tuple[Disk, ...], limits: Limits, now: float, before: tuple[Spell, ...]
) -> tuple[Spell, ...]:
    """The spells of disks by a measurement.

    Args:
        disks: as they were measured; of one that was not nothing changes.
        limits: of the bench.
        now: when. [s]
        before: the spells until then.
    """
    spells = list(before)
    least, share = limits(KIND, "free"), limits(KIND, "share")
    for disk in disks:
        low = disk.free < max(least, share * disk.total)
        lasting = next((s for s in spells if s.about == disk.about and s.cleared_at is None), None)
        if lasting is not None and not low:
            spells[spells.index(lasting)] = replace(lasting, cleared_at=now)
        if lasting is None and low:
            said = (
                f"{disk.free / 2**30:.2f} GiB free ({disk.free / disk.total:.1%}) on the disk of "
                f"the {disk.about} folder, limit {max(least, share * disk.total) / 2**30:.2f} GiB"
            )
            spells.append(Spell(KIND, disk.about, "warning", now, now, message=said))
    return tuple(spells[-KEPT:])
