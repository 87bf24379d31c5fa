"""How forms, alarms and help look while people say something, at every size."""

from dataclasses import replace
from pathlib import Path

import made_benches
import pytest
from acted import acting, enter, journal, waited
from made_benches import AT, HOSTILE, HOSTILE_SHOWN
from shown import Shown, show
from test_goldens import compare
from textual.widgets import Static

from tui.screens.desk import Desk
from tui.words import Manner


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
