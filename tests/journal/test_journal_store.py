"""The journal keeps every entry, counts what holds, and never stands in the way."""

import random
import sqlite3
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tui.journal import book
from tui.journal.acts import WATCH_KINDS, Act
from tui.journal.entries import Entry, undone
from tui.journal.location import on_network, own_file, shared_file
from tui.journal.store import OWN_FROM, Journal
from tui.journal.tables import SCHEMA, JournalError, read_from

T0 = 1_927_000_000.0


@pytest.fixture
def root(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    bench = tmp_path / "bench"
    bench.mkdir()
    return bench


@pytest.fixture
def journal(root: Path) -> Iterator[Journal]:
    opened = Journal.open(root)
    yield opened
    opened.close()


def enter(journal: Journal, kind: str = "mark", **more: Any) -> int:
    usual: dict[str, Any] = {
        "cell": "C1",
        "test": "T015",
        "held_at": T0,
        "entered_at": T0 + 60.0,
        "who": "mira",
        "host": "bench-pc",
    }
    return journal.add(kind, **(usual | more))


def test_reading_creates_nothing(journal: Journal, root: Path) -> None:
    assert journal.acts() == ()
    assert journal.entries() == ()
    assert journal.problems == ()
    journal.version()
    assert list(root.iterdir()) == []
    assert not own_file(root).parent.exists()


def test_an_act_comes_back_as_it_was_entered(journal: Journal, root: Path) -> None:
    number = enter(
        journal, phase="saturation", step="hold", until=T0 + 7200.0, text="Ø 50 [kPa]\nline 2"
    )
    (act,) = Journal.open(root).acts()
    assert act.entry == number == 1
    assert (act.kind, act.cell, act.test) == ("mark", "C1", "T015")
    assert (act.phase, act.step, act.until) == ("saturation", "hold", T0 + 7200.0)
    assert (act.held_at, act.entered_at) == (T0, T0 + 60.0)
    assert (act.who, act.host) == ("mira", "bench-pc")
    assert act.text == "Ø 50 [kPa]\nline 2"
    assert journal.written_to == shared_file(root)
    assert journal.refused is None


def test_acts_count_in_the_order_in_which_they_hold(journal: Journal) -> None:
    enter(journal, text="second", held_at=T0 + 10.0)
    enter(journal, text="first", held_at=T0)
    enter(journal, text="third", held_at=T0 + 10.0, entered_at=T0 + 90.0)
    assert [act.text for act in journal.acts()] == ["first", "second", "third"]


def test_what_holds_later_does_not_count_yet(journal: Journal) -> None:
    enter(journal, text="now", held_at=T0)
    enter(journal, text="later", held_at=T0 + 1.0)
    assert [act.text for act in journal.acts(until=T0)] == ["now"]
    assert journal.acts(until=T0 - 0.001) == ()


def test_an_undone_entry_does_not_count_but_stays_written(journal: Journal) -> None:
    first = enter(journal, phase="shear")
    second = enter(journal, phase="saturation")
    undo = enter(journal, "undo", refers=first)
    assert [act.phase for act in journal.acts()] == ["saturation"]
    kept = {entry.number: entry.undone_by for entry in journal.entries()}
    assert kept == {first: undo, second: None, undo: None}


def test_an_undo_can_be_undone(journal: Journal) -> None:
    mark = enter(journal, phase="shear")
    undo = enter(journal, "undo", refers=mark, entered_at=T0 + 70.0)
    assert journal.acts() == ()
    enter(journal, "undo", refers=undo, entered_at=T0 + 80.0)
    assert [act.phase for act in journal.acts()] == ["shear"]


def test_version_changes_with_every_entry_and_only_then(journal: Journal, root: Path) -> None:
    seen = [journal.version()]
    assert journal.version() == seen[0]
    for _ in range(3):
        enter(journal)
        assert journal.version() not in seen
        seen.append(journal.version())
        assert journal.version() == seen[-1]
    other = Journal.open(root)
    enter(other)
    other.close()
    assert journal.version() not in seen
    assert len(journal.acts()) == 4


def test_a_journal_put_in_the_place_of_another_is_noticed(
    journal: Journal, root: Path, tmp_path: Path
) -> None:
    enter(journal, text="old")
    before = journal.version()
    assert [act.text for act in journal.acts()] == ["old"]
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    other = Journal.open(elsewhere)
    enter(other, text="restored")
    other.close()
    shared_file(elsewhere).replace(shared_file(root))
    assert journal.version() != before
    assert [act.text for act in journal.acts()] == ["restored"]


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE entry SET text = 'changed'",
        "UPDATE entry SET number = 9",
        "DELETE FROM entry",
        "INSERT OR REPLACE INTO entry SELECT 1, 0, 0, '', '', '', '', '', '', 'changed', '{}'",
    ],
)
def test_nothing_can_be_changed_or_deleted(journal: Journal, root: Path, statement: str) -> None:
    enter(journal, text="kept")
    connection = sqlite3.connect(shared_file(root))
    with pytest.raises(sqlite3.IntegrityError, match="append-only"):
        connection.execute(statement)
    connection.close()
    assert [act.text for act in journal.acts()] == ["kept"]


def test_a_bench_that_takes_no_files_gets_a_journal_in_the_state_folder(
    journal: Journal, root: Path
) -> None:
    (root / ".porewatch").write_text("a file where the folder should be")
    number = enter(journal, phase="shear")
    assert number == OWN_FROM + 1
    assert journal.written_to == own_file(root)
    assert journal.refused is not None
    assert [act.entry for act in Journal.open(root).acts()] == [number]


def test_own_and_shared_entries_count_together(journal: Journal, root: Path) -> None:
    state = root / ".porewatch"
    state.write_text("in the way")
    own = enter(journal, text="own")
    state.unlink()
    shared = enter(journal, text="shared", held_at=T0 + 1.0)
    assert [act.entry for act in journal.acts()] == [own, shared]
    enter(journal, "undo", refers=own)
    assert [act.text for act in journal.acts()] == ["shared"]


def test_two_benches_of_one_name_do_not_share_a_state_folder(tmp_path: Path) -> None:
    assert own_file(tmp_path / "a" / "bench") != own_file(tmp_path / "b" / "bench")


@pytest.mark.parametrize("content", [b"not a database at all, " * 100, b"SQLite format 3\0" * 80])
def test_a_damaged_journal_is_a_problem_and_no_crash(
    journal: Journal, root: Path, content: bytes
) -> None:
    shared_file(root).parent.mkdir()
    shared_file(root).write_bytes(content)
    assert journal.acts() == ()
    (problem,) = journal.problems
    assert problem.file == ".porewatch/journal.sqlite3"
    assert problem.severity == "warning"
    assert problem.remedy
    with pytest.raises(JournalError, match="not kept"):
        enter(journal)
    assert shared_file(root).read_bytes() == content


def test_a_journal_that_is_damaged_while_watched_keeps_what_was_read(
    journal: Journal, root: Path
) -> None:
    enter(journal, text="known")
    assert len(journal.acts()) == 1
    shared_file(root).write_bytes(b"rubbish " * 2000)
    for leftover in ("-wal", "-shm"):
        Path(f"{shared_file(root)}{leftover}").unlink(missing_ok=True)
    journal.close()
    assert [act.text for act in journal.acts()] == ["known"]
    assert journal.problems


def test_a_newer_journal_says_so(journal: Journal, root: Path) -> None:
    enter(journal)
    journal.close()
    connection = sqlite3.connect(shared_file(root))
    connection.execute(f"PRAGMA user_version = {SCHEMA + 1}")
    connection.close()
    newer = Journal.open(root)
    assert newer.acts() == ()
    (problem,) = newer.problems
    assert "newer version" in problem.what
    with pytest.raises(JournalError, match="newer version"):
        enter(newer)


def test_a_database_of_something_else_is_left_alone(journal: Journal, root: Path) -> None:
    shared_file(root).parent.mkdir()
    connection = sqlite3.connect(shared_file(root))
    connection.execute("CREATE TABLE recipes (name TEXT)")
    connection.commit()
    connection.close()
    assert journal.acts() == ()
    assert "something else" in journal.problems[0].what
    with pytest.raises(JournalError, match="something else"):
        enter(journal)


def test_an_empty_file_is_an_empty_journal(journal: Journal, root: Path) -> None:
    shared_file(root).parent.mkdir()
    shared_file(root).touch()
    assert journal.acts() == ()
    assert journal.problems == ()
    assert enter(journal) == 1


def test_a_path_with_signs_of_an_address_is_a_path(tmp_path: Path) -> None:
    root = tmp_path / "bench?mode=ro#x %41"
    root.mkdir()
    journal = Journal.open(root)
    enter(journal)
    assert len(journal.acts()) == 1
    assert shared_file(root).exists()
    journal.close()


def test_network_file_systems_are_told_by_their_mount(tmp_path: Path) -> None:
    mounts = tmp_path / "mountinfo"
    mounts.write_text(
        "1 0 8:1 / / rw - ext4 /dev/sda1 rw\n"
        f"2 1 0:9 / {tmp_path.resolve()} rw shared:1 - nfs4 host:/share rw\n"
        "odd line\n"
    )
    assert on_network(tmp_path / "bench", mounts)
    assert not on_network(Path("/"), mounts)
    assert not on_network(tmp_path, tmp_path / "no such file")


def raised(kind: str = "raised", **more: Any) -> Entry:
    usual: dict[str, Any] = {"alarm": "pressure-drift", "about": "cell_pressure"}
    usual |= {"priority": "urgent", "since": T0 - 300.0}
    return Entry(Act(0, kind, "C1", "T015", T0, T0 + 90.0, "guard", "pc", **(usual | more)))


def test_what_is_said_of_alarms_comes_back(journal: Journal) -> None:
    enter(journal, "shelve", alarm="log-silent", ends="phase-end", until=T0 + 43_200.0)
    journal.add_all([raised(), raised("notified", route="night phone")])
    shelf, told, sent = (entry.act for entry in journal.entries())
    assert (shelf.alarm, shelf.ends, shelf.until) == ("log-silent", "phase-end", T0 + 43_200.0)
    assert (told.alarm, told.about, told.priority) == ("pressure-drift", "cell_pressure", "urgent")
    assert (told.since, told.route, sent.route) == (T0 - 300.0, None, "night phone")


def test_facts_of_the_watch_are_no_acts(journal: Journal) -> None:
    enter(journal, "acknowledge", alarm="pressure-drift")
    journal.add_all([raised(kind) for kind in WATCH_KINDS])
    assert [act.kind for act in journal.acts()] == ["acknowledge"]
    assert {entry.act.kind for entry in journal.entries()} == {"acknowledge", *WATCH_KINDS}


def test_several_entries_are_kept_all_or_none(journal: Journal) -> None:
    assert journal.add_all([]) == ()
    assert journal.add_all([raised(), raised(about=None)]) == (1, 2)
    unusable = raised(since=float("nan"))
    broken = Entry(Act(0, "raised", "C1", None, None, T0, "guard", "pc"))  # type: ignore[arg-type]
    with pytest.raises(JournalError):
        journal.add_all([unusable, broken])
    assert [entry.number for entry in journal.entries()] == [1, 2]


def test_an_older_program_reads_on(journal: Journal, root: Path) -> None:
    """The tables are those of version 1, and what is new stands where nobody had to look."""
    journal.add_all([raised()])
    connection = sqlite3.connect(shared_file(root))
    assert connection.execute("PRAGMA user_version").fetchone() == (1,)
    columns = [row[1] for row in connection.execute("PRAGMA table_info(entry)")]
    assert columns[:6] == ["number", "held_at", "entered_at", "who", "host", "client"]
    assert columns[6:] == ["cell", "test", "kind", "text", "details"]
    connection.close()
    assert SCHEMA == 1


@pytest.mark.parametrize(
    "details",
    ["", "[]", '{"until": "soon", "refers": true, "alarm": 7, "ends": "never", "since": 1e999}'],
)
def test_details_that_make_no_sense_are_not_known(
    journal: Journal, root: Path, details: str
) -> None:
    enter(journal)
    connection = sqlite3.connect(shared_file(root))
    connection.execute(
        "INSERT INTO entry (held_at, entered_at, who, host, cell, kind, text, details) "
        "VALUES (1, 1, 'w', 'h', 'C1', 'note', 'x', ?)", (details,)
    )  # fmt: skip
    connection.commit()
    connection.close()
    odd, _ = journal.entries()
    assert odd == Entry(Act(2, "note", "C1", None, 1.0, 1.0, "w", "h", "x"))


def test_of_a_long_journal_only_what_is_new_is_read(
    journal: Journal, root: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    note = Act(0, "note", "C1", None, T0, T0, "mira", "bench-pc")
    journal.add_all([Entry(note)] * 300)
    rows: list[int] = []

    def counted(connection: sqlite3.Connection, first: int, number: int) -> tuple[Entry, ...]:
        found = read_from(connection, first, number)
        rows.append(len(found))
        return found

    monkeypatch.setattr(book, "read_from", counted)
    reader = Journal.open(root)
    assert len(reader.acts()) == 300
    for k in range(1, 4):
        enter(journal)
        assert len(reader.acts()) == 300 + k
        reader.version()
    assert rows == [300, 2, 2, 2]  # the newest known one once more, to see that it is the same


def test_what_was_read_bit_by_bit_counts_as_what_is_read_at_once(
    journal: Journal, root: Path
) -> None:
    chance = random.Random(7)
    reader = Journal.open(root)
    for k in range(1, 80):
        kind = chance.choice(("mark", "note", "undo", "undo", "raised"))
        refers = chance.randrange(1, k + 1) if kind == "undo" else None
        held_at, entered_at = T0 + chance.randrange(9), T0 + chance.choice((k, k, 5))
        enter(journal, kind, refers=refers, held_at=held_at, entered_at=entered_at)
        if chance.random() < 0.4:
            until = chance.choice((None, T0 + 4.0))
            fresh = Journal.open(root)
            held = fresh.entries(until)
            assert reader.entries(until) == held
            assert reader.acts(until) == fresh.acts(until)
            void = undone(held)  # told from all entries, not from the undos alone
            assert [one.undone_by for one in held] == [void.get(one.number) for one in held]
            fresh.close()


def test_a_journal_put_over_another_one_is_noticed_when_it_grows(
    journal: Journal, root: Path, tmp_path: Path
) -> None:
    """`cp` keeps the inode; the newest entry that was known is not the same any more."""
    for text in "ab":
        enter(journal, text=text)
    assert [act.text for act in journal.acts()] == ["a", "b"]
    journal.close()
    elsewhere = tmp_path / "elsewhere"
    other = Journal.open(elsewhere)
    for text in "xyz":
        enter(other, text=text)
    other.close()
    inode = shared_file(root).stat().st_ino
    shared_file(root).write_bytes(shared_file(elsewhere).read_bytes())
    assert shared_file(root).stat().st_ino == inode
    assert [act.text for act in journal.acts()] == ["x", "y", "z"]


def test_a_journal_of_the_first_version_is_read_and_goes_on(journal: Journal, root: Path) -> None:
    """The tables and an entry as the first version wrote them, letter by letter."""
    shared_file(root).parent.mkdir()
    connection = sqlite3.connect(shared_file(root))
    connection.executescript(
        """
        CREATE TABLE entry (
            number INTEGER PRIMARY KEY AUTOINCREMENT, held_at REAL NOT NULL,
            entered_at REAL NOT NULL, who TEXT NOT NULL, host TEXT NOT NULL, client TEXT,
            cell TEXT NOT NULL, test TEXT, kind TEXT NOT NULL, text TEXT NOT NULL,
            details TEXT NOT NULL
        );
        INSERT INTO entry VALUES (1, 1000.0, 1060.0, 'mira', 'pc', NULL, 'C1', 'T015', 'mark', '',
            '{"phase": "saturation", "step": "hold", "until": 5000.0}');
        PRAGMA application_id = 0x706F7265;
        PRAGMA user_version = 1;
        """
    )
    connection.close()
    (old,) = journal.acts()
    assert old == Act(
        1, "mark", "C1", "T015", 1000.0, 1060.0, "mira", "pc", "", "saturation", "hold", 5000.0
    )
    assert enter(journal, "acknowledge", alarm="log-silent") == 2
    assert [act.kind for act in journal.acts()] == ["mark", "acknowledge"]
    assert journal.problems == ()
