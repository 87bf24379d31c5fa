"""The order of the lanes, and which of them are shown."""

import re
from dataclasses import replace

import made_benches
import pytest
from made_benches import AT
from shown import OnScreen, Shown, show

from tui.ink.sheet import Sheet
from tui.panes.head import head_rows
from tui.panes.lanes import lanes
from tui.panes.pane import View
from tui.panes.wall import Wall
from tui.settings.problems import Problem


def _heads(screen: OnScreen) -> list[str]:
    """Cells by the first lines of their lanes."""
    wall = screen.app.screen_stack[1].query_one(Wall)
    names = [cell.cell for cell in made_benches.alarmed().cells]
    firsts = [line.text.lstrip("▸ ").split(" ")[0] for line in wall.shown]
    return [name for name in firsts if name in names]


def test_orders_keep_ties_as_on_the_bench() -> None:
    bench = made_benches.alarmed()
    names = [cell.cell for cell in bench.cells]
    assert [cell.cell for cell in lanes(bench, View())] == names
    pressing = [cell.cell for cell in lanes(bench, View(order="urgency"))]
    assert sorted(pressing) == sorted(names)
    urgent = [c.cell for c in bench.cells if any(a.priority == "urgent" for a in c.alarms)]
    assert urgent and set(pressing[: len(urgent)]) >= set(urgent[:1])
    by_hands = lanes(bench, View(order="hands"))
    times = [min((h.at for h in c.hands if h.at is not None), default=9e99) for c in by_hands]
    assert times == sorted(times)


@pytest.mark.parametrize("size", [(160, 48), (80, 24), (60, 20)], ids=lambda s: f"{s[0]}x{s[1]}")
async def test_a_key_goes_round_the_orders_and_the_heading_says_which(
    size: tuple[int, int],
) -> None:
    bench = made_benches.alarmed()
    async with show(Shown(bench), size) as screen:
        for order, said in (("urgency", "most urgent"), ("hands", "next hands"), ("bench", "")):
            await screen.press("o")
            wanted = [cell.cell for cell in lanes(bench, View(order=order))]
            seen = _heads(screen)
            assert seen == wanted[: len(seen)] and len(seen) >= 3
            if said:
                assert said in screen.lines()[1]


async def test_typing_narrows_the_wall_and_escape_shows_all_again() -> None:
    async with show(Shown(made_benches.alarmed()), (160, 48)) as screen:
        every = _heads(screen)
        await screen.press("slash", *"shear")
        some = _heads(screen)
        assert 0 < len(some) < len(every)
        assert f"{len(some)} of {len(every)}: shear" in screen.lines()[1]
        assert any(line.startswith(f"▸{some[0]}") for line in screen.lines())
        await screen.press("enter", "down")
        assert _heads(screen) == some
        # Cells that are not shown are counted on top all the same, and the urgent ones told.
        assert "urgent" in screen.lines()[0]
        assert any("urgent, not shown: C" in line for line in screen.lines())
        await screen.press("slash", *"zzz")
        assert "no lane tells of that" in "\n".join(screen.lines())
        await screen.press("escape")
        assert _heads(screen) == every


async def test_what_is_typed_is_no_key_and_no_markup() -> None:
    async with show(Shown(made_benches.alarmed()), (80, 24)) as screen:
        await screen.press("slash", *"q[red]")
        assert screen.app.is_running
        await screen.press("escape")
        assert len(_heads(screen)) >= 3


async def test_the_cell_of_an_alarm_is_shown_whatever_is_sought() -> None:
    async with show(Shown(made_benches.alarmed()), (160, 48)) as screen:
        every = _heads(screen)
        await screen.press("slash", *"setup", "enter")
        assert len(_heads(screen)) < len(every)
        await screen.press("a", "enter")
        assert _heads(screen) == every


@pytest.mark.parametrize("size", [(80, 24), (40, 12)], ids=lambda s: f"{s[0]}x{s[1]}")
async def test_what_comes_first_in_an_order_is_in_sight_whatever_was_in_focus(
    size: tuple[int, int],
) -> None:
    bench = made_benches.sixty_four()
    async with show(Shown(bench), size) as screen:
        for _ in range(8):
            await screen.press("pagedown")
        for order in ("urgency", "hands"):
            await screen.press("o")
            first = lanes(bench, View(order=order))[0].cell
            assert any(line.startswith(f"▸{first} ") for line in screen.lines())
        await screen.press("o")
        assert any(line.startswith(f"▸{first} ") for line in screen.lines())


@pytest.mark.parametrize("size", [(160, 48), (40, 12)], ids=lambda s: f"{s[0]}x{s[1]}")
async def test_what_was_found_is_in_sight_when_all_lanes_are_back(size: tuple[int, int]) -> None:
    async with show(Shown(made_benches.sixty_four()), size) as screen:
        await screen.press("slash", *"C61")
        await screen.press("escape")
        assert any(line.startswith("▸C61 ") for line in screen.lines())


@pytest.mark.parametrize("term", ["xterm-16color", "xterm-256color"])
async def test_the_wall_stays_in_sight_while_somebody_types_what_is_sought(
    monkeypatch: pytest.MonkeyPatch, term: str
) -> None:
    monkeypatch.delenv("COLORTERM", raising=False)
    monkeypatch.setenv("TERM", term)
    async with show(Shown(made_benches.alarmed()), (80, 24)) as screen:
        assert screen.app.theme.endswith("-16") == (term == "xterm-16color")
        await screen.press("slash", *"shear")
        assert "shear" in screen.lines()[-1]
        assert any(line.startswith("▸C") for line in screen.lines())


@pytest.mark.parametrize("scene", ["alarmed", "all_well", "sixty_four"])
async def test_pressures_in_a_narrow_lane_say_how_old_they_are(scene: str) -> None:
    async with show(Shown(getattr(made_benches, scene)()), (40, 12)) as screen:
        heads = [line for line in screen.lines() if re.match(r"[▸ ]C\d+ ", line)]
        told = [line for line in heads if "/" in line]
        assert len(told) >= 2
        for line in told:
            assert re.search(r"kPa \d+ (s|min|h)\b", line), line


async def test_in_a_tight_line_the_phase_goes_before_the_pressures() -> None:
    """An age alone would be taken for that of the alarm."""
    raised = made_benches.alarm("saturation-stalled", AT - 5_000.0)
    cell = made_benches.saturating("C1", stalled=True)
    assert cell.live is not None
    cell = replace(cell, alarms=(raised,), live=replace(cell.live, at=AT - 100.0))
    cells = tuple(replace(cell, cell=f"C{k}", folder=f"C{k}") for k in range(9, 12))
    async with show(Shown(made_benches.bench(cells)), (40, 12)) as screen:
        heads = [line for line in screen.lines() if "▲ urgent! " in line]
        assert len(heads) == 3
        assert all(head.endswith("▲ urgent! 371/350/350 kPa 1 min") for head in heads)


async def test_in_a_tight_line_pressures_stay_where_a_clock_is_ahead() -> None:
    cell = made_benches.saturating("C1")
    assert cell.live is not None
    ahead = Problem("warning", "clock ahead", "set the logger's clock")
    cell = replace(cell, live=replace(cell.live, at=AT + 31 * 60.0), problems=(ahead,))
    for width, told in ((60, "σ′ 22 kPa 31 min ahead"), (40, "△ doubt sat 371/350/350 kPa ahead")):
        async with show(Shown(made_benches.bench((cell,))), (width, 12)) as screen:
            (head,) = [line for line in screen.lines() if line.startswith("▸C1")]
            assert told in head


def test_a_count_stands_where_there_is_no_room_for_when_the_next_is_due() -> None:
    cell = made_benches.shearing("C1")
    assert cell.live is not None
    view = View(form="medium", lane_rows=2)
    told = []
    for old in (2.0, 2_000.0):
        seen = replace(cell, live=replace(cell.live, at=AT - old))
        sheet = Sheet(40, 1)
        sheet.flow(0, 0, 40, head_rows(seen, AT, view, 2, room=3)[1])
        told.append(sheet.lines()[0].text)
    assert told[0].split()[-3:] == ["84/220", "38", "s"]
    assert told[1].endswith(" 33 min    84/220")
