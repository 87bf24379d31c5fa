"""A bench on a network file system: a file of lines for each host, and no SQLite between hosts.

A file that lists mounts stands in for the network; hosts are told apart by their names.
"""

import json
import os
import socket
import sqlite3
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tui.journal import afar, location, tables
from tui.journal.acts import Act
from tui.journal.entries import Entry
from tui.journal.location import acts_folder, own_file, shared_file
from tui.journal.store import OWN_FROM, Journal

T0 = 1_927_000_000.0
FILE_2, FILE_3 = 2 * OWN_FROM, 3 * OWN_FROM

On = Callable[[str], None]


@pytest.fixture
def root(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    bench = tmp_path / "share" / "bench"
    bench.mkdir(parents=True)
    mounts = tmp_path / "mountinfo"
    mounts.write_text(
        "1 0 8:1 / / rw - ext4 /dev/sda1 rw\n"
        f"2 1 0:9 / {bench.parent.resolve()} rw shared:1 - nfs4 host:/share rw\n"
    )
    monkeypatch.setattr(location, "MOUNTS", mounts)
    return bench


@pytest.fixture
def on(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> On:
    def go_to(host: str) -> None:
        monkeypatch.setattr(socket, "gethostname", lambda: host)
        monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / f"state of {host}"))

    go_to("lab")
    return go_to


def enter(journal: Journal, kind: str = "note", **more: Any) -> int:
    usual: dict[str, Any] = {"cell": "C1", "test": "T015", "held_at": T0, "entered_at": T0 + 60.0}
    usual |= {"who": "mira", "host": socket.gethostname()}
    return journal.add(kind, **(usual | more))


def texts(root: Path) -> list[str]:
    journal = Journal.open(root)
    assert journal.problems == ()
    found = [act.text for act in journal.acts()]
    assert journal.problems == ()
    journal.close()
    return found


def fact(kind: str = "raised", **more: Any) -> Entry:
    usual: dict[str, Any] = {"alarm": "pressure-drift", "priority": "urgent", "since": T0 - 300.0}
    return Entry(Act(0, kind, "C1", "T015", T0, T0 + 90.0, "guard", "lab", **(usual | more)))


def test_each_host_has_a_file_and_all_are_read(root: Path, on: On) -> None:
    lab = Journal.open(root)
    assert enter(lab, text="from the lab") == FILE_2 + 1
    assert lab.written_to == acts_folder(root) / "2.jsonl"
    assert lab.refused is None
    on("office")
    office = Journal.open(root)
    assert enter(office, text="from the office", held_at=T0 + 1.0) == FILE_3 + 1
    assert enter(office, text="once more", held_at=T0 + 2.0) == FILE_3 + 2
    on("lab")
    assert enter(lab, text="and back", held_at=T0 + 3.0) == FILE_2 + 2
    said = ["from the lab", "from the office", "once more", "and back"]
    assert [act.text for act in office.acts()] == [act.text for act in lab.acts()] == said
    assert not shared_file(root).exists()
    assert not own_file(root).exists()
    assert sorted(path.name for path in acts_folder(root).iterdir()) == ["2.jsonl", "3.jsonl"]


def test_every_field_comes_back(root: Path, on: On) -> None:
    journal = Journal.open(root)
    said = 'Ø 50 [kPa]\nline 2\r\x1b[31m \u2028 "=1+1" \ud800'
    number = enter(
        journal, "shelve", text=said, client="192.0.2.7", alarm="leak-cell", about="cell_volume",
        until=T0 + 1800.0, ends="cleared", phase="shear", step="dock", channel="axial_load",
        reads=0.5, priority="warning", since=T0 - 9.25, route="night phone", test=None,
    )  # fmt: skip
    (entry,) = Journal.open(root).entries()
    assert entry == Entry(
        Act(
            number, "shelve", "C1", None, T0, T0 + 60.0, "mira", "lab", said, "shear", "dock",
            T0 + 1800.0, "axial_load", 0.5, "leak-cell", "cell_volume", "cleared", "warning",
            T0 - 9.25, "night phone",
        ),
        "192.0.2.7",
    )  # fmt: skip
    assert len((acts_folder(root) / "2.jsonl").read_bytes().splitlines()) == 2


def test_an_entry_of_another_host_is_taken_back_by_its_number(root: Path, on: On) -> None:
    number = enter(Journal.open(root), "mark", phase="shear")
    on("office")
    office = Journal.open(root)
    undo = enter(office, "undo", refers=number)
    assert office.acts() == ()
    on("lab")
    assert Journal.open(root).acts() == ()
    assert {one.number: one.undone_by for one in Journal.open(root).entries()}[number] == undo


def test_facts_of_the_watch_lie_with_the_host_on_duty(root: Path, on: On) -> None:
    journal = Journal.open(root)
    assert journal.add_all([fact(), fact("notified")]) == (OWN_FROM + 1, OWN_FROM + 2)
    assert journal.written_to == own_file(root)
    assert journal.refused is None
    assert not acts_folder(root).exists()
    enter(journal, "acknowledge", alarm="pressure-drift")
    assert [one.act.kind for one in journal.entries()] == ["acknowledge", "raised", "notified"]
    assert not shared_file(root).exists()


def test_where_the_share_takes_nothing_the_state_folder_does(root: Path, on: On) -> None:
    acts_folder(root).parent.mkdir()
    acts_folder(root).write_text("in the way")
    journal = Journal.open(root)
    assert enter(journal, text="kept") == OWN_FROM + 1
    assert journal.refused is not None
    assert journal.written_to == own_file(root)
    assert [act.text for act in journal.acts()] == ["kept"]


def test_a_number_of_an_own_journal_stays_one_persons(root: Path, on: On) -> None:
    acts_folder(root).parent.mkdir()
    acts_folder(root).write_text("in the way")
    for host in ("lab", "office"):
        on(host)
        assert enter(Journal.open(root), text=f"kept in the {host}") == OWN_FROM + 1
    acts_folder(root).unlink()
    on("lab")
    assert enter(Journal.open(root), "undo", refers=OWN_FROM + 1) == OWN_FROM + 2
    assert texts(root) == []
    on("office")
    assert texts(root) == ["kept in the office"]


def test_an_unfinished_last_line_waits(root: Path, on: On) -> None:
    enter(Journal.open(root), text="whole")
    path = acts_folder(root) / "2.jsonl"
    head, line = path.read_bytes().splitlines(keepends=True)
    whole = head + line + line.replace(b"whole", b"later").replace(b'"write": "', b'"write": "x')
    reader = Journal.open(root)
    versions = set()
    for end in range(len(head) + len(line), len(whole) + 1):
        path.write_bytes(whole[:end])
        said = [act.text for act in reader.acts()]
        assert said == (["whole"] if end < len(whole) else ["whole", "later"])
        assert reader.problems == ()
        versions.add(reader.version())
    assert len(versions) == 2


def test_a_file_that_begins_is_no_problem(root: Path, on: On) -> None:
    enter(Journal.open(root), text="first")
    path = acts_folder(root) / "2.jsonl"
    whole = path.read_bytes()
    reader = Journal.open(root)
    for end in range(len(whole) + 1):
        path.write_bytes(whole[:end])
        assert len(reader.acts()) == (end == len(whole))
        assert reader.problems == ()


def three_at_once(root: Path) -> tuple[Path, bytes, bytes]:
    """A file of acts, what it held, and a write of three notes behind that."""
    lab = Journal.open(root)
    enter(lab, text="before")
    path = acts_folder(root) / "2.jsonl"
    before = path.read_bytes()
    lab.add_all([Entry(Act(0, "note", "C1", None, T0, T0, "m", "lab", text)) for text in "abc"])
    return path, before, path.read_bytes()[len(before) :]


def test_a_writer_killed_at_any_byte_leaves_no_half_and_no_complaint(root: Path, on: On) -> None:
    """The kernel cuts the write of a killed program at the border of a page, wherever that is."""
    path, before, third = three_at_once(root)
    for end in range(len(third) + 1):
        path.write_bytes(before + third[:end])
        lab = Journal.open(root)
        number = enter(lab, text="after")
        said = [act.text for act in lab.acts()]
        # but for its end the last line was whole: it counts, unless the write was to go on
        kept = "abc" if end >= len(third) - 1 else ""
        assert sorted(said) == sorted(["before", *kept, "after"]), end
        assert lab.problems == ()
        # and the next one is killed as well, wherever it stood
        torn = path.read_bytes()
        begun = torn[len(before) + end :]
        if end in (third.index(b"\n"), third.index(b"\n") + 1, len(third) - 1):
            for part in range(len(begun)):
                path.write_bytes(torn[: len(torn) - len(begun) + part])
                assert enter(Journal.open(root), text="later") >= number
                assert "later" in texts(root)


def test_whoever_is_still_writing_is_cancelled_by_nobody(root: Path, on: On) -> None:
    """A part of it is seen before the rest: what is entered meanwhile comes behind all of it."""
    path, before, third = three_at_once(root)
    whole = before + third
    second = before + third.splitlines(keepends=True)[0] + b'{"write": "'
    path.write_bytes(second)
    other = Journal.open(root)
    enter(other, text="meanwhile")
    came = path.read_bytes()[len(second) :]
    path.write_bytes(whole + came)
    assert sorted(texts(root)) == ["a", "b", "before", "c", "meanwhile"]


def test_a_line_that_somebody_spoilt_can_be_put_right(root: Path, on: On) -> None:
    lab = Journal.open(root)
    for text in ("before", "spoilt", "after"):
        enter(lab, text=text)
    path = acts_folder(root) / "2.jsonl"
    lines = path.read_bytes().split(b"\n")
    path.write_bytes(b"\n".join([*lines[:2], lines[2][:-40], *lines[3:]]))
    spoilt = Journal.open(root)
    assert [act.text for act in spoilt.acts()] == ["before", "after"]
    (problem,) = spoilt.problems
    assert (problem.file, problem.line) == (".porewatch/acts/2.jsonl", 3)
    assert problem.severity == "warning"
    path.write_bytes(b"\n".join([*lines[:2], b"{}", *lines[3:]]))
    mended = Journal.open(root)
    assert [act.entry for act in mended.acts()] == [FILE_2 + 1, FILE_2 + 3]
    assert mended.problems == ()


@pytest.mark.parametrize(
    ("line", "why"),
    [
        (b"\xff\xfe rubbish", "no whole line of JSON"),
        (b"[" * 100_000, "no whole line of JSON"),
        (b"[1]", "no object"),
        (b'{"kind": "note"}', "of which write"),
        (b'{"write": "a", "left": -1}', "of which write"),
        (b'{"write": "a", "left": 0, "kind": "note", "cell": 7}', "no cell"),
        (b'{"write":"a","left":0,"kind":"n","cell":"","held_at":"now"}', "no held_at"),
        (b'{"write":"a","left":0,"kind":"n","cell":"","held_at":NaN}', "held_at is no time"),
        (b'{"write":"a","left":0,"kind":"n","cell":"","held_at":1' + b"0" * 400 + b"}", "no time"),
        (b'{"write":"a","left":0,"kind":"n","cell":"","held_at":1' + b"0" * 9000 + b"}", "JSON"),
    ],
)
def test_a_damaged_line_is_named_and_hides_no_other(
    root: Path, on: On, line: bytes, why: str
) -> None:
    lab = Journal.open(root)
    enter(lab, text="before")
    with (acts_folder(root) / "2.jsonl").open("ab") as file:
        file.write(line + b"\n")
    enter(lab, text="after")
    assert [act.text for act in lab.acts()] == ["before", "after"]
    (problem,) = lab.problems
    assert problem.line == 3
    assert why in problem.what


def test_entries_of_one_write_count_all_or_none(root: Path, on: On) -> None:
    lab = Journal.open(root)
    notes = [Entry(Act(0, "note", "C1", None, T0, T0, "m", "lab", text)) for text in "abc"]
    assert lab.add_all(notes) == (FILE_2 + 1, FILE_2 + 2, FILE_2 + 3)
    path = acts_folder(root) / "2.jsonl"
    whole = path.read_bytes()
    for end in range(whole.index(b"\n") + 1, len(whole)):
        path.write_bytes(whole[:end])
        assert texts(root) == []
    cut = whole[: whole.rindex(b"{") - 1] + b"\n"  # the third was never written
    path.write_bytes(cut)
    enter(lab, text="d")
    assert texts(root) == ["d"]
    # it was, and somebody took it out: then what the others said was once confirmed
    path.write_bytes(cut + path.read_bytes()[len(cut) :].removeprefix(b"\x18\n"))
    assert [act.text for act in lab.acts()] == ["d"]
    assert [problem.line for problem in lab.problems] == [2, 3]


def test_a_write_of_which_the_end_was_missing_counts_once(
    root: Path, on: On, monkeypatch: pytest.MonkeyPatch
) -> None:
    lab = Journal.open(root)
    enter(lab, text="before")
    whole = os.write
    short = [1, 40]

    def cut(file: int, content: bytes) -> int:
        return whole(file, content[: -short.pop()] if short else content)

    monkeypatch.setattr(os, "write", cut)
    enter(lab, text="twice begun")
    monkeypatch.undo()
    assert [act.text for act in lab.acts()] == ["before", "twice begun"]
    assert lab.problems == ()


def test_a_file_of_which_not_even_the_head_could_be_written_is_not_left(
    root: Path, on: On, monkeypatch: pytest.MonkeyPatch
) -> None:
    whole = os.write
    short = [30]

    def cut(file: int, content: bytes) -> int:
        return whole(file, content[: -short.pop()] if short else content)

    lab = Journal.open(root)
    monkeypatch.setattr(os, "write", cut)
    assert enter(lab, text="into the state folder") == OWN_FROM + 1
    assert enter(lab, text="there is room again", held_at=T0 + 1.0) == FILE_2 + 1
    assert texts(root) == ["into the state folder", "there is room again"]


def test_a_share_that_is_full_keeps_nothing_and_says_so(
    root: Path, on: On, monkeypatch: pytest.MonkeyPatch
) -> None:
    lab = Journal.open(root)
    enter(lab, text="before")
    whole = os.write
    monkeypatch.setattr(os, "write", lambda file, content: whole(file, content[:50]))
    number = enter(lab, text="into the state folder", held_at=T0 + 1.0)
    assert number == OWN_FROM + 1
    assert lab.refused is not None
    assert [act.text for act in lab.acts()] == ["before", "into the state folder"]


def test_a_newer_file_and_a_strange_one_are_problems(root: Path, on: On) -> None:
    acts_folder(root).mkdir(parents=True)
    newer = json.dumps({"schema": "porewatch.acts/2", "host": "x", "writer": "y"})
    (acts_folder(root) / "2.jsonl").write_text(newer + "\n{}\n")
    (acts_folder(root) / "3.jsonl").write_text('{"some": "thing"}\n')
    (acts_folder(root) / "notes.txt").write_text("no file of ours\n")
    (acts_folder(root) / "4.jsonl").mkdir()
    lab = Journal.open(root)
    assert enter(lab, text="beside them") == 5 * OWN_FROM + 1
    assert [act.text for act in lab.acts()] == ["beside them"]
    first, second = lab.problems
    assert (first.file, second.file) == (".porewatch/acts/2.jsonl", ".porewatch/acts/3.jsonl")
    assert "newer version" in first.what
    assert "not that of a file of acts" in second.what


def test_a_replaced_file_is_read_anew(root: Path, on: On) -> None:
    lab = Journal.open(root)
    enter(lab, text="old")
    reader = Journal.open(root)
    before = reader.version()
    assert [act.text for act in reader.acts()] == ["old"]
    path = acts_folder(root) / "2.jsonl"
    for new in ("new", "a longer one that was put over it"):  # by another inode, by the same one
        content = path.read_bytes()
        for old in (b'"old"', b'"new"'):
            content = content.replace(old, b'"%s"' % new.encode())
        if new == "new":
            path.unlink()
        path.write_bytes(content)
        assert [act.text for act in reader.acts()] == [new]
        assert reader.version() != before
        before = reader.version()
    path.unlink()
    assert reader.acts() == ()


def test_a_share_that_went_away_keeps_what_was_read(root: Path, on: On) -> None:
    lab = Journal.open(root)
    enter(lab, text="known")
    assert [act.text for act in lab.acts()] == ["known"]
    away = root.with_name("away")
    root.rename(away)
    assert [act.text for act in lab.acts()] == ["known"]
    assert lab.problems
    away.rename(root)
    assert [act.text for act in lab.acts()] == ["known"]
    assert lab.problems == ()


def test_only_what_is_new_is_read(root: Path, on: On, monkeypatch: pytest.MonkeyPatch) -> None:
    lab = Journal.open(root)
    for k in range(200):
        enter(lab, text=f"{k:06}" * 20)
    reader = Journal.open(root)
    assert len(reader.acts()) == 200
    read: list[int] = []
    whole = os.pread

    def counted(file: int, size: int, offset: int) -> bytes:
        found = whole(file, size, offset)
        read.append(len(found))
        return found

    enter(lab, text="one more")
    monkeypatch.setattr(os, "pread", counted)
    assert len(reader.acts()) == 201
    assert 0 < sum(read) < 1500


def test_the_journal_of_the_host_whose_disk_it_is_is_read_from_a_copy(
    root: Path, on: On, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The lab's machine has the bench on its own disk, the office reaches it by the network."""
    mounts = location.MOUNTS
    nowhere = mounts.with_name("no mounts")
    opened: list[Path] = []

    def watched(path: Path) -> sqlite3.Connection:
        opened.append(path)
        return tables.open_to_read(path)

    monkeypatch.setattr(afar, "open_to_read", watched)
    monkeypatch.setattr(location, "MOUNTS", nowhere)
    lab = Journal.open(root)
    enter(lab, text="in the lab")
    assert lab.written_to == shared_file(root)
    # The lab's program goes on: its write-ahead log holds what the file itself does not yet.
    keeps = sqlite3.connect(shared_file(root))
    keeps.execute("SELECT * FROM entry").fetchall()
    monkeypatch.setattr(location, "MOUNTS", mounts)
    on("office")
    office = Journal.open(root)
    beside = sorted(path.name for path in shared_file(root).parent.iterdir())
    assert [act.text for act in office.acts()] == ["in the lab"]
    monkeypatch.setattr(location, "MOUNTS", nowhere)
    enter(lab, text="later", held_at=T0 + 1.0)
    assert Path(f"{shared_file(root)}-wal").stat().st_size > 0
    monkeypatch.setattr(location, "MOUNTS", mounts)
    versions = office.version()
    assert [act.text for act in office.acts()] == ["in the lab", "later"]
    assert office.version() == versions
    assert enter(office, text="answer", held_at=T0 + 2.0) == FILE_2 + 1
    monkeypatch.setattr(location, "MOUNTS", nowhere)
    assert [act.text for act in lab.acts()] == ["in the lab", "later", "answer"]
    keeps.close()
    assert opened
    assert shared_file(root) not in opened
    assert beside == [
        "journal.sqlite3", "journal.sqlite3-shm", "journal.sqlite3-wal",
    ]  # fmt: skip


def test_a_damaged_journal_on_a_share_is_a_problem(root: Path, on: On) -> None:
    shared_file(root).parent.mkdir()
    shared_file(root).write_bytes(b"rubbish " * 999)
    journal = Journal.open(root)
    assert journal.acts() == ()
    (problem,) = journal.problems
    assert problem.file == ".porewatch/journal.sqlite3"
    enter(journal, text="all the same")
    assert [act.text for act in journal.acts()] == ["all the same"]
    assert shared_file(root).read_bytes() == b"rubbish " * 999


def test_a_home_that_hosts_share_has_a_journal_for_each(
    root: Path, on: On, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    found = []
    for host in ("lab", "office"):
        on(host)
        monkeypatch.setenv("XDG_STATE_HOME", str(root.parent / "home"))
        found.append(own_file(root))
    assert len(set(found)) == 2


def test_blanks_and_the_last_of_two_mounts(tmp_path: Path) -> None:
    point = tmp_path / "a b"
    name = str(point.resolve()).replace(" ", "\\040")
    mounts = tmp_path / "list"
    mounts.write_text(
        f"2 1 0:9 / {name} rw - autofs none rw\n3 1 0:9 / {name} rw - fuse.sshfs h:/ rw\n"
    )
    assert location.on_network(point / "bench", mounts)
