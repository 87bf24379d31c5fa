"""The folders of a bench, seen once each, whatever links and shares do."""

import os
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

from tui.settings.problems import Problem, has_hidden_letters

CELL_FILE = "cell.toml"
BENCH_FILE = "bench.toml"
STATE_FOLDER = ".porewatch"
EARLIER_FOLDER = "tests"
DEEPEST = 3
"""How many folders below the bench a cell may lie."""

LOG_ENDINGS = (".csv", ".txt", ".dat", ".log", ".tsv")


@dataclass(slots=True)
class Folder:
    """One folder below the bench."""

    relative: str
    """With forward slashes; letters that do not show are written as \\x1b."""
    path: Path
    depth: int
    in_cell: bool
    """Whether this folder or one above it has a `cell.toml`."""
    is_cell: bool = False
    has_logs: bool = False
    earlier: tuple[str, ...] = ()
    """Ids of earlier tests, for a cell."""


@dataclass(slots=True)
class Walk:
    """All folders of a bench, and those that could not be read."""

    folders: list[Folder] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)


def plain(name: str) -> str:
    """A file name with letters that do not show written out, so that it stays its own.

    Example:
        >>> plain("C1\\x1b")
        'C1\\\\x1b'
    """
    if not has_hidden_letters(name):
        return name
    return "".join(
        letter.encode("unicode_escape").decode() if has_hidden_letters(letter) else letter
        for letter in name
    )


def walk(root: Path) -> Walk:
    """Look into every folder down to the depth at which cells may lie, and one deeper."""
    found = Walk()
    _look(Folder("", root, 0, False), found, set())
    return found


def _look(folder: Folder, found: Walk, seen: set[tuple[int, int]]) -> None:
    try:
        identity = os.stat(folder.path)  # noqa: PTH116 (follows links as scandir does)
        if (identity.st_dev, identity.st_ino) in seen and identity.st_ino:
            return  # a link that leads back, or a second way to the same cell
        seen.add((identity.st_dev, identity.st_ino))
        with os.scandir(folder.path) as entries:
            # Real folders before links: a cell is found by its own path first.
            listed = sorted(entries, key=lambda entry: (entry.is_symlink(), entry.name))
    except OSError as error:
        found.problems.append(_unreadable(folder, error))
        return
    names = {entry.name for entry in listed}
    folder.is_cell = folder.depth > 0 and CELL_FILE in names
    folder.in_cell = folder.in_cell or folder.is_cell
    ours = {"readings.csv"} if any(entry.name == "results.json" for entry in listed) else set()
    folder.has_logs = any(_is_log(entry) and entry.name not in ours for entry in listed)
    if folder.is_cell and EARLIER_FOLDER in names:
        folder.earlier = _earlier(folder.path / EARLIER_FOLDER)
    found.folders.append(folder)
    if folder.depth > DEEPEST:
        return
    for entry in listed:
        if entry.name.startswith(".") or (folder.is_cell and entry.name == EARLIER_FOLDER):
            continue
        if is_folder(entry):
            below = f"{folder.relative}/{plain(entry.name)}".lstrip("/")
            path = folder.path / entry.name
            _look(Folder(below, path, folder.depth + 1, folder.in_cell), found, seen)


def is_folder(entry: os.DirEntry[str]) -> bool:
    """Whether an entry is a folder or leads to one, as far as can be seen."""
    try:
        return entry.is_dir()
    except OSError:
        return False


def _is_log(entry: os.DirEntry[str]) -> bool:
    name = entry.name.casefold()
    return (
        name.endswith(LOG_ENDINGS)
        and not name.startswith((".", "readme", "~"))
        and not is_folder(entry)
    )


def _earlier(folder: Path) -> tuple[str, ...]:
    try:
        names = [path.stem for path in folder.iterdir() if path.suffix == ".toml"]
    except OSError:
        return ()
    return tuple(sorted((name for name in names if not name.startswith(".")), key=counted))


def _unreadable(folder: Folder, error: OSError) -> Problem:
    name = folder.relative or plain(str(folder.path))
    return Problem(
        "error",
        f"the folder {name} cannot be read: {error.strerror or type(error).__name__}",
        "make it readable for the account that runs porewatch, or take it out of the bench",
        folder.relative or None,
    )


def counted(name: str) -> tuple[tuple[int, int, str], ...]:
    """A key that sorts names the way people count: C2 before C10.

    Example:
        >>> sorted(["C10", "C2", "c1"], key=counted)
        ['c1', 'C2', 'C10']
    """
    parts: list[tuple[int, int, str]] = []
    text = ""
    digits = ""
    for letter in f"{name}\0":
        if letter.isdecimal():
            digits += letter
            if text:
                parts.append((1, 0, text.casefold()))
                text = ""
        else:
            if digits:
                parts.append((0, int(digits), digits))
                digits = ""
            text += letter
    parts.append((1, 0, text[:-1].casefold()))
    return (*parts, (2, 0, name))


def signature(root: Path) -> Iterator[tuple[str, int, int, int]]:
    """Whatever tells that folders or settings changed: name, inode, time, size."""
    yield _stamp("", root / BENCH_FILE)
    for folder in walk(root).folders:
        kind = "cell" if folder.is_cell else "logs" if folder.has_logs else "folder"
        yield (*_stamp(f"{kind} {folder.relative}", folder.path)[:2], 0, 0)
        if folder.is_cell:
            yield _stamp(folder.relative, folder.path / CELL_FILE)
            for test in folder.earlier:
                name = f"{test}.toml"
                yield _stamp(f"{folder.relative}/{name}", folder.path / EARLIER_FOLDER / name)


def _stamp(name: str, path: Path) -> tuple[str, int, int, int]:
    try:
        found = path.stat()
    except OSError:
        return (name, -1, 0, 0)
    return (name, found.st_ino, found.st_mtime_ns, found.st_size)
