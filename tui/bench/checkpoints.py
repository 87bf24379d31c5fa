"""What was read and understood of each cell, kept beside the bench so that a restart goes on there.

A checkpoint is one file a cell: the state of its source and of its fold at the same row. It can be
thrown away at any time: whatever does not fit (another program, other settings, a file that is no
longer what was read of it) is read anew from the logs. Nothing of it is code: only our own classes
and plain values are made from it, whoever wrote it.
"""

import hashlib
import pickle
from collections.abc import Mapping
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

import numpy as np

import reduce
import tui
from tui.bench.attended import Attended
from tui.bench.cell_fold import CellFold
from tui.bench.frozen import read, written
from tui.feed.source import CellSource
from tui.journal.location import checkpoint_folders
from tui.settings.places import Layout, Place
from tui.settings.safe_write import put


@dataclass(frozen=True, slots=True, eq=False)
class Kept:
    """A cell as it stood: its source goes on where its fold has come to."""

    source: CellSource
    fold: CellFold


def load_checkpoints(layout: Layout) -> dict[str, Kept]:
    """By folder, the cells of a bench that can go on from where they were kept."""
    found = {}
    for place in layout.places:
        kept = _load(place, layout)
        if kept is not None:
            found[place.folder] = kept
    return found


def _load(place: Place, layout: Layout) -> Kept | None:
    for folder in checkpoint_folders(layout.root):
        try:
            content = (folder / _file_of(place.folder)).read_bytes()
        except OSError:
            continue
        kept = _read(content)
        if (
            kept is not None
            and kept.source.fits(place, layout.zone)
            and _same(kept.fold, place, layout)
        ):
            return kept
    return None


def edits_of(layout: Layout, place: Place) -> tuple[str, ...]:
    """Logs of a cell that are not what was read of them when it was kept, each in words."""
    for folder in checkpoint_folders(layout.root):
        try:
            kept = _read((folder / _file_of(place.folder)).read_bytes())
        except OSError:
            continue
        if kept is not None and kept.fold.folder == place.folder:
            return kept.source.edits
    return ()


class Checkpoints:
    """Writes the checkpoints of one bench."""

    def __init__(self, root: Path) -> None:
        self._folders = checkpoint_folders(root)
        self._saved: dict[str, int] = {}
        self._work = ThreadPoolExecutor(1, thread_name_prefix="checkpoints")
        self._last: Future[None] | None = None

    def goes_on(self, kept: Mapping[str, Kept]) -> None:
        """These cells were kept already."""
        self._saved |= {folder: one.fold.rows for folder, one in kept.items()}

    def wants(self, fold: CellFold) -> bool:
        """Whether this fold has come far enough since it was last kept."""
        before = self._saved.get(fold.folder, 0)
        return fold.rows >= before + max(100, before // 100)

    def save(self, mark: bytes, fold: CellFold) -> None:
        """Keep a cell, in a thread of its own: a share may block.

        Args:
            mark: its source, as `written`, behind the last row of the fold.
            fold: at that row.
        """
        self._saved[fold.folder] = fold.rows
        self._last = self._work.submit(self._save, mark, fold.copy())

    def _save(self, mark: bytes, fold: CellFold) -> None:
        try:
            body = written((mark, written(fold)))
        except (pickle.PicklingError, TypeError, AttributeError):
            return  # such a zone or path cannot be kept: it is read anew after a restart
        content = _seal(body) + body
        for folder in self._folders:
            with suppress(OSError):
                folder.mkdir(parents=True, exist_ok=True)
                put(folder / _file_of(fold.folder), content)
                return

    def close(self) -> None:
        """Wait for what is being written."""
        self._work.shutdown(wait=True)


def _same(fold: CellFold, place: Place, layout: Layout) -> bool:
    if fold.attended != Attended.of(layout.bench.attended, layout.zone):
        return False
    return (fold.name, fold.folder, fold.settings) == (place.name, place.folder, place.settings)


def _file_of(folder: str) -> str:
    return hashlib.sha256(folder.encode("utf-8", "surrogateescape")).hexdigest()[:24]


def _read(content: bytes) -> Kept | None:
    body = content[32:]
    if content[:32] != _seal(body):
        return None
    try:
        mark, fold = read(body)
        kept = Kept(read(mark), read(fold))
    except Exception:  # noqa: BLE001  # whatever a damaged file holds, the logs hold the truth
        return None
    sound = isinstance(kept.source, CellSource) and isinstance(kept.fold, CellFold)
    return kept if sound else None


def _seal(body: bytes) -> bytes:
    """Tells a damaged file, and one that another program wrote."""
    return hashlib.sha256(_program() + body).digest()


_PROGRAM: list[bytes] = []


def _program() -> bytes:
    """Changes with every file of ours and with numpy: a state is only good for what wrote it."""
    if not _PROGRAM:
        digest = hashlib.sha256(np.__version__.encode())
        for package in (reduce, tui):
            for top in package.__path__:
                for file in sorted(Path(top).rglob("*.py")):
                    seen = file.stat()
                    digest.update(f"{file} {seen.st_size} {seen.st_mtime_ns}\n".encode())
        _PROGRAM.append(digest.digest())
    return _PROGRAM[0]
