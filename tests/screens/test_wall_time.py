"""Looking along the time of the wall, and letting it stand still while alarms go on."""

from dataclasses import replace
from itertools import pairwise

import made_benches
import pytest
from hypothesis import given
from hypothesis import strategies as st
from made_benches import AT, ZONE, H, alarm, later
from shown import OnScreen, Shown, show
from textual import events
from textual.command import CommandList

from tui.ink.times import SPANS_S, TimeAxis, ticks
from tui.panes.pane import View
from tui.panes.stretch import axis_of, moved, reach, span_of
from tui.panes.wall import Wall
from tui.words import Manner

SIZES = ((160, 48), (80, 24), (60, 20), (40, 12))


def ids(size: tuple[int, int]) -> str:
    """As in the names of goldens."""
    return f"{size[0]}x{size[1]}"


async def held(screen: OnScreen) -> float | None:
    """Where the wall was moved to."""
    return screen.bench_screen.view.held_s


@given(st.floats(1.0, 3e9), st.sampled_from(SPANS_S), st.integers(1, 300), st.floats(-1e6, 1e6))
def test_an_axis_that_is_held_is_the_same_axis_elsewhere(
    at: float, span: float, width: int, away: float
) -> None:
    axis = TimeAxis.around(at, span, width, held=at + away)
    follows = TimeAxis.around(at, span, width)
    assert axis.column_s == follows.column_s
    assert axis.place(at) - axis.now_column == pytest.approx(
        follows.place(at) - follows.now_column, abs=1e-3
    )
    # what it is held at stands where now stands else, to the column
    assert abs(axis.place(at + away) - follows.now_column) <= 1.0 + 1e-3
    assert 0 <= axis.history <= width
    assert axis.shows_now == (axis.first <= axis.now < axis.last - 1e-9 * span)


def test_history_ends_at_now_wherever_that_is() -> None:
    past = TimeAxis.around(AT, 8 * H, 80, held=AT - 20 * H)
    assert past.now_column >= 80
    assert past.history == 80
    assert not past.shows_now
    future = TimeAxis.around(AT, 8 * H, 80, held=AT + 20 * H)
    assert future.now_column < 0
    assert future.history == 0
    assert not future.shows_now


@pytest.mark.parametrize("span_h", (24 * 14, 24 * 60))
def test_days_that_are_named_are_the_same_wherever_the_axis_begins(span_h: int) -> None:
    here = TimeAxis.around(AT, span_h * H, 80)
    on = replace(here, now_column=here.now_column - 5)
    named = {label: column for column, label in ticks(here, ZONE)}
    for column, label in ticks(on, ZONE):
        if column < 70:
            assert named[label] == column + 5


def test_it_moves_by_whole_columns_and_no_further_than_something_is_seen() -> None:
    bench, view = made_benches.all_well(), View(form="wide", lane_rows=5)
    first, last = reach(bench)
    assert first < bench.at < last
    column = axis_of(bench, view, 159).column_s
    seen = []
    for _ in range(100):
        view = replace(view, held_s=moved(bench, view, 159, -1 / 12))
        assert view.held_s is not None
        seen.append(view.held_s)
    assert seen[-1] == first == seen[-2]
    steps = [(a - b) / column for a, b in pairwise(seen) if b != first]
    assert all(step == pytest.approx(round(step)) and step > 1 for step in steps)
    for _ in range(200):
        view = replace(view, held_s=moved(bench, view, 159, 1 / 12))
    assert view.held_s == last


def test_coming_back_it_stops_at_now_and_goes_with_it_again() -> None:
    bench, view = made_benches.all_well(), View(form="wide", lane_rows=5)
    there = moved(bench, view, 159, -1 / 12)
    assert there is not None and there < bench.at
    assert moved(bench, replace(view, held_s=there), 159, 1 / 12) is None
    assert moved(bench, replace(view, held_s=there), 159, 1 / 2) is None  # not beyond it
    on = moved(bench, view, 159, 1 / 2)
    assert on is not None and on > bench.at


@pytest.mark.parametrize("size", SIZES, ids=ids)
async def test_left_and_right_go_along_time_and_end_comes_back(size: tuple[int, int]) -> None:
    async with show(Shown(made_benches.all_well()), size) as screen:
        before = screen.text()
        assert "▼ now" in screen.lines()[1]
        await screen.press(*["left"] * 8)
        past = screen.lines()
        assert past[1].endswith("▸") and "now" in past[1] and "▼" not in past[1]
        assert "│" not in "".join(line[-3:] for line in past[2:8])  # the line of now has gone
        assert "end now" in past[-1]
        await screen.press("end")
        assert screen.text() == before
        await screen.press(*["right"] * 8)
        future = screen.lines()
        assert ("▼ now" in future[1]) or "◂ now" in future[1]
        assert future[1] != before.splitlines()[1]
        await screen.press("0")
        assert screen.text() == before
        await screen.press("plus", "home")
        bench, view = screen.bench_screen.shown, screen.bench_screen.view
        assert bench is not None
        axis = axis_of(bench, view, size[0] - 1)
        assert axis.first == pytest.approx(reach(bench)[0], abs=2 * axis.column_s)
        assert "▸" in screen.lines()[1]


async def test_how_far_now_is_is_said_to_the_minute() -> None:
    bench = made_benches.all_well()
    async with show(Shown(bench), (160, 48)) as screen:
        await screen.press(*["left"] * 7)
        view = screen.bench_screen.view
        axis = axis_of(bench, view, 159)
        away = bench.at - axis.last
        assert away > H
        hours, minutes = divmod(int(away // 60), 60)
        assert screen.lines()[1].endswith(f"now {hours} h {minutes:02d} min ▸")
        await screen.press("end", *["right"] * 12)
        axis = axis_of(bench, screen.bench_screen.view, 159)
        assert ("◂ now" in screen.lines()[1]) == (bench.at < axis.first)


async def test_history_stays_where_it_was_when_the_axis_moves() -> None:
    """The same moments show the same signs, so many columns further on."""
    cell = replace(made_benches.saturating("C1"), hands=())
    bench = made_benches.bench((cell,))
    async with show(Shown(bench), (160, 48)) as screen:
        before, one = screen.lines(), axis_of(bench, screen.bench_screen.view, 159)
        await screen.press("left")
        after, two = screen.lines(), axis_of(bench, screen.bench_screen.view, 159)
        by = round((one.first - two.first) / one.column_s)
        assert by > 3
        left = 159 - one.width
        for old, new in zip(before[3:7], after[3:7], strict=True):
            seen = old.ljust(160)[left : left + one.now_column - by]
            assert new.ljust(160)[left + by : left + one.now_column] == seen


async def test_the_order_is_said_beside_now_wherever_that_is() -> None:
    async with show(Shown(made_benches.alarmed()), (60, 20)) as screen:
        await screen.press("o")
        for key in ("right", "left"):
            for _ in range(8):
                await screen.press(key)
                assert "most urgent first" in screen.lines()[1]
                assert "now" in screen.lines()[1]
            await screen.press("end")


@pytest.mark.parametrize("size", SIZES, ids=ids)
async def test_words_that_have_no_room_are_left_off_whole(size: tuple[int, int]) -> None:
    """As now nears the right end, no word is shown of which only the beginning fits."""
    bench, tried = made_benches.all_well(), 0
    async with show(Shown(bench), size) as screen:
        for _ in range(9):
            await screen.press("left")
            axis = axis_of(bench, screen.bench_screen.view, size[0] - 1)
            room = axis.width - axis.now_column - 1
            tracks = [line[-room:] for line in _tracks(screen)]
            if 0 < room < 12:
                tried += 1
                assert not any(sign.isalpha() for line in tracks for sign in line)
    assert tried


async def test_what_is_looked_at_stands_while_time_goes_on() -> None:
    bench = made_benches.all_well()
    async with show(Shown(bench), (160, 48)) as screen:
        await screen.press(*["left"] * 10)
        before = [line[49:] for line in screen.lines()[2:32]]
        await screen.beat(replace(bench, at=bench.at + 3 * H))
        assert [line[49:] for line in screen.lines()[2:32]] == before
        away = screen.lines()[1]
        await screen.press("end")
        assert "▼ now" in screen.lines()[1] and screen.lines()[1] != away


async def test_with_shift_it_goes_faster_and_zoom_keeps_the_place() -> None:
    bench = made_benches.all_well()
    async with show(Shown(bench), (160, 48)) as screen:
        await screen.press("left")
        slow = await held(screen)
        await screen.press("end", "shift+left")
        fast = await held(screen)
        assert slow is not None and fast is not None
        assert bench.at - fast > 4 * (bench.at - slow) > 0
        await screen.press("plus")
        assert await held(screen) == fast
        assert span_of(bench, screen.bench_screen.view) == 48 * H


async def test_the_wheel_with_shift_goes_along_time_and_without_down_the_lanes() -> None:
    async with show(Shown(made_benches.sixty_four()), (80, 24)) as screen:
        wall = screen.bench_screen.query_one(Wall)

        async def turn(kind: type[events.MouseEvent], *, shift: bool) -> None:
            x, y = wall.region.x + 50, wall.region.y + 3
            event = kind(wall, x, y, 0, 0, 0, shift=shift, meta=False, ctrl=False,
                         screen_x=x, screen_y=y)  # fmt: skip
            screen.app.screen._forward_event(event)
            await screen.settle()

        await turn(events.MouseScrollUp, shift=True)
        there = await held(screen)
        assert there is not None and there < AT and wall.scroll_offset.y == 0
        await turn(events.MouseScrollDown, shift=True)
        assert await held(screen) is None
        await turn(events.MouseScrollDown, shift=False)
        assert await held(screen) is None and wall.scroll_offset.y > 0
        await turn(events.MouseScrollRight, shift=False)
        on = await held(screen)
        assert on is not None and on > AT
        await turn(events.MouseScrollLeft, shift=False)
        assert await held(screen) is None


async def test_the_palette_has_these_keys() -> None:
    async with show(Shown(made_benches.all_well()), (120, 50)) as screen:
        for letters in ("back along", "on along", "stands still", "first reading"):
            await screen.press("ctrl+p")
            await screen.app.workers.wait_for_complete()
            await screen.press(*(letters.replace(" ", "")))
            await screen.app.workers.wait_for_complete()
            await screen.settle()
            options = screen.app.screen.query_one(CommandList).options
            shown = [str(option.prompt) for option in options]
            assert any(letters in one for one in shown), (letters, shown)
            await screen.press("escape", "escape")
        await screen.press("ctrl+p")
        await screen.app.workers.wait_for_complete()
        await screen.press(*"backalong")
        await screen.app.workers.wait_for_complete()
        await screen.settle()
        await screen.press("enter")
        await screen.settle()
        assert await held(screen) is not None


async def test_pages_of_lanes_and_lanes_out_of_sight() -> None:
    async with show(Shown(made_benches.sixty_four()), (80, 24)) as screen:
        wall = screen.bench_screen.query_one(Wall)
        in_sight = wall.size.height // screen.bench_screen.view.lane_rows
        await screen.press("pagedown")
        assert f"▸C{in_sight + 1} " in screen.text()
        await screen.press("left", "pagedown")
        assert f"▸C{2 * in_sight + 1} " in screen.text()
        await screen.press("pageup", "pageup")
        assert "▸C1 " in screen.text()
        await screen.press(*["pagedown"] * 30)
        assert "▸C64" in screen.text()


async def test_keys_that_come_together_are_drawn_once() -> None:
    drawings = 0
    draw = Wall.draw

    def counted(self: Wall, width: int, height: int) -> object:
        nonlocal drawings
        drawings += 1
        return draw(self, width, height)

    async with show(Shown(made_benches.sixty_four()), (160, 48)) as screen:
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(Wall, "draw", counted)
            for _ in range(6):
                screen.app.post_message(events.Key("left", None))
            await screen.settle()
            together, there = drawings, await held(screen)
        assert together <= 2
        await screen.press("end", *["left"] * 6)
        assert await held(screen) == there


@pytest.mark.parametrize("size", SIZES, ids=ids)
async def test_a_frozen_wall_keeps_its_picture_and_says_so(size: tuple[int, int]) -> None:
    bench = made_benches.all_well()
    async with show(Shown(bench), size) as screen:
        await screen.press("f")
        axis, tracks = screen.lines()[1], _tracks(screen)
        assert "FROZEN" in screen.lines()[0] and "▼ frozen" in axis
        # only what does not change by itself: another value in every cell
        cells = tuple(_changed(cell) for cell in bench.cells)
        await screen.beat(replace(bench, cells=cells, at=bench.at + 600.0))
        assert screen.lines()[1] == axis
        assert _tracks(screen) == tracks
        assert "FROZEN" in screen.lines()[0] and "10 min" in screen.lines()[0]
        assert "999" not in screen.text()
        assert "f go on" in screen.lines()[-1]
        await screen.press("f")
        assert "FROZEN" not in screen.text() and "▼ now" in screen.lines()[1]
        assert "999" in screen.text()


def _tracks(screen: OnScreen) -> list[str]:
    wall = screen.bench_screen.query_one(Wall)
    axis = axis_of(wall.bench, wall.view, wall.size.width - 1)  # type: ignore[arg-type]
    left = wall.size.width - 1 - axis.width
    lines = [line.text for line in wall.shown]
    return [line[left:] for line in (lines if left else lines[1 :: wall.view.lane_rows])]


def _changed(cell: made_benches.Cell) -> made_benches.Cell:
    assert cell.live is not None
    live = replace(cell.live, cell_pressure_kPa=999.0, at=AT + 599.0)
    return replace(cell, live=live, lane=cell.lane[:1])


async def test_values_of_a_frozen_wall_have_their_true_age_and_no_countdown() -> None:
    bench = made_benches.all_well()
    async with show(Shown(bench), (160, 48)) as screen:
        assert "hands in 1 h 36 min" in screen.text()
        assert "17 of 40, next in 4 min" in "\n".join(line[:48] for line in screen.lines())
        await screen.press("f")
        await screen.beat(replace(bench, at=bench.at + 600.0))
        heads = "\n".join(line[:48] for line in screen.lines()[2:32])
        assert "cell 371.4  back 350.2  pore 349.8 kPa  10 min" in heads
        assert "17 of 40" in heads
        assert "next in" not in heads and "hands" not in heads
        assert "as of 14:20" in screen.text()
        inks = screen.bench_screen.query_one(Wall).shown[1].inks
        assert inks[7].startswith("dim")  # a value
        assert inks[46].startswith("warn")  # its age


@pytest.mark.parametrize("size", SIZES, ids=ids)
async def test_an_urgent_alarm_is_seen_while_the_wall_is_frozen(size: tuple[int, int]) -> None:
    bench = made_benches.all_well()
    async with show(Shown(bench), size) as screen:
        await screen.press("f")
        assert "urgent" not in screen.text()
        await screen.beat(later(bench))
        text, lines = screen.text(), screen.lines()
        assert "▲1!" in lines[0] or "▲ 1 urgent!" in lines[0]
        assert "▲ new since FROZEN: C3 membrane burst" in text
        lane = next(line for line in lines if " C3 " in line)
        assert "▲ urgent!" in lane  # its lane says so as well, though its values stand still
        assert "FROZEN" in lines[0]
        await screen.press("f")
        assert "new since FROZEN" not in screen.text()
        assert "▲ urgent!" in next(line for line in screen.lines() if " C3 " in line)


async def test_only_what_is_new_is_told_as_new_and_all_of_it() -> None:
    bench = made_benches.alarmed()  # two that are urgent, and one of the bench
    async with show(Shown(bench), (160, 48)) as screen:
        await screen.press("f")
        await screen.beat(replace(bench, at=bench.at + 60.0))
        assert "new since" not in screen.text()
        fresh = alarm("log-silent", -30.0), alarm("over-pressure", -40.0)
        cells = tuple(
            replace(cell, alarms=fresh) if cell.cell == "C6" else cell for cell in bench.cells
        )
        await screen.beat(replace(bench, at=bench.at + 70.0, cells=cells))
        assert "▲ new since FROZEN: C6" in screen.text() and "and 1 more" in screen.text()


async def test_frozen_lanes_keep_their_order_and_go_along_time() -> None:
    bench = made_benches.all_well()
    async with show(Shown(bench), (160, 48)) as screen:
        await screen.press("o", "f")
        heads = [line[1:3] for line in screen.lines()[2:32:5]]
        await screen.beat(later(bench))
        assert [line[1:3] for line in screen.lines()[2:31:5]] == heads
        await screen.press("left", "left", "minus")
        assert screen.bench_screen.view.span_s == 96 * H
        assert screen.bench_screen.view.held_s is not None
        await screen.press("j")
        assert "FROZEN" in screen.lines()[0]


async def test_other_screens_are_not_frozen_and_acts_are_about_the_cell_that_is_shown() -> None:
    bench = made_benches.all_well()
    async with show(Shown(bench), (160, 48)) as screen:
        await screen.press("2", "f")
        gone = replace(later(bench), cells=later(bench).cells[2:])
        await screen.beat(gone)
        assert screen.bench_screen.meant_folder() == "C2"  # as it is seen, not the next one
        await screen.press("3", "enter")
        assert "FROZEN" not in screen.text() and "999.9" in screen.text()
        await screen.press("escape")
        assert "FROZEN" in screen.text()
        await screen.press("a")
        assert "FROZEN" not in screen.text() and "membrane burst" in screen.text()
        await screen.press("escape", "f")
        assert "C1" not in "".join(line[:4] for line in screen.lines()[2:32])


async def test_nothing_can_be_frozen_before_the_first_look() -> None:
    following = Shown(made_benches.all_well())
    async with show(following, (80, 24)) as screen:
        screen.app.bench = None
        screen.bench_screen.shown = None
        await screen.press("f", "left", "home", "plus", "pagedown")
        assert screen.bench_screen.view.frozen is None
        assert screen.bench_screen.view.held_s is None


@pytest.mark.parametrize("size", SIZES, ids=ids)
async def test_in_ascii(size: tuple[int, int]) -> None:
    bench = made_benches.marked()
    async with show(Shown(bench), size, manner=Manner(ascii=True)) as screen:
        for keys in (("left",) * 9, ("end",), ("right",) * 12, ("0", "f"), ("question_mark",)):
            await screen.press(*keys)
            assert screen.text().isascii()
        assert "A an urgent alarm" in screen.text() or size[1] < 48


@pytest.mark.parametrize("size", SIZES, ids=ids)
async def test_the_last_line_names_the_keys_that_matter_now(size: tuple[int, int]) -> None:
    async with show(Shown(made_benches.all_well()), size) as screen:
        keys = screen.lines()[-1]
        assert len(keys) <= size[0]
        assert "a alarms" in keys and "? help" in keys and "q quit" in keys
        if size[0] >= 80:
            assert "/ seek" in keys and "o order" in keys and "h handover" in keys
        await screen.press("f", "left")
        assert screen.lines()[-1].startswith("f go on  end now")
        assert "? help" in screen.lines()[-1]
