"""What people say at the screen: every key writes the entry that its command writes."""

import socket
import tomllib
from dataclasses import replace
from datetime import datetime
from pathlib import Path

import made_benches
import pytest
from acted import CELL, ENTERED, acting, enter, journal, only, waited
from made_benches import AT, H

from tui.commands.main import run
from tui.settings.places import read_layout


async def test_an_alarm_is_acknowledged(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SSH_CONNECTION", "192.0.2.7 50022 192.0.2.1 22")
    async with acting(tmp_path) as screen:
        await screen.press("a", "a", *"valve", "tab", *"Ada")
        assert "You know of it" in screen.text()
        await enter(screen)
        assert "C2: entry 1 is in the journal: acknowledge; z takes it back" in screen.text()
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
