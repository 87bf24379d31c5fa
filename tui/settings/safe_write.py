"""Files written whole or not at all."""

import os
from pathlib import Path


def _write_beside(path: Path, content: bytes) -> Path:
    beside = path.with_name(f".{path.name}.{os.getpid()}.new")
    with beside.open("wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())
    return beside


def create(path: Path, content: bytes) -> None:
    """Write a file that must not exist yet.

    Raises:
        FileExistsError: it does; it stays as it is.
        OSError: the folder takes no file.
    """
    path.parent.mkdir(parents=True, exist_ok=True)
    beside = _write_beside(path, content)
    try:
        try:
            path.hardlink_to(beside)
        except FileExistsError:
            raise
        except OSError:  # a file system without hard links: less strict about a crash, not more
            with path.open("xb") as file:
                file.write(content)
    finally:
        beside.unlink(missing_ok=True)


def replace(path: Path, before: bytes, content: bytes) -> bool:
    """Put new content in the place of what was read; a link's target is written, not the link.

    Returns:
        False when somebody else changed the file since; it stays as it is then.

    Raises:
        OSError: the folder takes no file.
    """
    target = path.resolve()
    mode = target.stat().st_mode
    beside = _write_beside(target, content)
    try:
        beside.chmod(mode & 0o7777)
        if target.read_bytes() != before:
            return False
        beside.replace(target)
    finally:
        beside.unlink(missing_ok=True)
    return True


def put(path: Path, content: bytes) -> None:
    """Write a file of our own, in the place of what an earlier run wrote.

    Raises:
        OSError: the folder takes no file.
    """
    beside = _write_beside(path, content)
    try:
        beside.replace(path)
    finally:
        beside.unlink(missing_ok=True)
