"""What people say at the screen: every key writes the entry that its command writes."""

import socket
import tomllib
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import replace
from datetime import datetime
from pathlib import Path

import made_benches
import pytest
from made_benches import AT, HOSTILE, HOSTILE_SHOWN, H
from shown import OnScreen, Shown, show
from test_goldens import compare
from textual.widgets import Static

from tui.bench.clock import HandClock
from tui.bench.picture import Bench
from tui.commands.main import run
from tui.journal.acts import Act
from tui.journal.entries import Entry
from tui.journal.store import Journal
from tui.screens.desk import Desk
from tui.settings.places import read_layout
from tui.words import Manner

ENTERED = AT + 3.0
SMALL = (60, 20)


@asynccontextmanager
async def acting(
    root: Path, bench: Bench | None = None, size: tuple[int, int] = SMALL, closed: str = ""
) -> AsyncIterator[OnScreen]:
    """The dashboard over a bench made up, with a journal on disk."""
    desk = Desk(root, closed, HandClock(ENTERED))
    async with show(Shown(bench or made_benches.alarmed()), size, desk=desk) as screen:
        yield screen


async def enter(screen: OnScreen, times: int = 1) -> None:
    """The key enter, and wait until the journal has it."""
    for _ in range(times):
        await screen.press("enter")
    await screen.app.workers.wait_for_complete()
    await screen.settle()


def journal(root: Path) -> list[Entry]:
    """What is in the journal, in the order of entry."""
    book = Journal.open(root)
    try:
        return sorted(book.entries(), key=lambda entry: entry.number)
    finally:
        book.close()


def only(root: Path) -> Act:
    """The one entry."""
    (entry,) = journal(root)
    return entry.act


async def test_an_alarm_is_acknowledged(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SSH_CONNECTION", "192.0.2.7 50022 192.0.2.1 22")
    async with acting(tmp_path) as screen:
        await screen.press("a", "a", *"valve", "tab", *"Ada")
        assert "You know of it" in screen.text()
        await enter(screen)
        assert "is in the journal: acknowledge" in screen.text()
        # who it was is remembered
        await screen.press("j", "a")
        assert screen.app.screen._lines["who"].value == "Ada"  # type: ignore[attr-defined]
    (entry,) = journal(tmp_path)
    act = entry.act
    assert (act.kind, act.cell, act.test) == ("acknowledge", "C2", "T015")
    assert (act.alarm, act.about, act.priority) == ("saturation-stalled", None, "urgent")
    assert (act.text, act.who, act.host) == ("valve", "Ada", socket.gethostname())
    assert (act.held_at, act.entered_at) == (AT, ENTERED)
    assert entry.client == "192.0.2.7"


async def test_an_alarm_of_the_bench_is_acknowledged_for_the_bench(tmp_path: Path) -> None:
    async with acting(tmp_path) as screen:
        await screen.press("a", "j", "a")
        assert "bench: supply lost" in screen.text()
        await enter(screen)
    act = only(tmp_path)
    assert (act.cell, act.test, act.alarm, act.about) == ("", None, "supply-lost", "main")


async def test_what_has_gone_meanwhile_is_not_answered(tmp_path: Path) -> None:
    async with acting(tmp_path) as screen:
        await screen.press("a", "a")
        await screen.beat(made_benches.all_well())
        await enter(screen)
        assert "Not yet: saturation-stalled is not raised in C2" in screen.text()
    assert journal(tmp_path) == []


async def test_an_alarm_is_shelved_for_a_time_with_a_reason(tmp_path: Path) -> None:
    async with acting(tmp_path) as screen:
        await screen.press("a", "s")
        await enter(screen)
        assert "Not yet: say why" in screen.text()
        await screen.press("down", *"2 h", "down", *"regulator")
        assert "Nobody is told of it until today 16:20" in screen.text()
        await enter(screen)
    act = only(tmp_path)
    assert (act.kind, act.alarm, act.text, act.ends) == (
        "shelve", "saturation-stalled", "regulator", None,
    )  # fmt: skip
    assert act.until == AT + 2 * H


@pytest.mark.parametrize(
    ("key", "ends", "says"),
    [("right", "cleared", "until it clears, at the latest"), ("left", "phase-end", "phase ends")],
)
async def test_an_alarm_is_shelved_until_something_ends(
    tmp_path: Path, key: str, ends: str, says: str
) -> None:
    async with acting(tmp_path) as screen:
        await screen.press("a", "s", key, "down", "down", *"why")
        assert says in " ".join(screen.text().split())
        await enter(screen)
    act = only(tmp_path)
    assert (act.ends, act.until) == (ends, AT + 12 * H)


async def test_no_shelf_outlasts_the_longest(tmp_path: Path) -> None:
    async with acting(tmp_path) as screen:
        await screen.press("a", "s", "down", *"13 h", "down", *"why")
        await enter(screen)
        assert "may be shelved for 12 h at the longest" in " ".join(screen.text().split())
    assert journal(tmp_path) == []


async def test_a_note(tmp_path: Path) -> None:
    async with acting(tmp_path) as screen:
        await screen.press("3", "n", *"crease", "down", *"14:00")
        await enter(screen)
    act = only(tmp_path)
    assert (act.kind, act.cell, act.text) == ("note", "C3", "crease")
    assert act.held_at == AT - 20 * 60 - 7  # 14:00 by the bench's clock, 14:20:07 is now


async def test_a_planned_hold_is_marked(tmp_path: Path) -> None:
    async with acting(tmp_path) as screen:
        await screen.press("1", "m")
        assert "‹ saturation/hold ›" in screen.text()
        await screen.press("down", *"18:00")
        assert "planned until today 18:00" in " ".join(screen.text().split())
        await enter(screen)
    act = only(tmp_path)
    assert (act.kind, act.phase, act.step) == ("mark", "saturation", "hold")
    assert act.held_at == AT
    assert act.until == AT + (3 * 60 + 40) * 60 - 7


async def test_that_a_test_is_over_is_asked_twice(tmp_path: Path) -> None:
    async with acting(tmp_path) as screen:
        await screen.press("4", "m", "e")
        assert "‹ ended ›" in screen.text()
        await enter(screen)
        assert "Enter once more" in " ".join(screen.text().split())
        assert journal(tmp_path) == []
        await enter(screen)
    assert (only(tmp_path).phase, only(tmp_path).step) == ("ended", None)


async def test_an_engineer_takes_b(tmp_path: Path) -> None:
    async with acting(tmp_path) as screen:
        await screen.press("2", "b", *"stiff clay")
        await enter(screen)
        assert journal(tmp_path) == []
        await enter(screen)
    act = only(tmp_path)
    assert (act.kind, act.cell, act.phase, act.text) == ("accept", "C2", "saturation", "stiff clay")


async def test_b_is_not_taken_out_of_saturation(tmp_path: Path) -> None:
    async with acting(tmp_path, size=(120, 36)) as screen:
        await screen.press("4", "b")
        assert "C4 has no target of B" in screen.text()
    assert journal(tmp_path) == []


async def test_a_gauge_was_refilled(tmp_path: Path) -> None:
    async with acting(tmp_path) as screen:
        await screen.press("1", "r", "down", *"14:00", "down", *"14:10", "down", *"0 ml")
        await enter(screen)
    act = only(tmp_path)
    assert (act.kind, act.channel, act.reads) == ("rebase", "back_volume", 0.0)
    assert act.until is not None
    assert act.until - act.held_at == 600.0


async def test_an_entry_is_taken_back(tmp_path: Path) -> None:
    async with acting(tmp_path) as screen:
        await screen.press("3", "n", *"wrong")
        await enter(screen)
        await screen.press("z")
        await screen.app.workers.wait_for_complete()
        await screen.settle()
        assert "note today 14:20 wrong" in screen.text()
        await enter(screen)
    note, undo = journal(tmp_path)
    assert undo.act.kind == "undo"
    assert undo.refers == note.number
    assert note.undone_by == undo.number


CELL = """\
[cell]
rating = "1700 kPa"
# our logger
[log]
time = { column = "time" }
[test]
id = "T015"
kind = "CU"
started = "2031-02-03T08:10"
[specimen]
diameter = "50 mm"
height = "100 mm"
"""


@pytest.fixture
def on_disk(tmp_path: Path) -> Path:
    """A bench whose C1 is described as the made one is."""
    (tmp_path / "C1").mkdir()
    (tmp_path / "C1" / "cell.toml").write_text(CELL)
    (tmp_path / "bench.toml").write_text('zone = "Europe/Oslo"\n')
    return tmp_path


async def waited(screen: OnScreen, *keys: str) -> None:
    """Press keys that ask the disk first."""
    await screen.press(*keys)
    await screen.app.workers.wait_for_complete()
    await screen.settle()


async def test_a_test_is_ended_after_a_second_enter_and_goes_on_when_that_is_undone(
    on_disk: Path,
) -> None:
    bench = made_benches.alarmed()
    async with acting(on_disk, bench) as screen:
        await waited(screen, "1", "e")
        await screen.press("down", *"sheared")
        told = " ".join(screen.text().split())
        assert "Its tables move to C1/tests/T015.toml" in told
        await enter(screen)
        assert "No valve is moved" in " ".join(screen.text().split())
        assert journal(on_disk) == []
        assert (on_disk / "C1" / "cell.toml").read_text() == CELL
        await enter(screen)
        assert "is in the journal: end the test" in screen.text()
        act = only(on_disk)
        assert (act.kind, act.cell, act.test, act.text) == ("close", "C1", "T015", "sheared")
        live = bench.cells[0].live
        assert live is not None
        assert act.held_at == live.at
        moved = tomllib.loads((on_disk / "C1" / "tests" / "T015.toml").read_text())
        assert datetime.fromisoformat(moved["test"]["ended"]).timestamp() == live.at
        assert read_layout(on_disk).places[0].idle
        # the cell stands without a test now, and the entry can be taken back all the same
        idle = replace(bench.cells[0], idle=True, test_id=None)
        await screen.beat(replace(bench, cells=(idle, *bench.cells[1:])))
        await screen.press("e")
        assert "no test runs in C1" in screen.text()
        await waited(screen, "z")
        assert "Test T015 goes on: its tables come back" in " ".join(screen.text().split())
        await enter(screen)
    close, undo = journal(on_disk)
    assert (undo.act.kind, undo.refers, close.undone_by) == ("undo", close.number, undo.number)
    back = (on_disk / "C1" / "cell.toml").read_text()
    assert tomllib.loads(back) == tomllib.loads(CELL)
    assert "# our logger" in back
    assert list((on_disk / "C1" / "tests").iterdir()) == []


async def test_a_test_is_not_ended_when_its_tables_cannot_move(on_disk: Path) -> None:
    (on_disk / "C1" / "tests").mkdir()
    (on_disk / "C1" / "tests" / "T015.toml").write_text("[test]\nid = 'other'\n")
    async with acting(on_disk, size=(100, 30)) as screen:
        await waited(screen, "1", "e")
        await enter(screen, 2)
        assert "Nothing was entered: C1/tests/T015.toml exists already" in screen.text()
        await screen.press("escape", "2", "e")
        await screen.app.workers.wait_for_complete()
        await screen.settle()
        assert "C2 is not on the bench any more" in screen.text()
    assert journal(on_disk) == []
    assert (on_disk / "C1" / "cell.toml").read_text() == CELL


async def test_the_end_that_cell_toml_names_is_not_asked_for(on_disk: Path) -> None:
    text = CELL.replace("[specimen]", 'ended = "2031-02-04T09:00"\n[specimen]')
    (on_disk / "C1" / "cell.toml").write_text(text)
    async with acting(on_disk) as screen:
        await waited(screen, "1", "e")
        assert "with its newest reading" not in screen.text()
        assert "ended Tue 09:00" in " ".join(screen.text().split())
        await enter(screen, 2)
    assert only(on_disk).held_at == datetime.fromisoformat("2031-02-04T09:00+01:00").timestamp()


async def test_leaving_enters_nothing(tmp_path: Path) -> None:
    async with acting(tmp_path) as screen:
        for keys in (("n", "x"), ("m",), ("r",)):
            await screen.press(*keys, "escape")
            assert screen.app.screen is screen.bench_screen
    assert journal(tmp_path) == []


async def test_nothing_is_said_where_it_is_shut(tmp_path: Path) -> None:
    shut = "a replay shows what was: nothing can be said in it"
    async with acting(tmp_path, size=(80, 24), closed=shut) as screen:
        for key in "mnbrez":
            await screen.press(key)
            assert shut in screen.text()
            assert screen.app.screen is screen.bench_screen
        assert "m mark" not in screen.text()
        await screen.press("a", "a")
        assert shut in screen.text()
        await screen.press("question_mark")
        assert f"not now: a s m n b r e z: {shut}" in " ".join(screen.text().split())


async def test_help_says_what_is_possible_here_and_now(tmp_path: Path) -> None:
    async with acting(tmp_path, size=(80, 50)) as screen:
        await screen.press("2", "question_mark")
        text = screen.text()
        assert "take B below its target" in text
        assert "not now" not in text
        await screen.press("escape", "4", "question_mark")
        assert "not now: b: C4 has no target of B" in screen.text()


@pytest.mark.parametrize("size", [(60, 20), (40, 12)], ids=str)
async def test_every_act_has_room(tmp_path: Path, size: tuple[int, int]) -> None:
    async with acting(tmp_path, size=size) as screen:
        for key in ("n", "m", "r", "b"):
            await screen.press("2", key)
            lines = screen.lines()
            assert any("who" in line for line in lines)
            assert any("enter it" in line for line in lines)
            await screen.press("escape")


async def test_ascii_entries() -> None:
    desk = Desk(Path("nowhere"))
    bench, manner = made_benches.alarmed(), Manner(ascii=True)
    async with show(Shown(bench), (80, 24), manner=manner, desk=desk) as screen:
        for keys in (("m",), ("a", "s")):
            await screen.press(*keys)
            assert screen.text().isascii()
            await screen.press("escape")


async def test_a_journal_that_cannot_be_written_says_so(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*_: object, **__: object) -> None:
        raise OSError("[b]share is away")

    async with acting(tmp_path) as screen:
        monkeypatch.setattr(screen.bench_screen.desk, "enter", refuse)
        await screen.press("n", "x")
        await enter(screen)
        assert "Nothing was entered: [b]share is away" in screen.text()


async def test_a_hostile_alarm_stands_literally(tmp_path: Path) -> None:
    async with acting(tmp_path, made_benches.hostile_alarms(), (160, 48)) as screen:
        whole = screen.text()
        await screen.press("a")
        whole += screen.text()
        await screen.press("a")
        whole += screen.text()
    assert HOSTILE_SHOWN in whole
    assert HOSTILE not in whole
    for sign in ("\x1b", "\x07", "\u202e"):
        assert sign not in whole


async def test_a_quiet_alarm_repaints_nothing(tmp_path: Path) -> None:
    alarmed = made_benches.alarmed()
    bench = replace(alarmed, at=AT + 1.0, cells=alarmed.cells[:3])  # others count seconds
    async with acting(tmp_path, bench, (160, 48)) as screen:
        await screen.beat()
        screen.written.clear()
        await screen.beat(replace(bench, at=AT + 1.5))
        assert "".join(screen.written) == ""
        await screen.press("a")
        await screen.beat()
        screen.written.clear()
        await screen.beat(replace(bench, at=AT + 2.0))
        assert "".join(screen.written) == ""


async def test_the_picture_follows_what_was_entered(tmp_path: Path) -> None:
    """A rehearsed bench with a fault: what the key wrote is what the next look reads."""
    from tui.bench.look import look  # noqa: PLC0415

    root = tmp_path / "bench"
    run(["rehearse", "--out", str(root), "--fault", "saturation-stalled:C1"])
    bench = look(root)
    raised = {alarm.kind for cell in bench.cells for alarm in cell.alarms}
    assert "saturation-stalled" in raised
    async with acting(root, bench, (160, 48)) as screen:
        await screen.press("a", "a", "tab", *"Ada")
        await enter(screen)
        await screen.beat(look(root))
        assert "acknowledged by Ada" in screen.text()


async def test_from_an_alarm_to_its_cell(tmp_path: Path) -> None:
    async with acting(tmp_path, size=(160, 48)) as screen:
        await screen.press("a", "j", "j", "enter")
        assert screen.app.screen is screen.bench_screen
        assert "▸C4" in screen.text()


async def test_the_most_pressing_alarm_of_the_cell_is_answered_from_the_wall(
    tmp_path: Path,
) -> None:
    async with acting(tmp_path) as screen:
        await screen.press("3", "A")
        text = " ".join(screen.text().split())
        assert "Acknowledge C3 · CD · BH2-U07-c · T009: drainage leaks" in text
        await enter(screen)
        await screen.press("5", "S", "down", "down", *"main valve")
        assert "Shelve bench: supply lost, main" in " ".join(screen.text().split())
        await enter(screen)
    first, second = (entry.act for entry in journal(tmp_path))
    assert (first.kind, first.cell, first.test, first.alarm) == (
        "acknowledge", "C3", "T009", "leak-drainage",
    )  # fmt: skip
    assert (second.kind, second.cell, second.test, second.alarm, second.about) == (
        "shelve", "", None, "supply-lost", "main",
    )  # fmt: skip


async def test_what_somebody_knows_already_is_not_acknowledged_again_from_the_wall(
    tmp_path: Path,
) -> None:
    async with acting(tmp_path, size=(80, 24)) as screen:
        await screen.press("4", "A")  # its drift is known, its silence has passed and is not
        assert "log silent" in screen.text()
        await screen.press("escape", "4", "S")
        assert "Shelve" in screen.text() and "pressure drifts" in screen.text()
        await screen.press("escape", "3", "enter", "A")
        assert "drainage leaks" in screen.text()
        await screen.press("escape", "escape")
        await screen.beat(made_benches.all_well())
        await screen.press("A")
        assert "C3 has no alarm to acknowledge" in screen.text()
        await screen.press("question_mark", "end")
    assert journal(tmp_path) == []


async def test_what_was_said_of_the_bench_is_taken_back(tmp_path: Path) -> None:
    async with acting(tmp_path) as screen:
        await screen.press("5", "A")
        await enter(screen)
        await screen.press("n", *"a note")
        await enter(screen)
        await waited(screen, "z", "right")
        text = " ".join(screen.text().split())
        assert "‹ 1 acknowledge bench today 14:20… › 2 of 2" in text
        assert "Entry 1, acknowledge supply-lost (main), by" in text
        await enter(screen)
    undo = journal(tmp_path)[-1]
    assert (undo.act.kind, undo.act.cell, undo.refers) == ("undo", "", 1)


async def test_an_undo_says_of_which_test_and_is_taken_back_itself(tmp_path: Path) -> None:
    async with acting(tmp_path) as screen:
        await screen.press("3", "n", *"crease")
        await enter(screen)
        for refers in (1, 2):
            await waited(screen, "z")
            text = " ".join(screen.text().split())
            assert "Undo C3 · CD · BH2-U07-c · T009" in text
            assert f"Entry {refers} of test T009, " in text
            await enter(screen)
    assert [(one.act.kind, one.refers, one.undone_by) for one in journal(tmp_path)] == [
        ("note", None, None), ("undo", 1, 3), ("undo", 2, None),
    ]  # fmt: skip


@pytest.mark.parametrize("key", ["A", "S", "n", "m", "r", "b"])
async def test_what_was_said_of_one_test_is_not_entered_of_the_next(
    tmp_path: Path, key: str
) -> None:
    bench = made_benches.alarmed()
    later = tuple(replace(cell, test_id="T099") for cell in bench.cells)
    async with acting(tmp_path) as screen:
        await screen.press("2", key)
        assert "C2 · CU · BH4-U12-a · T015" in " ".join(screen.text().split())
        await screen.press(*["down"] * {"S": 2}.get(key, 0), *("why" if key in "ASnb" else ""))
        await screen.beat(replace(bench, cells=later))
        await enter(screen, 2)
        assert "Not yet: another test runs in C2 by now" in " ".join(screen.text().split())
    assert journal(tmp_path) == []


async def test_in_few_lines_the_question_and_how_many_there_are_can_be_read(
    on_disk: Path,
) -> None:
    async with acting(on_disk, size=(40, 12)) as screen:
        for words in ("a remark that is longer than its line", "another"):
            await screen.press("n", *words)
            await enter(screen)
        await waited(screen, "z")
        assert "› 1 of 2" in screen.text()
        await screen.press("right")
        assert "… › 2 of 2" in screen.text() and "Entry 1 of test" in screen.text()
        await screen.press("escape")
        await waited(screen, "e")
        await screen.press("enter")
        text = " ".join(screen.text().split())
        assert "No valve is moved" in text and "Enter once more enters it." in text
        await screen.press("escape")
    assert [entry.act.kind for entry in journal(on_disk)] == ["note", "note"]


@pytest.mark.parametrize("size", [(160, 48), (80, 24), (60, 20), (40, 12)], ids=str)
async def test_forms_in_every_size(on_disk: Path, size: tuple[int, int]) -> None:
    """As they ask, and where it matters as they ask once more."""
    named = f"{size[0]}x{size[1]}"
    async with acting(on_disk, size=size) as screen:
        screen.app.screen.desk.who = "Ada"  # type: ignore[attr-defined]
        await screen.press("2", "A")
        compare(f"form_acknowledge_{named}", screen.part("entry"))
        await screen.press("escape", "1", "r")
        compare(f"form_rebase_{named}", screen.part("entry"))
        await screen.press("escape", "n", *"a crease")
        await enter(screen)
        await waited(screen, "z")
        compare(f"form_undo_{named}", screen.part("entry"))
        await screen.press("escape")
        await waited(screen, "e")
        await screen.press("enter")
        compare(f"form_end_asked_{named}", screen.part("entry"))


@pytest.mark.parametrize("key", ["enter", "a"])
async def test_what_was_told_of_a_key_is_not_carried_to_another_screen(
    tmp_path: Path, key: str
) -> None:
    async with acting(tmp_path, closed="nothing is entered here") as screen:
        await screen.press("n")
        assert "nothing is entered here" in screen.text()
        await screen.press(key)
        assert "nothing is entered here" not in screen.text()
        await screen.press("escape")
        assert "nothing is entered here" not in screen.text()


async def test_what_was_told_in_a_cell_is_told_on_the_wall_for_a_while(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("tui.screens.acting.TOLD_S", 0.5)
    async with acting(tmp_path, closed="nothing is entered here") as screen:
        await screen.press("enter", "n", "escape")
        assert "nothing is entered here" in screen.text()
        await screen.pilot.pause(1.0)
        await screen.settle()
        assert "nothing is entered here" not in screen.text()


@pytest.mark.parametrize("size", [(160, 48), (80, 24), (60, 20), (40, 12)], ids=str)
async def test_help_is_folded_for_the_room_that_its_bar_leaves(
    tmp_path: Path, size: tuple[int, int]
) -> None:
    async with acting(tmp_path, size=size) as screen:
        await screen.press("4", "question_mark")
        page = screen.app.screen.query_one("#help")
        told = page.query_one(Static)
        assert page.show_vertical_scrollbar
        assert str(told.content).count("\n") == told.size.height - 1  # none is folded once more


async def test_the_way_back_from_the_alarms_is_named_however_narrow_the_screen(
    tmp_path: Path,
) -> None:
    async with acting(tmp_path, size=(40, 12)) as screen:
        await screen.press("a")
        assert screen.lines()[-1].split("  ") == ["a acknowledge", "s shelve", "esc back"]
