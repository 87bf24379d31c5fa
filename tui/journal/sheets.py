"""The folder `acts`: a file of lines for each host to which the bench is a network file system.

SQLite cannot be shared between hosts, but a file to which one host alone appends can be read by
all. A file is named by a number, which is taken by making the file: two hosts cannot take the same.
The number tells the entries of all files apart.
"""

import getpass
import hashlib
import re
import socket
from collections.abc import Sequence
from pathlib import Path

from tui.journal.book import shown_path
from tui.journal.entries import Entry
from tui.journal.location import acts_folder
from tui.journal.sheet import Sheet
from tui.settings.problems import Problem

_NAME = re.compile(r"^([1-9]\d{0,5})\.jsonl$")
_FIRST, _LAST = 2, 999_999
"""Numbers of files; below are those of the journals in SQLite."""

_MACHINE = Path("/etc/machine-id")


class Sheets:
    """All files of the folder, which need not exist."""

    def __init__(self, root: Path, step: int) -> None:
        """Nothing is read yet.

        Args:
            root: the bench.
            step: how many entries are kept for each file: its number times this begins its own.
        """
        self._root = root
        self._step = step
        self.folder = acts_folder(root)
        self._trouble: str | None = None
        self._files: dict[int, Sheet] = {}

    def files(self) -> Sequence[Sheet]:
        """Those that are there now, by their numbers."""
        self._trouble = None
        try:
            found = {
                int(match[1])
                for path in self.folder.iterdir()
                if (match := _NAME.match(path.name)) and path.is_file()
            }
        except (FileNotFoundError, NotADirectoryError):
            # Without the bench itself (a share that went away) what is known stands.
            found = set() if self._root.is_dir() else set(self._files)
        except OSError as error:
            self._trouble = str(error)
            found = set(self._files)
        self._files = {number: self._file(number) for number in sorted(found)}
        return tuple(self._files.values())

    def _file(self, number: int) -> Sheet:
        known = self._files.get(number)
        path = self.folder / f"{number}.jsonl"
        return known or Sheet(self._root, path, number * self._step)

    def problems(self) -> tuple[Problem, ...]:
        """What was wrong at the last look."""
        if self._trouble is not None:
            return (
                Problem(
                    severity="warning",
                    what=f"the entries of other hosts cannot be read: {self._trouble}",
                    remedy="let this user read the folder",
                    file=shown_path(self.folder, self._root),
                ),
            )
        return tuple(one for sheet in self._files.values() for one in sheet.problems())

    def append_all(self, entries: Sequence[Entry]) -> tuple[Path, tuple[int, ...]]:
        """Write entries into this user's file of this host, all or none; gives their numbers.

        Raises:
            OSError: nothing can be written there.
        """
        self.folder.mkdir(parents=True, exist_ok=True)
        writer = this_writer()
        for sheet in self.files():
            sheet.entries()
            if sheet.writer == writer:
                return sheet.path, sheet.append_all(entries)
        number = max(self._files, default=_FIRST - 1) + 1
        while number <= _LAST:
            sheet = self._file(number)
            try:
                numbers = sheet.create(socket.gethostname(), writer, entries)
            except FileExistsError:
                number += 1
                continue
            self._files[number] = sheet
            return sheet.path, numbers
        raise OSError(f"{self.folder} has no number left for another file")


def this_writer() -> str:
    """Tells this user of this machine from all others; says neither who nor where."""
    try:
        machine = _MACHINE.read_text(encoding="utf-8", errors="replace").strip()
    except OSError:
        machine = ""
    try:
        user = getpass.getuser()
    except (KeyError, OSError):  # a container's user may have no name
        user = ""
    # Names of hosts are not always different, and copied machines share their mark.
    whole = "\0".join((machine, socket.gethostname(), user))
    return hashlib.sha256(whole.encode("utf-8", "replace")).hexdigest()[:16]
