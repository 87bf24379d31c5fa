"""The file of lines in which one host enters: read on from where it was read to."""

import os
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path
from uuid import uuid4

from tui.journal.book import shown_path
from tui.journal.entries import Entry
from tui.journal.lines import CANCEL, LineError, entry_lines, entry_of, head_line, writer_of
from tui.journal.tables import JournalError
from tui.settings.problems import Problem

_TRIES = 3
_UNFINISHED = CANCEL + b"\n"
_PART = "only a part could be written"


class Sheet:
    """One file in `acts`; whole lines count, an unfinished last one waits, or is passed over."""

    def __init__(self, root: Path, path: Path, first: int) -> None:
        """Nothing is read yet.

        Args:
            root: the bench.
            path: of the file.
            first: added to the numbers of its lines; the first line has the number 0.
        """
        self.path = path
        self.edition = 0
        """Goes up when everything was read anew: the file was replaced or cut."""
        self.writer: str | None = None
        """Who writes it, once its first line is known."""
        self._root = root
        self._first = first
        self._trouble: str | None = None
        self._inode: int | None = None
        self._begin()

    def _begin(self) -> None:
        self._known: list[Entry] = []
        self._damaged: list[tuple[int, str]] = []
        self._offset, self._lines = 0, 0
        self._newest = b""
        """The last whole line: it shows that the file is still the same."""
        self._writes: dict[str, int] = {}
        """Line of the first entry of every write."""
        self._waiting: list[tuple[int, str, Entry]] = []
        """Entries of a write of which more is to come: line, name of the write, entry."""

    def let_go(self) -> None:
        """Nothing stays open between two looks."""

    def version(self) -> tuple[int, int]:
        """Another one tells of another file, of new lines, or of trouble."""
        self.entries()
        return self.edition, -1 if self._trouble else self._lines

    def entries(self) -> Sequence[Entry]:
        """All entries in the order in which they were entered; it only grows within an edition."""
        self._trouble = None
        try:
            # Opening asks a network file system anew; what it tells of a name may be old.
            with self.path.open("rb") as file:
                self._read_on(file.fileno())
        except FileNotFoundError as error:
            # Without the bench itself (a share that went away) what is known stands.
            if self.path.parent.is_dir():
                self._anew(None)
            else:
                self._trouble = str(error)
        except OSError as error:
            self._trouble = str(error)
        except LineError as error:
            self._anew(None)
            self._trouble = str(error)
        return self._known

    def _anew(self, inode: int | None) -> None:
        if self._known:
            self.edition += 1
        self._inode, self.writer = inode, None
        self._begin()

    def _read_on(self, file: int) -> None:
        seen = os.fstat(file)
        before = self._offset - len(self._newest)
        if (
            seen.st_ino != self._inode
            or seen.st_size < self._offset
            or os.pread(file, len(self._newest), before) != self._newest
        ):
            self._anew(seen.st_ino)
        if seen.st_size == self._offset:
            return
        fresh = _read(file, self._offset, seen.st_size - self._offset)
        whole = fresh[: fresh.rfind(b"\n") + 1]
        for line in whole.split(b"\n")[:-1]:
            self._take(line)
            self._newest = line + b"\n"
            self._offset += len(self._newest)
            self._lines += 1

    def _take(self, line: bytes) -> None:
        number = self._lines
        if number == 0:
            self.writer = writer_of(line)
            return
        if not line:
            return
        unfinished = line.endswith(CANCEL)
        try:
            entry, together, left = entry_of(line.removesuffix(CANCEL), self._first + number)
        except LineError as error:
            if unfinished:
                self._waiting = []
                return
            self._damaged.append((number, str(error)))
            entry, together, left = None, "", 0
        if self._waiting and self._waiting[0][1] != together:
            lost = "the rest of its write is missing"
            self._damaged += [(at, lost) for at, _, _ in self._waiting]
            self._waiting = []
        if entry is None or together in self._writes:
            return
        self._waiting.append((number, together, entry))
        if left == 0:
            self._writes[together] = self._waiting[0][0]
            self._known += [one for _, _, one in self._waiting]
        if left == 0 or unfinished:
            self._waiting = []

    def problems(self) -> tuple[Problem, ...]:
        """What was wrong at the last look: the file, or lines of it."""
        where = shown_path(self.path, self._root)
        if self._trouble is not None:
            what = f"a host's entries cannot be read: {self._trouble}"
            remedy = "what was entered there does not count; restore it, or move it away"
            return (Problem("warning", what, remedy, file=where),)
        return tuple(
            Problem(
                severity="warning",
                what=f"this line is no entry: {why}",
                remedy="what it said does not count: enter it again if it is missing, and put {} "
                "in its place (the lines below keep their numbers)",
                file=where,
                line=number + 1,
            )
            for number, why in self._damaged
        )

    def create(self, host: str, writer: str, entries: Sequence[Entry]) -> tuple[int, ...]:
        """Make the file with its first entries; gives their numbers.

        Raises:
            FileExistsError: another host was quicker.
            OSError: it cannot be written; then it is not there.
        """
        name = uuid4().hex
        flags = os.O_WRONLY | os.O_APPEND | os.O_CREAT | os.O_EXCL
        file = os.open(self.path, flags, 0o666)
        try:
            try:
                head = head_line(host, writer)
                if os.write(file, head) != len(head):
                    raise OSError(_PART)
                _write(file, entry_lines(entries, name))
            finally:
                os.close(file)
            _sync_folder(self.path.parent)
        except OSError:
            self.path.unlink(missing_ok=True)
            raise
        return self._numbers(name, len(entries))

    def append_all(self, entries: Sequence[Entry]) -> tuple[int, ...]:
        """Write entries, all or none; gives their numbers.

        Raises:
            OSError: it cannot be written.
        """
        name = uuid4().hex
        file = os.open(self.path, os.O_RDWR | os.O_APPEND)
        try:
            # What somebody was killed in ends here, so that it spoils no other line. Where somebody
            # is still writing, that ends first, and the sign cancels nothing.
            self.entries()
            size = os.fstat(file).st_size
            ended = size == 0 or os.pread(file, 1, size - 1) == b"\n"
            lines = entry_lines(entries, name)
            _write(file, lines if ended and not self._waiting else _UNFINISHED + lines)
        finally:
            os.close(file)
        return self._numbers(name, len(entries))

    def _numbers(self, name: str, count: int) -> tuple[int, ...]:
        self.entries()
        if name not in self._writes:
            raise JournalError(f"{self.path} does not show what was written; look at it again")
        begins = self._first + self._writes[name]
        return tuple(range(begins, begins + count))


def _write(file: int, content: bytes) -> None:
    """In one piece, so that lines of several programs do not mix; on the disk when it returns."""
    for _ in range(_TRIES):
        if os.write(file, content) == len(content):
            os.fsync(file)
            return
        content = _UNFINISHED + content.removeprefix(_UNFINISHED)  # half of it stands
    raise OSError(_PART)


def _read(file: int, offset: int, size: int) -> bytes:
    found = b""
    while len(found) < size and (piece := os.pread(file, size - len(found), offset + len(found))):
        found += piece
    return found


def _sync_folder(folder: Path) -> None:
    with suppress(OSError):  # some file systems refuse it for a folder
        file = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(file)
        finally:
            os.close(file)
