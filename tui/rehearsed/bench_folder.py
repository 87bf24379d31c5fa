"""Putting a composed bench on disk, without ever touching what we did not write."""

from pathlib import Path

from tui.rehearsed.compose import Composed
from tui.rehearsed.settings_text import MARK
from tui.rehearsed.truth import SCHEMA


class NotOursError(ValueError):
    """A folder that holds something we did not write."""


def is_ours(folder: Path) -> bool:
    """Whether a bench was written by us: its `bench.toml` says so in its first line."""
    return _begins_with(folder / "bench.toml", MARK)


def check_target(out: Path) -> None:
    """Refuse a folder that is neither new, empty nor ours.

    Raises:
        NotOursError: says what is there and what to do.
    """
    if not out.exists():
        return
    if not out.is_dir():
        raise NotOursError(f"{out} is a file; name a folder that does not exist yet")
    if not is_ours(out) and any(out.iterdir()):
        raise NotOursError(
            f"{out} holds files that rehearse did not write; name a new or empty folder"
        )


def truth_folder(out: Path) -> Path:
    """Where the truth about a bench lies unless somebody says otherwise: beside it."""
    whole = out.resolve()
    return whole.with_name(f"{whole.name}.truth")


def write_bench(composed: Composed, out: Path, truth: Path | None, *, logs: bool = True) -> None:
    """Write files and truths; cells of an earlier rehearsal in the same place go first.

    What else lies in the folder (a README, a journal) stays.

    Args:
        composed: what to write.
        out: the bench.
        truth: folder of the truths; None writes none.
        logs: whether to write the logs, or settings alone.

    Raises:
        NotOursError: the folder holds something else.
    """
    check_target(out)
    _clear(out)
    for name, content in composed.files.items():
        if not logs and not name.endswith(".toml"):
            continue
        path = out / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content)
    if truth is None:
        return
    truth.mkdir(parents=True, exist_ok=True)
    for old in sorted(truth.glob("*.json")):
        if SCHEMA in old.read_text(encoding="utf-8")[:200]:
            old.unlink()
    for name, content in composed.truth.items():
        (truth / name).write_bytes(content)


def _clear(out: Path) -> None:
    if not out.is_dir():
        return
    for settings in sorted(out.glob("*/cell.toml")):
        if not _begins_with(settings, MARK):
            continue
        folder = settings.parent
        for pattern in ("*.csv", "*.txt", "cell.toml"):
            for old in sorted(folder.glob(pattern)):
                old.unlink()
        if not any(folder.iterdir()):
            folder.rmdir()


def _begins_with(path: Path, mark: str) -> bool:
    try:
        with path.open(encoding="utf-8") as file:
            return file.readline().rstrip("\n") == mark
    except (OSError, UnicodeDecodeError):
        return False
