"""Which files in a cell's folder are its logs, and which of them are ones that we know."""

import fnmatch
import glob
import os
import re
from collections.abc import Iterable
from pathlib import Path

from tui.feed.log_file import LogFile
from tui.settings.cell_toml import Log
from tui.settings.folders import is_folder
from tui.settings.problems import Problem

_NEVER = (".toml",)
_OF_THE_FOLDER = re.compile(r"(?!.*\*\*)[^/\\:]*[*?[][^/\\:]*")
"""Patterns for names in the folder itself; one without a wildcard may be spelt otherwise there."""


def relative(path: Path, root: Path) -> str:
    """A path as messages name it: from the bench on, with forward slashes."""
    try:
        return path.relative_to(root).as_posix()
    except ValueError:
        return path.as_posix()


class LogFolder:
    """The files that a cell's glob takes, without the live file."""

    def __init__(self, folder: Path, log: Log, where: str) -> None:
        """Nothing was listed.

        Args:
            folder: of the cell.
            log: `files` and `live` of it.
            where: the folder as messages name it.
        """
        self._folder = folder
        self._log = log
        self._where = where
        self._names: list[str] = []
        self.files: list[Path] = []
        """As last listed, sorted by name."""
        self.problem: Problem | None = None
        """Why they could not be listed again."""

    def look(self) -> bool:
        """List them again; whether that was possible."""
        try:
            names = _matching(self._folder, self._log.files)
        except (OSError, ValueError) as error:
            reason = getattr(error, "strerror", None) or str(error)
            self.problem = Problem(
                "error",
                f"the folder {self._where} cannot be read: {reason}",
                "make it readable for the account that runs porewatch; it is tried again",
                self._where,
            )
            return False
        self.problem = None
        if names != self._names:  # mostly they are as they were
            self._names = names
            live = None if self._log.live is None else self._folder / self._log.live
            self.files = [path for name in names if _may_be_log(path := self._folder / name, live)]
        return True


def _matching(folder: Path, pattern: str) -> list[str]:
    """The names that a glob takes, without those of folders; sorted."""
    # glob itself says nothing about a folder that cannot be read.
    with os.scandir(folder) as entries:
        if _OF_THE_FOLDER.fullmatch(pattern):
            inside = {entry.name: entry for entry in entries}
            names = fnmatch.filter(inside, pattern)
            return sorted(name for name in names if not is_folder(inside[name]))
    # pathlib's own refuses a pattern that leads out of the folder or begins at the root.
    names = glob.glob(pattern, root_dir=folder, recursive=True)  # noqa: PTH207
    return sorted(name for name in names if not (folder / name).is_dir())


def _may_be_log(path: Path, live: Path | None) -> bool:
    return path != live and not path.name.startswith((".", "~")) and path.suffix not in _NEVER


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
