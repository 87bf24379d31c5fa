"""Where a journal lies: in the bench, or in the user's state folder when the bench is read-only."""

import hashlib
import os
import tempfile
from pathlib import Path

from tui.settings.folders import STATE_FOLDER

JOURNAL_FILE = "journal.sqlite3"

# Locks and shared memory of a write-ahead log do not reach from host to host on these.
_NETWORK_FILE_SYSTEMS = ("nfs", "cifs", "smb", "9p", "afs", "fuse.sshfs", "ncpfs", "glusterfs")
_MOUNTS = Path("/proc/self/mountinfo")


def shared_file(root: Path) -> Path:
    """The journal that everybody at this bench shares."""
    return root / STATE_FOLDER / JOURNAL_FILE


def own_file(root: Path) -> Path:
    """The journal of this user alone, for a bench in which nothing may be written."""
    state = _state_folder()
    whole = root.resolve()
    # Two benches may share a folder name; the whole path tells them apart.
    mark = hashlib.sha256(os.fsencode(whole)).hexdigest()[:12]
    return state / "porewatch" / f"{whole.name or 'root'}-{mark}" / JOURNAL_FILE


def checkpoint_folders(root: Path) -> tuple[Path, Path]:
    """Where checkpoints of a bench may lie: beside its shared journal, else beside the user's."""
    return shared_file(root).parent / "checkpoints", own_file(root).parent / "checkpoints"


def _state_folder() -> Path:
    if named := os.environ.get("XDG_STATE_HOME"):
        return Path(named)
    try:
        return Path.home() / ".local" / "state"
    except RuntimeError:  # a service's user may have no home
        return Path(tempfile.gettempdir())


def on_network(folder: Path, mounts: Path = _MOUNTS) -> bool:
    """Whether a folder is on a network file system, as far as this machine can tell."""
    try:
        lines = mounts.read_text(encoding="utf-8", errors="replace").splitlines()
    except OSError:
        return False
    whole = folder.resolve()
    best, kind = -1, ""
    for line in lines:
        before, _, after = line.partition(" - ")
        fields, described = before.split(), after.split()
        if len(fields) < 5 or not described:
            continue
        # The kernel writes blanks in a path as \040.
        point = Path(fields[4].replace("\\040", " "))
        if whole.is_relative_to(point) and len(point.parts) >= best:
            best, kind = len(point.parts), described[0]
    return kind.startswith(_NETWORK_FILE_SYSTEMS)
