"""Which files in a cell's folder are its logs, and which of them are ones that we know."""

import glob
import os
from collections.abc import Iterable
from pathlib import Path

from tui.feed.log_file import LogFile
from tui.settings.cell_toml import Log
from tui.settings.problems import Problem

_NEVER = (".toml",)


def relative(path: Path, root: Path) -> str:
    """A path as messages name it: from the bench on, with forward slashes."""
    try:
        return path.relative_to(root).as_posix()
    except ValueError:
        return path.as_posix()


def log_files(folder: Path, log: Log, where: str) -> tuple[list[Path], Problem | None]:
    """The files that a cell's glob takes, sorted by name, without the live file.

    Args:
        folder: of the cell.
        log: `files` and `live` of it.
        where: the folder as messages name it.
    """
    try:
        # glob itself says nothing about a folder that cannot be read.
        with os.scandir(folder):
            pass
        # pathlib's own refuses a pattern that leads out of the folder or begins at the root.
        names = glob.glob(log.files, root_dir=folder, recursive=True)  # noqa: PTH207
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        return [], Problem(
            "error",
            f"the folder {where} cannot be read: {reason}",
            "make it readable for the account that runs porewatch; it is tried again",
            where,
        )
    live = None if log.live is None else folder / log.live
    found = [folder / name for name in sorted(names)]
    return [
        path
        for path in found
        if path != live
        and not path.name.startswith((".", "~"))
        and path.suffix not in _NEVER
        and not path.is_dir()
    ], None


def follow(known: Iterable[LogFile], listed: Iterable[Path]) -> set[LogFile]:
    """Move files that were renamed to their new paths: what was read once is not read again.

    Returns:
        The files whose path now belongs to another of the known ones: they are gone.
    """
    files = list(known)
    homeless = [file for file in files if file.tail.offset and not file.tail.is_at(file.tail.path)]
    at_home = {file.tail.path for file in files if file not in homeless}
    free = [path for path in listed if path not in at_home]
    taken: set[Path] = set()
    for file in list(homeless):
        for path in free:
            if path not in taken and file.tail.is_at(path):
                file.tail.move(path)
                taken.add(path)
                homeless.remove(file)
                break
    return {file for file in homeless if file.tail.path in taken}
