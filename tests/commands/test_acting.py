"""Marks, notes and undos from the command line into the journal, and back out of it."""

import json
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from tui.commands import acting
from tui.commands.main import run
from tui.journal.store import Journal

CELL = """
[test]
id = "{test}"
kind = "{kind}"
[specimen]
diameter = "50.0 mm"
height = "100.0 mm"
"""
NOW = datetime(2031, 2, 3, 12, 0, tzinfo=UTC).timestamp()


class StoppedClock:
    def now(self) -> float:
        return NOW


@pytest.fixture
def bench(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    monkeypatch.setattr(acting, "WallClock", StoppedClock)
    monkeypatch.delenv("SSH_CONNECTION", raising=False)
    monkeypatch.delenv("SSH_CLIENT", raising=False)
    root = tmp_path / "bench"
    for name, test, kind in (("C1", "T015", "CU"), ("C2", "T016", "UU")):
        (root / name).mkdir(parents=True)
        (root / name / "cell.toml").write_text(CELL.format(test=test, kind=kind))
    (root / "bench.toml").write_text('zone = "Europe/Oslo"\n')
    monkeypatch.setenv("POREWATCH_BENCH", str(root))
    return root


@pytest.fixture
def say(capsys: pytest.CaptureFixture[str]) -> Callable[..., tuple[int, str, str]]:
    def run_it(*arguments: str) -> tuple[int, str, str]:
        code = run(arguments)
        shown = capsys.readouterr()
        return code, shown.out, shown.err

    return run_it


Say = Callable[..., tuple[int, str, str]]


def test_a_mark_holds_when_it_is_said_to(bench: Path, say: Say) -> None:
    code, out, err = say(
        "mark", "C1", "Saturation", "--step", "B-check", "--when", "2031-02-03T08:10",
        "--until", "2031-02-03T20:00", "--text", "ready", "--by", "mira",
    )  # fmt: skip
    assert (code, err) == (0, "")
    assert out == (
        "entry 1: C1 is in saturation/b-check from Mon 3 Feb 2031 08:10, "
        "planned until Mon 3 Feb 2031 20:00\n"
    )
    (act,) = Journal.open(bench).acts()
    assert (act.kind, act.cell, act.test, act.who) == ("mark", "C1", "T015", "mira")
    assert (act.phase, act.step, act.text) == ("saturation", "b-check", "ready")
    assert act.held_at == datetime(2031, 2, 3, 7, 10, tzinfo=UTC).timestamp()
    assert act.until == datetime(2031, 2, 3, 19, 0, tzinfo=UTC).timestamp()
    assert act.entered_at == NOW


def test_a_mark_that_is_to_come_is_said_to_wait(bench: Path, say: Say) -> None:
    code, out, _ = say("mark", "C1", "shear", "--when", "2031-02-10T08:00")
    assert code == 0
    assert "that is to come: it waits until then" in out
    assert "to come" not in say("mark", "C1", "setup")[1]
    assert "to come" not in say("mark", "C1", "setup", "--when", "2031-02-03T12:30")[1]


def test_a_mark_holds_from_now_unless_said_otherwise(bench: Path, say: Say) -> None:
    code, _, _ = say("mark", "C1", "consolidation/drained")
    assert code == 0
    (act,) = Journal.open(bench).acts()
    assert act.held_at == act.entered_at == NOW
    assert (act.phase, act.step) == ("consolidation", "drained")


def test_a_time_with_an_offset_is_taken_as_it_is(bench: Path, say: Say) -> None:
    say("note", "C1", "x", "--when", "2031-02-03T08:10+05:45")
    (act,) = Journal.open(bench).acts()
    assert act.held_at == datetime(2031, 2, 3, 2, 25, tzinfo=UTC).timestamp()


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("mark", "C2", "saturation"), "is UU"),
        (("mark", "C1", "shear", "--until", "2031-02-03T08:00"), "--until is not after"),
        (("mark", "C9", "shear"), "the cells are: C1, C2"),
        (("note", "C1", " "), "has no text"),
        (("undo", "7"), "it is empty"),
        (("note", "C1", "x", "--when", "0001-01-01T00:00"), "too far away"),
        (("note", "C1", "x", "--bench", "/no/such"), "does not exist"),
    ],
)
def test_what_cannot_be_is_refused_and_not_kept(
    bench: Path, say: Say, arguments: tuple[str, ...], said: str
) -> None:
    code, out, err = say(*arguments)
    assert (code, out) == (64, "")
    assert said in err
    assert len(err.splitlines()) == 1
    assert Journal.open(bench).entries() == ()


def test_words_of_a_note_need_no_quotes(bench: Path, say: Say) -> None:
    assert say("note", "C1", "filter", "paper", "[wet]")[0] == 0
    (act,) = Journal.open(bench).acts()
    assert (act.kind, act.text) == ("note", "filter paper [wet]")


def test_an_undo_holds_from_when_the_entry_held(bench: Path, say: Say) -> None:
    say("mark", "C1", "shear", "--when", "2031-02-03T08:10")
    code, out, _ = say("undo", "1")
    assert (code, out) == (0, "entry 2: took back entry 1, a mark about C1\n")
    early = datetime(2031, 2, 3, 8, 0, tzinfo=UTC).timestamp()
    assert Journal.open(bench).acts(until=early) == ()
    assert say("undo", "1")[0] == 64
    code, out, _ = say("undo", "2")
    assert code == 0
    assert [act.phase for act in Journal.open(bench).acts()] == ["shear"]


def test_an_undo_may_hold_from_later(bench: Path, say: Say) -> None:
    say("mark", "C1", "shear", "--when", "2031-02-03T08:10")
    say("undo", "1", "--when", "2031-02-03T10:00")
    journal = Journal.open(bench)
    early = datetime(2031, 2, 3, 8, 30, tzinfo=UTC).timestamp()
    assert [act.phase for act in journal.acts(until=early)] == ["shear"]
    assert journal.acts() == ()


def test_a_path_to_a_cell_says_which_bench(
    bench: Path, say: Say, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.delenv("POREWATCH_BENCH")
    monkeypatch.chdir(tmp_path)
    assert say("note", "bench/C2", "seen")[0] == 0
    monkeypatch.chdir(bench / "C1")
    assert say("note", "C1", "from within")[0] == 0
    assert [act.cell for act in Journal.open(bench).acts()] == ["C2", "C1"]


def test_the_journal_is_shown_in_words_and_in_json(
    bench: Path, say: Say, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert say("journal")[:2] == (0, "nothing was entered yet\n")
    monkeypatch.setenv("SSH_CONNECTION", "192.0.2.7 50022 192.0.2.1 22")
    say("mark", "C1", "shear", "--when", "2031-02-03T08:10", "--by", "mira")
    say("note", "C1", "creased \x1b[31mred\nmembrane", "--by", "ola")
    say("undo", "1", "--by", "mira")
    code, out, err = say("journal")
    assert (code, err) == (0, "")
    assert "   1  Mon 3 Feb 2031 08:10  C1  mark shear (taken back by 3)" in out
    assert "“creased red membrane”" in out
    assert "mira at " in out
    assert "from 192.0.2.7" in out
    assert "entered Mon 3 Feb 2031 13:00" in out
    assert "\x1b" not in out
    assert say("journal", "--ascii")[1].isascii()

    code, out, _ = say("journal", "--json")
    assert code == 0
    found: dict[str, Any] = json.loads(out)
    assert found["schema"] == "porewatch.journal/1"
    assert [one["entry"] for one in found["entries"]] == [1, 3, 2]
    mark = found["entries"][0]
    assert mark["held_at"] == "2031-02-03T08:10:00+01:00"
    assert mark["undone_by"] == 3
    assert (mark["cell"], mark["client"], mark["phase"]) == ("C1", "192.0.2.7", "shear")
    assert found["entries"][1]["refers"] == 1
    assert found["entries"][2]["text"] == "creased \x1b[31mred\nmembrane"

    assert '"shear"' in say("journal", "--json", "--at", "2031-02-03T08:10")[1]
    assert json.loads(say("journal", "--json", "--at", "2031-02-03T08:09")[1])["entries"] == []


def test_a_bench_that_takes_no_files_says_where_the_entry_went(
    bench: Path, say: Say, tmp_path: Path
) -> None:
    (bench / ".porewatch").write_text("in the way")
    code, out, err = say("note", "C1", "kept elsewhere")
    assert code == 0
    assert out.startswith("entry 1000001: ")
    assert str(tmp_path / "state") in err
    assert "kept elsewhere" in say("journal")[1]


def test_a_damaged_journal_is_said_and_nothing_is_lost(bench: Path, say: Say) -> None:
    (bench / ".porewatch").mkdir()
    (bench / ".porewatch" / "journal.sqlite3").write_bytes(b"rubbish" * 999)
    code, _, err = say("journal")
    assert code == 1
    assert ".porewatch/journal.sqlite3: the journal cannot be read" in err
    code, _, err = say("note", "C1", "x")
    assert code == 1
    assert "was not kept" in err
    assert len(err.splitlines()) == 1
