"""The bench behind an entry, the palette or the help goes on, and sends what changed alone."""

from dataclasses import replace
from pathlib import Path

import made_benches
import pyte
import pytest
from made_benches import AT
from shown import Shown, show
from textual.command import CommandList
from textual.geometry import Region

from tui.ink.paper import Paper
from tui.screens.desk import Desk
from tui.screens.offers import Palette

OVER = (
    (), ("n",), ("ctrl+p",), ("question_mark",), ("h",), ("slash",), ("a", "a"),
    ("a", "question_mark"), ("a",), ("enter",), ("2", "enter", "a"),
)  # fmt: skip
"""Keys that lay something over the bench, over a cell, or over the list of alarms."""


@pytest.mark.parametrize("keys", OVER, ids=str)
async def test_what_is_sent_adds_up_to_the_screen_and_is_little(
    tmp_path: Path, keys: tuple[str, ...]
) -> None:
    bench, size = made_benches.alarmed(), (100, 30)
    terminal = pyte.Screen(*size)
    stream = pyte.Stream(terminal)
    async with show(Shown(bench), size, desk=Desk(tmp_path)) as screen:
        await screen.press(*keys)
        await screen.app.workers.wait_for_complete()
        await screen.settle()
        for scene in ("alarmed", "one_broken", "all_well", "alarmed"):
            changed = getattr(made_benches, scene)()
            for seconds in (0.0, 7.0, 61.0, 4_000.0):
                await screen.beat(replace(changed, at=AT + seconds))
                await screen.settle()
                screen.app.screen.refresh()
                await screen.settle()
                stream.feed("".join(screen.written))
                assert [line.rstrip() for line in terminal.display] == screen.lines()
                for later in (1.0, 2.0):  # the first one also flushes what the layout had left over
                    screen.written.clear()
                    await screen.beat(replace(changed, at=AT + seconds + later))
                    await screen.settle()
                    stream.feed("".join(screen.written))
                    assert [line.rstrip() for line in terminal.display] == screen.lines()
                assert len("".join(screen.written)) < 1_500
                screen.written.clear()


@pytest.mark.parametrize("keys", [(), ("a",), ("2", "enter")], ids=str)
async def test_what_changes_behind_does_not_keep_a_screen_from_showing_what_has_changed(
    keys: tuple[str, ...],
) -> None:
    size = (60, 20)
    raised = made_benches.alarm("saturation-stalled", AT - 5_000.0)
    cell = made_benches.saturating("C2", stalled=True)
    first = made_benches.bench((made_benches.saturating("C1"), replace(cell, alarms=(raised,))))
    shelved = replace(raised, state="shelved", shelved_until=AT + 1_800.0)
    then = made_benches.bench((made_benches.saturating("C1"), replace(cell, alarms=(shelved,))))
    terminal = pyte.Screen(*size)
    stream = pyte.Stream(terminal)
    async with show(Shown(first), size) as screen:
        await screen.press(*keys)
        stream.feed("".join(screen.written))
        screens = list(dict.fromkeys((screen.bench_screen, screen.app.screen)))
        for bench in (then, first, then):
            screen.written.clear()
            screen.following.bench = bench
            screen.app.beat()
            for one in screens:
                one._dirty_widgets.update(one.query(Paper))
            for one in screens:  # the one behind is the first whose time has come
                one._on_timer_update()
            stream.feed("".join(screen.written))
            assert [line.rstrip() for line in terminal.display] == screen.lines()
            await screen.settle()


async def test_what_shines_through_does_not_hide_what_has_just_come_to_be_shown() -> None:
    """The bar of the wall behind is drawn anew just when the palette has something to offer."""
    terminal = pyte.Screen(40, 12)
    stream = pyte.Stream(terminal)
    async with show(Shown(made_benches.sixty_four()), (40, 12)) as screen:
        await screen.press("ctrl+p")
        await screen.app.workers.wait_for_complete()
        palette = screen.app.screen
        assert isinstance(palette, Palette)
        offers = palette.query_one(CommandList)
        palette._list_visible = False
        await screen.settle()
        stream.feed("".join(screen.written))
        screen.written.clear()
        palette._list_visible = True
        palette._dirty_widgets.add(offers)
        palette.paint_with({Region(39, 2, 1, 8), Region(0, 0, 40, 12)})
        await screen.settle()
        stream.feed("".join(screen.written))
        assert any("the next cell" in line for line in terminal.display)
        assert [line.rstrip() for line in terminal.display] == screen.lines()


async def test_what_is_painted_at_once_makes_nothing_else_forgotten() -> None:
    async with show(Shown(made_benches.all_well()), (80, 24)) as screen:
        wall, hands = screen.pane("wall"), screen.pane("hands")
        bench = screen.bench_screen
        bench._painted_at = 0.0
        bench._dirty_widgets |= {wall, hands}
        bench.paint_now(wall)
        assert bench._dirty_widgets == {hands}
