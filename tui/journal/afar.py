"""A journal on a network file system, read without ever opening it there.

Locks of SQLite do not reach from host to host. So its files are copied, and the copy is opened:
by this the entries of an older version of the program are known, and those of a host on whose own
disk the bench lies.
"""

import shutil
import sqlite3
import tempfile
from pathlib import Path

from tui.journal.tables import JournalError, open_to_read

_BESIDE = ("", "-wal", "-journal")
"""What makes up the state of a database, besides locks."""

_TRIES = 3

Stamp = tuple[tuple[int, int, int] | None, ...]


def file_stamp(path: Path) -> Stamp:
    """Inode, size and time of change of each of a journal's files; another one tells of a write."""
    found: list[tuple[int, int, int] | None] = []
    for ending in _BESIDE:
        try:
            seen = _beside(path, ending).stat()
        except FileNotFoundError:
            found.append(None)
        else:
            found.append((seen.st_ino, seen.st_size, seen.st_mtime_ns))
    return tuple(found)


def open_copy(path: Path) -> sqlite3.Connection:
    """The journal as it stands, in memory.

    Raises:
        JournalError: it is no journal of ours, or changed whenever it was copied.
        OSError, sqlite3.Error: it cannot be copied, or is damaged.
    """
    with tempfile.TemporaryDirectory(prefix="porewatch-") as folder:
        copy = Path(folder) / path.name
        for _ in range(_TRIES):
            before = file_stamp(path)
            for ending, seen in zip(_BESIDE, before, strict=True):
                _beside(copy, ending).unlink(missing_ok=True)
                if seen is not None:
                    shutil.copyfile(_beside(path, ending), _beside(copy, ending))
            if file_stamp(path) == before:
                break
        else:
            raise JournalError("it is being written all the time; the next look tries again")
        source = open_to_read(copy)
        try:
            # Several threads ask it in turn, as they do with one on disk.
            held = sqlite3.connect(":memory:", isolation_level=None, check_same_thread=False)
            source.backup(held)
        finally:
            source.close()
    return held


def _beside(path: Path, ending: str) -> Path:
    return path.with_name(path.name + ending)
