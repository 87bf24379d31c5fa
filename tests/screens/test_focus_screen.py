"""The cell in focus over the whole screen, under keys, mouse, acts and small terminals."""

import re
from dataclasses import replace
from pathlib import Path

import made_benches
import pytest
from made_benches import AT, HOSTILE, HOSTILE_SHOWN, H
from shown import OnScreen, Shown, show

from tui.bench.picture import Bench, Series
from tui.bench.unused import Unused
from tui.feed.rows import UnusedRow
from tui.journal.acts import Act
from tui.panes import focus_plot
from tui.panes.facts import FactsPane
from tui.panes.focus_plot import FocusPlotPane
from tui.screens.alarms_screen import AlarmsScreen
from tui.screens.desk import Desk
from tui.screens.entry_screen import EntryScreen
from tui.screens.focus_screen import FocusScreen


def focus(screen: OnScreen) -> FocusScreen:
    found = screen.app.screen
    assert isinstance(found, FocusScreen)
    return found


def read_off_line(screen: OnScreen) -> str:
    pane = focus(screen).query_one(FocusPlotPane)
    return pane.shown[-1].text.strip()


def facts(screen: OnScreen) -> str:
    """What is known, without its lines."""
    return " ".join("".join(line.text for line in focus(screen).query_one(FactsPane).shown).split())


async def test_enter_opens_it_and_escape_and_enter_lead_back_to_the_same_cell() -> None:
    async with show(Shown(made_benches.all_well()), (120, 36)) as screen:
        for leave in ("escape", "enter"):
            await screen.press("2", "enter")
            assert focus(screen).meant_folder() == "C2"
            await screen.press("j", "down", "k", "j", leave)
            assert screen.app.screen is screen.bench_screen
            assert screen.bench_screen.view.picked == "C4"
            assert [line[:3] for line in screen.lines() if line.startswith("▸")] == ["▸C4"]


async def test_it_goes_along_the_lanes_that_are_shown_and_stops_at_their_ends() -> None:
    async with show(Shown(made_benches.all_well()), (120, 36)) as screen:
        await screen.press("slash", *"shear", "enter", "enter")
        await screen.press("k", "k")
        assert focus(screen).meant_folder() == "C4"
        await screen.press("j", "j", "j")
        assert focus(screen).meant_folder() == "C5"
        await screen.press("1")
        assert focus(screen).meant_folder() == "C4"


async def test_tab_goes_around_the_plots_both_ways() -> None:
    async with show(Shown(made_benches.a_set()), (120, 36)) as screen:
        await screen.press("enter")
        titles = []
        for key in ("tab", "tab", "tab", "shift+tab"):
            await screen.press(key)
            titles.append(re.search(r"C1 · (.*?) ─", screen.text()).group(1))  # type: ignore[union-attr]
        assert titles == [
            "Stress path t′ against s′", "Pressures against time", "Deviator against axial strain",
            "Pressures against time",
        ]  # fmt: skip
        await screen.press("escape")
        assert "C1 · Pressures against time" in screen.text()


async def test_what_is_read_off_is_what_the_plot_holds() -> None:
    bench = made_benches.a_set()
    own, second, third = (cell.plots[0].series[0].points for cell in bench.cells)
    async with show(Shown(bench), (160, 48)) as screen:
        await screen.press("enter")
        assert read_off_line(screen) == ""
        await screen.press("home")
        assert read_off_line(screen).startswith("ε₁ 0.00 %  q 0.0 kPa  C2 0.0 kPa  C3 0.0 kPa")
        await screen.press("end", "shift+left")
        x = focus(screen).view.cursor[0]  # type: ignore[index]
        k = next(k for k, point in enumerate(own) if point[0] == x)
        assert 0 < k < len(own) - 1
        wanted = (
            f"ε₁ {x:.2f} %  q {own[k][1]:.1f} kPa  C2 {second[k][1]:.1f} kPa  "
            f"C3 {third[k][1]:.1f} kPa"
        )
        assert read_off_line(screen) == wanted
        await screen.press("u")
        psi = own[k][1] / 6.894757
        assert f"q {psi:.2f} psi" in read_off_line(screen)


async def test_the_cursor_stands_where_the_axis_says() -> None:
    async with show(Shown(made_benches.a_set()), (160, 48)) as screen:
        await screen.press("enter", "end", "shift+left", "shift+left")
        pane = focus(screen).query_one(FocusPlotPane)
        x = focus(screen).view.cursor[0]  # type: ignore[index]
        lines = [line.text for line in pane.shown]
        column = next(line.index("◆") for line in lines if "◆" in line)
        labels = next(line for line in lines if re.match(r"\s+0\s+2\s+4", line))
        six, twelve = labels.index(" 6 ") + 1, labels.index(" 12 ") + 1.5
        assert (column - six) / (twelve - six) == pytest.approx((x - 6.0) / 6.0, abs=0.03)


async def test_the_mouse_sets_the_cursor() -> None:
    async with show(Shown(made_benches.a_set()), (160, 48)) as screen:
        await screen.press("enter")
        pane = focus(screen).query_one(FocusPlotPane)
        frame = pane.frame
        assert frame is not None
        await screen.pilot.click(pane, offset=(frame.column(8.0), frame.row(100.0)))
        await screen.press()
        assert focus(screen).view.cursor is not None
        assert focus(screen).view.cursor[0] == pytest.approx(8.0, abs=0.15)  # type: ignore[index]
        assert read_off_line(screen).startswith(("ε₁ 8.", "ε₁ 7."))
        await screen.pilot.click(pane, offset=(2, 0))  # the heading is no part of it
        await screen.press()
        assert focus(screen).view.cursor[0] == pytest.approx(8.0, abs=0.15)  # type: ignore[index]


async def test_zooming_shows_less_around_the_cursor_and_all_again() -> None:
    async with show(Shown(made_benches.a_set()), (120, 36)) as screen:
        await screen.press("enter", "end", "shift+left", "shift+left", "shift+left")
        before = screen.text()
        x = focus(screen).view.cursor[0]  # type: ignore[index]
        pane = focus(screen).query_one(FocusPlotPane)
        column = pane.frame.column(x)  # type: ignore[union-attr]
        await screen.press("plus", "plus")
        assert "× 4 · 1 of 3" in screen.text()
        assert pane.frame.column(x) == pytest.approx(column, abs=2)  # type: ignore[union-attr]
        low, high = focus(screen).view.window  # type: ignore[misc]
        assert (high - low) * 4 == pytest.approx(15.0)
        assert low < x < high
        await screen.press("end")  # taken along
        assert focus(screen).view.window[1] == pytest.approx(15.0)  # type: ignore[index]
        await screen.press("minus")
        assert "× 2 · 1 of 3" in screen.text()
        await screen.press("home", "0")
        for _ in range(200):
            if focus(screen).view.cursor[0] >= x:  # type: ignore[index]
                break
            await screen.press("right")
        assert screen.text() == before


async def test_siblings_are_drawn_behind_and_named_with_the_envelope() -> None:
    async with show(Shown(made_benches.a_set()), (160, 48)) as screen:
        await screen.press("enter", "tab")
        legend = focus(screen).query_one(FocusPlotPane).shown[1].text
        for words in ("stress path", "·· C2", "·· C3", "── envelope of 3"):
            assert words in legend
        pane = focus(screen).query_one(FocusPlotPane)
        inks = {ink for line in pane.shown[2:-3] for ink in line.inks}
        assert {"saturation", "dim", "fit"} <= inks
        assert "c′ 3.500 kPa line through 3 tops" in facts(screen)
        await screen.press("u")
        assert "c′ 0.5076 psi" in facts(screen)


async def test_all_that_is_known_is_told_and_scrolls(tmp_path: Path) -> None:
    async with show(Shown(known()), (80, 24)) as screen:
        await screen.press("enter")
        seen = [screen.text()]
        for _ in range(12):
            await screen.press("pagedown")
            seen.append(screen.text())
        text = "\n".join(seen)
        for words in (
            "readings 17 of 40, next in 4 min 05 s, 1 missed", "▪▪▪▪▪×▪▪▪",
            "t90         81.8 ± 1.3 min",
            "± from where the lines may lie alone",
            "▲ urgent! saturation stalled, 1 h 24 min", "unacknowledged · since today 12:56",
            "B 0.865 at back pressure 350.0 kPa", "Tue 08:20   saturation · hold  1 d 6 h so far",
            "Phases, inferred", "1240 used, 6 not used", "4  OVER", "2  repeated",
            "C2/a.csv:417, Pc: OVER", "leak-cell: needs cell_volume",
        ):  # fmt: skip
            assert words in text, words
        await screen.press(*["pageup"] * 13)
        assert screen.text() == seen[0]


def known() -> Bench:
    bench = made_benches.alarmed()
    figures = made_benches.a_set().cells[0].figures
    row = UnusedRow("C2/a.csv", 417, "OVER", "Pc")
    cell = replace(
        bench.cells[1],
        figures=figures,
        rows_unused=6,
        unused=Unused((("repeated", 2), ("OVER", 4)), (row,)),
    )
    return replace(bench, cells=(cell,))


async def test_the_countdown_ticks_and_sends_its_cells_alone() -> None:
    bench = made_benches.bench((made_benches.saturating("C1"),))
    async with show(Shown(bench), (160, 48)) as screen:
        await screen.press("enter")
        assert "next in 4 min 05 s" in screen.text()
        await screen.beat(replace(bench, at=AT + 1.0))
        screen.written.clear()
        await screen.beat(replace(bench, at=AT + 2.0))
        assert "next in 4 min 03 s" in screen.text()
        assert 0 < len(re.sub(r"\x1b\[[\d;]*m", "", "".join(screen.written))) < 60


async def test_a_new_reading_is_drawn_and_the_cursor_stays() -> None:
    bench = made_benches.a_set()
    async with show(Shown(bench), (120, 36)) as screen:
        await screen.press("enter", "home", "shift+right")
        x = focus(screen).view.cursor
        line = read_off_line(screen)
        plot = bench.cells[0].plots[0]
        points = (*plot.series[0].points, (20.0, 80.0))
        longer = replace(plot, series=(Series("deviator", "readings", points),))
        cell = replace(bench.cells[0], plots=(longer, *bench.cells[0].plots[1:]))
        await screen.beat(replace(bench, cells=(cell, *bench.cells[1:])))
        assert focus(screen).view.cursor == x
        assert read_off_line(screen) == line
        assert re.search(r"\b20\b", focus(screen).query_one(FocusPlotPane).shown[-3].text)


async def test_the_plot_that_somebody_reads_off_stays_when_others_come_before_it() -> None:
    """As when a phase begins while somebody looks: its plot comes first."""
    bench = made_benches.a_set()
    early = replace(bench.cells[0], plots=bench.cells[0].plots[2:])
    async with show(Shown(replace(bench, cells=(early, *bench.cells[1:]))), (120, 36)) as screen:
        await screen.press("enter")
        assert "C1 · Pressures against time" in screen.text()
        await screen.beat(bench)
        assert "C1 · Deviator against axial strain" in screen.text()  # nobody chose
        await screen.beat(replace(bench, cells=(early, *bench.cells[1:])))
        await screen.press("left", "plus")
        window = focus(screen).view.window
        await screen.beat(bench)
        assert "C1 · Pressures against time" in screen.text()
        assert "× 2 · 3 of 3" in screen.text()
        assert focus(screen).view.window == window
        gone = replace(bench.cells[0], plots=bench.cells[0].plots[:2])
        await screen.beat(replace(bench, cells=(gone, *bench.cells[1:])))
        assert "C1 · Deviator against axial strain" in screen.text()
        assert (focus(screen).view.window, focus(screen).view.cursor) == (None, None)


async def test_the_plot_that_was_chosen_on_the_wall_stays_as_well() -> None:
    bench = made_benches.a_set()
    async with show(Shown(bench), (160, 48)) as screen:
        await screen.press("tab", "tab", "enter")
        await screen.beat(replace(bench, at=AT + 1.0))
        assert "3 of 3" in screen.text()


async def test_readings_that_begin_while_somebody_looks_bring_their_plot() -> None:
    bench = made_benches.a_set()
    nothing = replace(bench.cells[0], plots=())
    async with show(Shown(replace(bench, cells=(nothing, *bench.cells[1:]))), (80, 24)) as screen:
        await screen.press("enter", "left", "plus", "tab", "home")
        assert "tab plot" not in screen.text()
        assert not focus(screen).query_one(FocusPlotPane).display
        await screen.beat(bench)
        assert "C1 · Deviator against axial strain" in screen.text()
        assert "tab plot" in screen.text()


async def test_keys_and_help_name_only_what_does_something() -> None:
    bench = made_benches.all_well()
    plain, one, several = (
        replace(bench.cells[0], plots=bench.cells[0].plots[:number]) for number in (0, 1, 2)
    )
    for cell, there, missing in (
        (plain, (), ("tab, shift tab", "read the plot off", "A PLOT")),
        (one, ("read the plot off", "A PLOT"), ("tab, shift tab",)),
        (several, ("tab, shift tab", "read the plot off", "A PLOT"), ()),
    ):
        async with show(Shown(replace(bench, cells=(cell,))), (120, 70)) as screen:
            await screen.press("enter", "question_mark")
            text = screen.text()
            assert "back to the wall, with this cell in focus" in text
            assert "A LANE" not in text
            assert all(words in text for words in there)
            assert not any(words in text for words in missing)


async def test_help_hangs_together_where_it_is_narrow() -> None:
    async with show(Shown(made_benches.a_set()), (40, 12)) as screen:
        await screen.press("enter", "question_mark")
        assert "  ↑ ↓ or k j     cell before, cell" in screen.text()
        assert re.search(r"^ {15,}after$", screen.text(), re.M)


@pytest.mark.parametrize(
    ("size", "shown"), [((40, 12), True), ((50, 10), True), ((50, 9), False), ((130, 8), True)]
)
async def test_where_there_is_no_room_for_a_plot_the_rest_has_it(
    size: tuple[int, int], shown: bool
) -> None:
    async with show(Shown(made_benches.a_set()), size) as screen:
        await screen.press("enter")
        assert focus(screen).query_one(FocusPlotPane).display is shown
        assert "no room" not in screen.text()
        assert "C1 · CU" in screen.text()


async def test_a_low_plot_keeps_the_shape_of_its_readings() -> None:
    """In three rows of dots: its greatest value is drawn highest, its first lowest."""
    bench = made_benches.a_set()
    own = bench.cells[0].plots[0]
    few = replace(own, series=(replace(own.series[0], points=own.series[0].points[::3]),))
    cell = replace(bench.cells[0], plots=(few,), set_name=None)
    async with show(Shown(replace(bench, cells=(cell,))), (40, 12)) as screen:
        await screen.press("enter")
        pane = focus(screen).query_one(FocusPlotPane)
        frame = pane.frame
        assert frame is not None
        assert frame.rows == 3
        rows = [line.text[frame.left :] for line in pane.shown[frame.top : frame.top + 3]]
        assert not any("●" in row for row in rows)
        assert rows[2][0] != " "
        assert rows[0].strip()


async def test_moving_the_cursor_draws_the_plot_only_once(monkeypatch: pytest.MonkeyPatch) -> None:
    drawn = []
    draw = focus_plot.draw_plot
    monkeypatch.setattr(
        focus_plot, "draw_plot", lambda *a, **k: (drawn.append(1), draw(*a, **k))[1]
    )
    async with show(Shown(made_benches.a_set()), (120, 36)) as screen:
        await screen.press("enter")
        drawn.clear()
        await screen.press(*["left"] * 10)
        assert drawn == []
        await screen.press("plus")
        assert drawn == [1]


async def test_acts_are_about_the_cell_on_screen_and_the_journal_is_shown(tmp_path: Path) -> None:
    desk = Desk(tmp_path)
    desk.who = "Ada"
    act = Act(0, "note", "C3", None, AT - H, AT - H, "Ada", "here", "valve looked at")
    desk.enter((act, replace(act, cell="C4", text="of another cell")))
    async with show(Shown(made_benches.all_well()), (120, 60), desk=desk) as screen:
        await screen.press("2", "enter")
        await screen.app.workers.wait_for_complete()
        assert "valve looked at" not in facts(screen)
        await screen.press("j")
        await screen.app.workers.wait_for_complete()
        await screen.settle()
        assert "today 13:20 note, Ada: “valve looked at”" in facts(screen)
        assert "of another cell" not in facts(screen)
        for key in "mnr":
            await screen.press(key)
            assert isinstance(screen.app.screen, EntryScreen)
            assert "C3" in screen.text()
            await screen.press("escape")
        await screen.press("n", *"settled", "enter")
        await screen.app.workers.wait_for_complete()
        await screen.settle()
        assert isinstance(screen.app.screen, FocusScreen)
        assert "“settled”" in facts(screen)


async def test_a_journal_that_cannot_be_read_is_told(tmp_path: Path) -> None:
    desk = Desk(tmp_path)

    def fail(folder: str) -> None:
        raise OSError("share is [bold]away\x1b[2J")

    desk.entries = fail  # type: ignore[method-assign,assignment]
    async with show(Shown(made_benches.all_well()), (120, 50), desk=desk) as screen:
        await screen.press("enter")
        await screen.app.workers.wait_for_complete()
        await screen.settle()
        assert "the journal cannot be read: share is [bold]away" in facts(screen)


async def test_alarms_open_from_it_and_lead_to_the_cell_of_one() -> None:
    async with show(Shown(made_benches.alarmed()), (120, 36)) as screen:
        await screen.press("6", "enter", "a")
        assert isinstance(screen.app.screen, AlarmsScreen)
        await screen.press("escape")
        assert focus(screen).meant_folder() == "C6"
        await screen.press("a", "enter")
        assert focus(screen).meant_folder() == "C2"  # of the most pressing one


async def test_a_failed_look_and_help_are_told_on_it() -> None:
    async with show(Shown(made_benches.all_well()), (80, 24)) as screen:
        await screen.press("enter")
        screen.following.failure = OSError("share is away")
        await screen.beat()
        assert "the last look failed: OSError: share is away" in screen.text()
        await screen.press("question_mark")
        assert "read the plot off" in screen.text()


async def test_a_failing_part_names_itself(monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(*_: object) -> None:
        raise KeyError("zero")

    monkeypatch.setattr(FactsPane, "draw", fail)
    async with show(Shown(made_benches.all_well()), (120, 36)) as screen:
        await screen.press("enter")
        assert "the facts cannot be drawn: KeyError: 'zero'" in screen.text()
        assert "B against back pressure" in screen.text()


@pytest.mark.parametrize("size", ((160, 48), (80, 24), (60, 20), (40, 12), (20, 5)), ids=str)
@pytest.mark.parametrize(
    "scene", ("all_well", "alarmed", "one_broken", "a_set", "nothing_known", "hostile",
              "long_names", "hostile_alarms", "empty")
)  # fmt: skip
async def test_every_key_works_at_every_size(scene: str, size: tuple[int, int]) -> None:
    async with show(Shown(getattr(made_benches, scene)()), size) as screen:
        await screen.press("enter")
        for keys in (("left",), ("plus", "plus"), ("home",), ("end",), ("minus",), ("tab", "left"),
                     ("right", "shift+left"), ("0",), ("u",), ("j",), ("left",), ("shift+tab",),
                     ("pagedown",), ("pageup",), ("k", "h"), ("escape", "question_mark"),
                     ("escape",)):  # fmt: skip
            await screen.press(*keys)
            text = screen.text()
            assert "cannot be drawn" not in text
            assert "too small" not in text
            assert len(screen.lines()) == size[1]


async def test_hostile_texts_stand_literally(tmp_path: Path) -> None:
    bench = made_benches.hostile_alarms()
    cell = bench.cells[0]
    plot = replace(cell.plots[0], title=HOSTILE, x_label=HOSTILE, marks=((HOSTILE, 100.0, 0.6),))
    unused = Unused(((HOSTILE, 1),), (UnusedRow(HOSTILE, 1, HOSTILE, HOSTILE),))
    desk = Desk(tmp_path)
    desk.enter((Act(0, "note", "C1", None, AT, AT, HOSTILE, HOSTILE, HOSTILE),))
    shown = replace(bench, cells=(replace(cell, plots=(plot,), unused=unused),))
    async with show(Shown(shown), (160, 60), desk=desk) as screen:
        await screen.press("enter", "left")
        await screen.app.workers.wait_for_complete()
        await screen.settle()
        text = screen.text()
        assert text.count(HOSTILE_SHOWN) >= 5
        for sign in ("\x1b", "\x07", "\u202e"):
            assert sign not in text
        assert "[31m" not in "".join(screen.written)
