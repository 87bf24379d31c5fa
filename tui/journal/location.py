"""Where a journal lies: in the bench, or in the user's state folder.

The latter when the bench is read-only, and for the watch when it is on a network file system.
"""

import hashlib
import os
import re
import socket
import tempfile
from functools import lru_cache
from pathlib import Path

from tui.settings.folders import STATE_FOLDER

JOURNAL_FILE = "journal.sqlite3"

# Locks and shared memory of a write-ahead log do not reach from host to host on these.
_NETWORK_FILE_SYSTEMS = (
    *("nfs", "cifs", "smb", "9p", "afs", "ncpfs", "glusterfs", "ceph", "lustre", "gpfs", "beegfs"),
    *("fuse.sshfs", "fuse.rclone", "fuse.glusterfs", "fuse.ceph", "fuse.davfs"),
)
MOUNTS = Path("/proc/self/mountinfo")

_OCTAL = re.compile(r"\\([0-7]{3})")
"""As the kernel writes blanks in a path."""


def shared_file(root: Path) -> Path:
    """The journal that everybody at this bench shares."""
    return root / STATE_FOLDER / JOURNAL_FILE


def acts_folder(root: Path) -> Path:
    """Where hosts to which the bench is a network file system write their entries."""
    return root / STATE_FOLDER / "acts"


def own_file(root: Path) -> Path:
    """The journal of this user alone, for what the bench cannot or should not take."""
    return _own_file(root.absolute(), _state_folder(), MOUNTS, socket.gethostname())


@lru_cache(maxsize=64)  # every look asks who keeps the watch
def _own_file(root: Path, state_folder: Path, mounts: Path, host: str) -> Path:
    whole = root.resolve()
    # Two benches may share a folder name; the whole path tells them apart.
    mark = hashlib.sha256(os.fsencode(whole)).hexdigest()[:12]
    folder = state_folder / "porewatch" / f"{whole.name or 'root'}-{mark}"
    if on_network(folder, mounts):  # a home that several hosts share: a file for each
        return folder / f"journal-{host}.sqlite3"
    return folder / JOURNAL_FILE


def checkpoint_folders(root: Path) -> tuple[Path, Path]:
    """Where checkpoints of a bench may lie: beside its shared journal, else beside the user's."""
    return shared_file(root).parent / "checkpoints", own_file(root).parent / "checkpoints"


def _state_folder() -> Path:
    # one that is not absolute does not count: it would lie wherever somebody stands, a bench too
    if (named := os.environ.get("XDG_STATE_HOME")) and Path(named).is_absolute():
        return Path(named)
    try:
        return Path.home() / ".local" / "state"
    except RuntimeError:  # a service's user may have no home
        return Path(tempfile.gettempdir())


def on_network(folder: Path, mounts: Path | None = None) -> bool:
    """Whether a folder is on a network file system, as far as this machine can tell.

    Args:
        folder: it need not exist.
        mounts: a list of mounts as Linux writes it; the machine's own by default.
    """
    try:
        lines = (mounts or MOUNTS).read_text(encoding="utf-8", errors="replace").splitlines()
        whole = folder.resolve()
    except OSError:
        return False
    best, kind = -1, ""
    for line in lines:
        before, _, after = line.partition(" - ")
        fields, described = before.split(), after.split()
        if len(fields) < 5 or not described:
            continue
        point = Path(_OCTAL.sub(lambda found: chr(int(found[1], 8)), fields[4]))
        if whole.is_relative_to(point) and len(point.parts) >= best:
            best, kind = len(point.parts), described[0]
    return kind.startswith(_NETWORK_FILE_SYSTEMS)
