"""One journal and several processes, one of which may be killed at any moment."""

import signal
import sqlite3
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from tui.journal.location import shared_file
from tui.journal.store import Journal

Start = Callable[..., subprocess.Popen[str]]

WRITER = """
import sys
from pathlib import Path
from tui.journal.store import Journal

root, who, count = Path(sys.argv[1]), sys.argv[2], int(sys.argv[3])
if len(sys.argv) > 4:  # a machine with this list of mounts and this name
    import socket
    from tui.journal import location
    location.MOUNTS = Path(sys.argv[4])
    socket.gethostname = lambda: sys.argv[5]
print("ready", flush=True)
sys.stdin.readline()
journal = Journal.open(root)
for k in range(count):
    number = journal.add(
        "note", cell="C1", held_at=1e9 + k, entered_at=1e9, who=who, host="h", text=f"{who} {k}"
    )
    print(number, flush=True)
"""

UNFINISHED = """
import sys
from pathlib import Path
from tui.journal.location import shared_file
from tui.journal.tables import open_to_write

connection = open_to_write(shared_file(Path(sys.argv[1])), ahead=sys.argv[2] == "ahead")
connection.execute("BEGIN IMMEDIATE")
for k in range(2000):
    connection.execute(
        "INSERT INTO entry (held_at, entered_at, who, host, cell, kind, text, details) "
        "VALUES (0, 0, 'w', 'h', 'C1', 'note', ?, '{}')", ("never committed " * 20,)
    )
print("writing", flush=True)
sys.stdin.readline()
"""

KILLED = """
import os, random, signal, sys, time
from pathlib import Path
from tui.journal import location
from tui.journal.acts import Act
from tui.journal.entries import Entry
from tui.journal.store import Journal

root, location.MOUNTS, kind, lives = Path(sys.argv[1]), Path(sys.argv[2]), sys.argv[3], 60
chance = random.Random(int(sys.argv[4]))

def live(life, said):
    journal = Journal.open(root)
    for k in range(1_000_000):
        acts = [Act(0, kind, "C1", None, 1e9, 1e9, "w", "h", f"{life} {k} {i}") for i in range(3)]
        numbers = journal.add_all([Entry(act) for act in acts])
        os.write(said, f"{life} {k} {numbers[0]}\\n".encode())

for life in range(lives):
    heard, said = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(heard)
        try:
            live(life, said)
        finally:
            os._exit(1)
    os.close(said)
    with os.fdopen(heard) as lines:
        first = lines.readline() if chance.random() < 0.7 else ""
        time.sleep(chance.uniform(0.0, 0.02))
        os.kill(child, signal.SIGKILL)
        _, status = os.waitpid(child, 0)
        assert os.WIFSIGNALED(status), "it ended by itself"
        sys.stdout.write(first + lines.read())
"""


@pytest.fixture
def root(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    bench = tmp_path / "bench"
    bench.mkdir()
    return bench


@pytest.fixture
def start() -> Iterator[Callable[..., subprocess.Popen[str]]]:
    """Starts processes, and ends those that are left."""
    begun: list[subprocess.Popen[str]] = []

    def begin(script: str, *arguments: str) -> subprocess.Popen[str]:
        begun.append(
            subprocess.Popen(
                [sys.executable, "-c", script, *arguments],
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=subprocess.PIPE,
                text=True,
                cwd=Path(__file__).parents[2],
            )
        )
        return begun[-1]

    yield begin
    for process in begun:
        process.kill()
        process.wait()
        for pipe in (process.stdin, process.stdout, process.stderr):
            if pipe is not None:
                pipe.close()


def go(process: subprocess.Popen[str]) -> None:
    assert process.stdin is not None
    process.stdin.write("go\n")
    process.stdin.flush()


def heard(process: subprocess.Popen[str]) -> str:
    assert process.stdout is not None
    return process.stdout.readline().strip()


def test_several_processes_write_at_once_and_a_reader_sees_every_entry(
    root: Path, start: Start
) -> None:
    # None of them finds a journal: they also race for making it.
    each = 25
    writers = [start(WRITER, str(root), f"w{n}", str(each)) for n in range(3)]
    assert [heard(writer) for writer in writers] == ["ready"] * 3
    for writer in writers:
        go(writer)
    reader = Journal.open(root)
    seen = [0]
    while any(writer.poll() is None for writer in writers):
        seen.append(len(reader.acts()))
        assert reader.problems == ()
    numbers: list[int] = []
    for writer in writers:
        out, err = writer.communicate()
        assert err == ""
        assert writer.returncode == 0
        numbers += [int(line) for line in out.split()]
    assert seen == sorted(seen)
    assert sorted(numbers) == list(range(1, 3 * each + 1))
    acts = reader.acts()
    assert {act.text for act in acts} == {f"w{n} {k}" for n in range(3) for k in range(each)}
    reader.close()


@pytest.mark.parametrize("after", [1, 2, 7, 20])
def test_a_writer_killed_at_work_loses_nothing_that_it_had_confirmed(
    root: Path, start: Start, after: int
) -> None:
    writer = start(WRITER, str(root), "w", "100000")
    assert heard(writer) == "ready"
    go(writer)
    confirmed = [int(heard(writer)) for _ in range(after)]
    writer.send_signal(signal.SIGKILL)
    assert writer.wait() == -signal.SIGKILL
    journal = Journal.open(root)
    kept = [act.entry for act in journal.acts()]
    assert journal.problems == ()
    assert set(confirmed) <= set(kept)
    assert kept == list(range(1, len(kept) + 1))
    more = journal.add("note", cell="C1", held_at=2e9, entered_at=2e9, who="x", host="h")
    assert more == len(kept) + 1
    journal.close()
    connection = sqlite3.connect(shared_file(root))
    assert connection.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    connection.close()


@pytest.mark.parametrize("kind", ["raised", "acknowledge"])
@pytest.mark.parametrize("network", [False, True])
def test_writers_killed_many_times_leave_no_half_and_lose_nothing(
    root: Path, tmp_path: Path, start: Start, kind: str, network: bool
) -> None:
    """Sixty lives, each ended at some moment of writing three entries at once."""
    writer = start(KILLED, str(root), str(mounted(tmp_path, root, network)), kind, "11")
    out, err = writer.communicate(timeout=60)
    assert (writer.returncode, err) == (0, "")
    confirmed = [tuple(map(int, line.split())) for line in out.splitlines()]
    assert len({life for life, _, _ in confirmed}) > 30
    journal = Journal.open(root)
    found: dict[tuple[int, int], list[int]] = {}
    for entry in sorted(journal.entries(), key=lambda one: one.number):
        life, k, _ = map(int, entry.act.text.split())
        found.setdefault((life, k), []).append(entry.number)
    assert journal.problems == ()
    assert {len(numbers) for numbers in found.values()} == {3}
    for life, k, first in confirmed:
        assert found[life, k] == [first, first + 1, first + 2]
    # What stands beside it was on the disk when its writer was killed before it could say so.
    assert len(found) - len(confirmed) <= 60
    journal.close()


def test_several_hosts_write_at_once(root: Path, tmp_path: Path, start: Start) -> None:
    """Two programs on one machine, one on another, none of them finding a file yet."""
    mounts, each = str(mounted(tmp_path, root, True)), 40
    hosts = ("lab", "lab", "office")
    writers = [
        start(WRITER, str(root), f"w{n}", str(each), mounts, host) for n, host in enumerate(hosts)
    ]
    assert [heard(writer) for writer in writers] == ["ready"] * 3
    for writer in writers:
        go(writer)
    reader = Journal.open(root)
    seen = [0]
    while any(writer.poll() is None for writer in writers):
        seen.append(len(reader.acts()))
        assert reader.problems == ()
    numbers: list[int] = []
    for writer in writers:
        out, err = writer.communicate()
        assert (writer.returncode, err) == (0, "")
        numbers += [int(line) for line in out.split()]
    assert seen == sorted(seen)
    assert len(set(numbers)) == 3 * each
    acts = reader.acts()
    assert sorted(act.entry for act in acts) == sorted(numbers)
    assert {act.text for act in acts} == {f"w{n} {k}" for n in range(3) for k in range(each)}
    assert not shared_file(root).exists()


def mounted(folder: Path, root: Path, network: bool) -> Path:
    """A list of mounts in which the bench is on a network file system, or is not."""
    mounts = folder / "mounts"
    kind = "nfs4 host:/share" if network else "ext4 /dev/sdb1"
    mounts.write_text(f"2 1 0:9 / {root.resolve()} rw - {kind} rw\n")
    return mounts


@pytest.mark.parametrize("mode", ["ahead", "rollback"])
def test_a_writer_killed_within_a_write_leaves_the_journal_as_it_was(
    root: Path, start: Start, mode: str
) -> None:
    journal = Journal.open(root)
    journal.add("note", cell="C1", held_at=1e9, entered_at=1e9, who="x", host="h", text="before")
    journal.close()
    writer = start(UNFINISHED, str(root), mode)
    assert heard(writer) == "writing"
    writer.send_signal(signal.SIGKILL)
    writer.wait()
    assert [act.text for act in journal.acts()] == ["before"]
    assert journal.problems == ()
    journal.add("note", cell="C1", held_at=2e9, entered_at=2e9, who="x", host="h", text="after")
    assert [act.text for act in journal.acts()] == ["before", "after"]
    journal.close()


@pytest.fixture
def open_root() -> Iterator[Path]:
    """A bench that any user may reach; the usual temporary folders are closed to others."""
    with tempfile.TemporaryDirectory(prefix="porewatch-test-") as folder:
        Path(folder).chmod(0o755)
        bench = Path(folder) / "bench"
        bench.mkdir()
        yield bench


def test_a_reader_may_not_be_allowed_to_write(
    open_root: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Another user looks at a bench that only its owner may change."""
    monkeypatch.delenv("XDG_STATE_HOME", raising=False)
    owner = Journal.open(open_root)
    owner.add("note", cell="C1", held_at=1e9, entered_at=1e9, who="x", host="h", text="shared")
    owner.close()
    folder = shared_file(open_root).parent
    shared_file(open_root).chmod(0o444)
    folder.chmod(0o555)
    looker = (
        "import os, sys\n"
        "from pathlib import Path\n"
        "from tui.journal.store import Journal\n"
        "if os.geteuid() == 0: os.seteuid(65534)\n"  # the superuser may write anywhere
        "journal = Journal.open(Path(sys.argv[1]))\n"
        "print([act.text for act in journal.acts()], journal.problems)\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", looker, str(open_root)],
        capture_output=True,
        text=True,
        check=False,
        cwd=Path(__file__).parents[2],
    )
    folder.chmod(0o755)
    assert done.stderr == ""
    assert done.stdout.strip() == "['shared'] ()"
    assert sorted(path.name for path in folder.iterdir()) == ["journal.sqlite3"]
