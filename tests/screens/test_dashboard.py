"""The dashboard under keys, mouse, failures and hostile texts."""

import re
from collections.abc import Awaitable, Callable
from dataclasses import replace
from time import monotonic

import made_benches
import pyte
import pytest
from made_benches import AT, HOSTILE_SHOWN
from shown import Shown, show
from textual.screen import UPDATE_PERIOD

from tui.app import PorewatchApp
from tui.bench.picture import Cell
from tui.ink.sheet import Line
from tui.panes.hands import HandsPane
from tui.panes.lane import Head, draw_head_of, draw_track_of, track_of
from tui.panes.masthead import Masthead
from tui.panes.numbers import NumbersPane
from tui.panes.pane import Pane
from tui.panes.standing import StandingPane
from tui.panes.wall import Wall
from tui.panes.wall_head import AxisPane
from tui.screens.help_panel import help_text, hung
from tui.settings.problems import Problem
from tui.words import SAFETY, Manner, state

Look = Callable[..., Awaitable[list[str]]]
SIZES = ((160, 48), (80, 24), (40, 12), (20, 5))
SCENES = (
    "all_well", "one_broken", "sixty_four", "empty", "nothing_known", "hostile", "long_names",
    "alarmed", "hostile_alarms",
)  # fmt: skip


@pytest.mark.parametrize("size", SIZES, ids=lambda s: f"{s[0]}x{s[1]}")
@pytest.mark.parametrize("scene", SCENES)
async def test_no_pane_fails(scene: str, size: tuple[int, int]) -> None:
    async with show(Shown(getattr(made_benches, scene)()), size) as screen:
        for keys in ((), ("j",), ("tab",), ("u",), ("plus",), ("enter",), ("tab",), ("escape",),
                     ("a",), ("j",), ("space",), ("escape",)):  # fmt: skip
            await screen.press(*keys)
            text = screen.text()
            assert "cannot be drawn" not in text
            assert "too small" not in text
            assert len(screen.lines()) == size[1]


async def test_an_equal_picture_repaints_nothing() -> None:
    async with show(Shown(made_benches.all_well()), (160, 48)) as screen:
        before = screen.repaints()
        screen.written.clear()
        for _ in range(3):
            await screen.beat(made_benches.all_well())  # equal, yet made anew
        assert screen.repaints() == before
        assert "".join(screen.written) == ""


async def test_a_later_picture_with_the_same_words_repaints_nothing() -> None:
    bench = made_benches.bench((made_benches.saturating("C1"),), at=AT + 1.0)
    async with show(Shown(bench), (160, 48)) as screen:
        before = screen.repaints()
        screen.written.clear()
        await screen.beat(replace(bench, at=bench.at + 0.5))
        assert screen.app.bench is not None
        assert screen.app.bench.at == AT + 1.5
        assert screen.repaints() == before
        assert "".join(screen.written) == ""


async def test_a_new_value_repaints_its_own_cells_only() -> None:
    bench = made_benches.all_well()
    async with show(Shown(bench), (160, 48)) as screen:
        cell = bench.cells[5]
        assert cell.live is not None
        for value in (20.2, 20.4):  # the first one also flushes what the layout had left over
            before = screen.repaints()
            screen.written.clear()
            moved = replace(cell, live=replace(cell.live, cell_pressure_kPa=value))
            await screen.beat(replace(bench, cells=(*bench.cells[:5], moved)))
        after = screen.repaints()
        assert {name for name in after if after[name] != before[name]} == {"wall"}
        assert after["wall"] == before["wall"] + 1
        assert 0 < len("".join(screen.written)) < 60
        assert "cell 20.4" in screen.text()


@pytest.mark.parametrize("size", ((160, 48), (40, 12)), ids=str)
async def test_the_changes_that_are_sent_add_up_to_the_screen(size: tuple[int, int]) -> None:
    scenes = ("all_well", "hostile", "one_broken", "long_names", "sixty_four", "all_well")
    terminal = pyte.Screen(*size)
    stream = pyte.Stream(terminal)
    async with show(Shown(made_benches.all_well()), size) as screen:
        screen.bench_screen.refresh()
        await screen.settle()
        for scene in scenes:
            bench = getattr(made_benches, scene)()
            for seconds in (0.0, 7.0, 61.0, 4_000.0, 90_000.0):
                await screen.beat(replace(bench, at=AT + seconds))
                await screen.press("j")
                stream.feed("".join(screen.written))
                screen.written.clear()
                assert [line.rstrip() for line in terminal.display] == screen.lines()


async def test_a_change_at_the_right_end_of_a_lane_sends_its_cells_alone() -> None:
    bench = made_benches.bench((made_benches.saturating("C1"),), at=AT)
    async with show(Shown(bench), (160, 48)) as screen:
        cell = bench.cells[0]
        assert cell.live is not None
        await screen.beat(replace(bench, at=cell.live.at + 61.0))
        screen.written.clear()
        await screen.beat(replace(bench, at=cell.live.at + 121.0))
        # how long its colours are is the terminal's matter
        sent = re.sub(r"\x1b\[[\d;]*m", "", "".join(screen.written))
        assert "2" in sent
        assert "cell 3" not in sent
        assert len(sent) < 400


async def test_a_lane_says_what_its_cell_does(looking: Look) -> None:
    lines = await looking(made_benches.all_well(), (160, 48))
    lane = "\n".join(lines[2:7])
    for words in (
        "C1", "runs", "saturation · hold", "cell 371.4  back 350.2  pore 349.8 kPa", "10 s",
        "σ′ 21.6 kPa", "B 0.894", "17 of 40, next in 4 min, 1 missed", "hands in 1 h 36 min",
        "B 0 to 1, target 0.95", "B ≥ 0.95 today 23:32, 9 h 12 min",
        "today 20:20 – Thu 04:20 (80 %)",
    ):  # fmt: skip
        assert words in lane


async def test_now_is_one_line_through_all_lanes(looking: Look) -> None:
    lines = await looking(made_benches.all_well(), (160, 48))
    column = lines[1].index("▼")
    assert [line[column] for line in lines[2:32]] == ["│"] * 30


async def test_the_event_stands_where_the_axis_says(looking: Look) -> None:
    """9.2 h to the event, 6 h and 14 h to its bounds, on an axis that names its hours."""
    lines = await looking(made_benches.all_well(), (160, 48))
    axis, lane = lines[1], lines[3]
    now = axis.index("▼")
    midnight, six = axis.index("╷Thu 6") - now, axis.index("╷06:00", now) - now
    column_h = 6.0 / (six - midnight)
    assert lane.index("◆") - now == pytest.approx(9.2 / column_h, abs=1.5)
    first = min(lane.index(sign) for sign in "░▒▓")
    assert first - now == pytest.approx(6.0 / column_h, abs=1.5)
    assert lane.rindex("░") - now == pytest.approx(14.0 / column_h, abs=1.5)
    assert lane.index("◇") - now == pytest.approx(1.6 / column_h, abs=1.5)


async def test_a_broken_cell_is_told_with_place_and_the_others_go_on(looking: Look) -> None:
    lines = await looking(made_benches.one_broken(), (160, 48), "3")
    text = "\n".join(lines)
    assert "✕ broken" in text
    assert "C3/cell.toml:14" in text
    assert "unknown unit 'kpaa'" in text
    assert "specimen has no height" in text
    assert "○ runs     shear " in text  # a step that is called as its phase is not said twice
    assert "shear · shear" not in text
    assert "not adopted: oldrig, C9 copy" in text
    assert 'zone is not set → add zone = "Europe/Oslo"' in text


async def test_what_is_not_judged_is_said(looking: Look) -> None:
    text = "\n".join(await looking(made_benches.all_well(), (160, 48)))
    assert "watch: nobody on duty · not every alarm can be judged in 6 cells" in text
    assert SAFETY in text
    assert "well" not in text


async def test_no_alarm_is_no_good_news_of_what_is_not_judged(looking: Look) -> None:
    cells = (
        made_benches.mounting("C1"),
        made_benches.broken("C2"),
        replace(made_benches.mounting("C3"), live=None, phase=None),
        replace(made_benches.mounting("C4"), live=None, phase=None, idle=True),
    )
    bench = made_benches.bench(cells)
    lines = await looking(bench, (160, 48), "a")
    assert "nothing is raised · not judged: C2, C3" in lines[2]
    assert "nobody on duty · no alarm can be judged in 2 cells" in lines[-2]
    for width in (80, 60, 40):
        lines = await looking(bench, (width, 20), "a")
        assert "nothing is raised · not judged: C2" in lines[2]
        assert ("· 2 cells not judged" if width > 40 else "· 2 not judged") in lines[-2]
    assert "not judged" not in (await looking(made_benches.all_well(), (80, 24), "a"))[2]


@pytest.mark.parametrize("size", ((160, 48), (80, 24), (60, 20)), ids=lambda s: f"{s[0]}x{s[1]}")
async def test_hostile_texts_stand_literally(size: tuple[int, int]) -> None:
    async with show(Shown(made_benches.hostile()), size) as screen:
        text = screen.text()
        assert HOSTILE_SHOWN in text
        await screen.press("enter")
        whole = screen.text()
        for sign in ("\x1b", "\x07", "\u202e"):
            assert sign not in text + whole
        assert "[red]hold" in whole or size[0] < 80
        assert "[31m" not in "".join(screen.written)
        await screen.press("question_mark", "escape")
        screen.following.failure = RuntimeError("[bold]\x1b[2Jgone")
        await screen.beat()
        assert "RuntimeError: [bold]gone" in screen.text()


async def test_a_failed_look_is_told_and_the_next_one_is_made() -> None:
    async with show(Shown(made_benches.all_well()), (120, 36)) as screen:
        screen.following.failure = OSError("share is away")
        await screen.beat()
        text = screen.text()
        assert "the last look failed: OSError: share is away" in text
        assert "C1 ○ runs" in text
        screen.following.failure = None
        await screen.beat()
        assert "failed" not in screen.text()


async def test_a_failing_pane_names_itself(monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(*_: object) -> list[object]:
        raise KeyError("plan")

    monkeypatch.setattr(NumbersPane, "draw", fail)
    async with show(Shown(made_benches.all_well()), (160, 48)) as screen:
        text = screen.text()
        assert "the numbers cannot be drawn: KeyError: 'plan'" in text
        assert "Hands needed" in text


async def test_a_failing_lane_leaves_the_others(monkeypatch: pytest.MonkeyPatch) -> None:
    draw = draw_track_of

    def fail(cell: object, *rest: object) -> object:
        if getattr(cell, "cell", "") == "C2":
            raise ZeroDivisionError("span")
        return draw(cell, *rest)  # type: ignore[arg-type]

    monkeypatch.setattr("tui.panes.wall.draw_track_of", fail)
    async with show(Shown(made_benches.all_well()), (160, 48)) as screen:
        text = screen.text()
        assert "lane of C2 cannot be drawn: ZeroDivisionError: span" in text
        assert "C3 ○ runs" in text


async def test_keys_move_the_focus() -> None:
    async with show(Shown(made_benches.all_well()), (160, 48)) as screen:
        for key, name in (("j", "C2"), ("down", "C3"), ("k", "C2"), ("up", "C1"), ("up", "C1"),
                          ("6", "C6"), ("j", "C6"), ("9", "C6"), ("4", "C4")):  # fmt: skip
            await screen.press(key)
            assert [line[:3] for line in screen.lines() if line.startswith("▸")] == [f"▸{name}"]


async def test_the_mouse_picks_a_lane() -> None:
    async with show(Shown(made_benches.all_well()), (160, 48)) as screen:
        await screen.pilot.click("#wall", offset=(60, 11))
        await screen.press()
        assert "▸C3" in screen.text()


async def test_the_lane_in_focus_is_scrolled_into_sight() -> None:
    async with show(Shown(made_benches.sixty_four()), (80, 24)) as screen:
        assert "C13" not in screen.text()
        await screen.press(*["j"] * 40)
        assert "▸C41" in screen.text()
        await screen.press(*["k"] * 40)
        assert "▸C1 " in screen.text()


async def test_the_plot_key_goes_around() -> None:
    async with show(Shown(made_benches.all_well()), (160, 48)) as screen:
        assert "B against back pressure" in screen.text()
        await screen.press("tab")
        assert "C1 · Pressures" in screen.text()
        await screen.press("tab")
        assert "B against back pressure" in screen.text()


@pytest.mark.parametrize("key", ["tab", "down"])
async def test_a_key_finds_the_dots_of_tracks_where_they_were(
    monkeypatch: pytest.MonkeyPatch, key: str
) -> None:
    found: list[str] = []

    def note(cell: Cell, *rest: object) -> object:
        found.append(cell.cell)
        return track_of(cell, *rest)  # type: ignore[arg-type]

    monkeypatch.setattr("tui.panes.wall.track_of", note)
    async with show(Shown(made_benches.all_well()), (160, 48)) as screen:
        assert found
        found.clear()
        await screen.press(key)
        assert found == []


async def test_a_key_about_one_cell_draws_no_lane_anew(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    drawn: list[str] = []

    def note(cell: Cell, *rest: object) -> Head:
        drawn.append(cell.cell)
        return draw_head_of(cell, *rest)  # type: ignore[arg-type]

    monkeypatch.setattr("tui.panes.wall.draw_head_of", note)
    async with show(Shown(made_benches.sixty_four()), (160, 48)) as screen:
        drawn.clear()
        await screen.press("tab")
        assert drawn == []
        await screen.press("j")
        assert drawn == []
        assert "▸C2" in screen.text()


async def test_a_lane_in_focus_is_painted_in_the_turn_of_its_key_as_often_as_a_screen_is(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    now = monotonic() + 60.0
    async with show(Shown(made_benches.all_well()), (160, 48)) as screen:
        monkeypatch.setattr("tui.ink.sparing.monotonic", lambda: now)
        for name in ("C2", "C3"):
            now += 1.01 * UPDATE_PERIOD
            screen.written.clear()
            screen.bench_screen.action_step(1)
            assert f"▸{name}" in "".join(screen.written)
        now += 0.5 * UPDATE_PERIOD
        screen.written.clear()
        screen.bench_screen.action_step(1)
        assert screen.written == []
        await screen.settle()
        assert "▸C4" in "".join(screen.written)
        assert screen.part("numbers")[0].startswith("C4")


async def test_another_focus_draws_no_pane_that_shows_all_cells_alike(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    drawn: list[str] = []

    def counting(pane: type[Pane]) -> None:
        draw = pane.draw

        def note(self: Pane, width: int, height: int) -> list[Line]:
            drawn.append(pane.__name__)
            return draw(self, width, height)

        monkeypatch.setattr(pane, "draw", note)

    for pane in (Masthead, AxisPane, HandsPane, StandingPane, NumbersPane, Wall):
        counting(pane)
    async with show(Shown(made_benches.all_well()), (160, 48)) as screen:
        drawn.clear()
        await screen.press("j")
        assert sorted(drawn) == ["NumbersPane", "Wall"]
        drawn.clear()
        await screen.press("tab")  # the wall shows no plot
        assert "Wall" not in drawn


async def test_units_go_both_ways() -> None:
    async with show(Shown(made_benches.all_well()), (160, 48)) as screen:
        before = screen.text()
        await screen.press("u")
        assert "cell 53.87  back 50.79  pore 50.73 psi" in screen.text()  # 371.4 / 6.894757 …
        assert "kPa" not in screen.text()
        await screen.press("u")
        assert screen.text() == before


async def test_zoom_and_back() -> None:
    async with show(Shown(made_benches.all_well()), (160, 48)) as screen:
        assert "3 d across" in screen.text()
        await screen.press("plus")
        assert "2 d across" in screen.text()
        await screen.press("minus", "minus")
        assert "4 d across" in screen.text()
        await screen.press("0")
        assert "3 d across" in screen.text()


async def test_help_opens_and_closes() -> None:
    async with show(Shown(made_benches.all_well()), (80, 40)) as screen:
        await screen.press("question_mark")
        assert "A LANE" in screen.text()
        assert "is no" in screen.text()
        await screen.press("q")
        assert "A LANE" not in screen.text()
        assert screen.app.is_running


@pytest.mark.parametrize("plain_signs", (False, True))
def test_help_names_every_state_on_a_line_of_its_own(plain_signs: bool) -> None:
    manner = Manner(ascii=plain_signs)
    cell = made_benches.mounting("C1")
    assert cell.phase is not None
    halted, ended = (replace(cell.phase, name=name) for name in ("interrupted", "ended"))
    odd = Problem("warning", "a doubt", "look")
    cells = (
        cell, replace(cell, blind=()), replace(cell, phase=halted), replace(cell, phase=ended),
        replace(cell, phase=None), replace(cell, idle=True), replace(cell, problems=(odd,)),
        made_benches.broken("C2"), *made_benches.being_read().cells, *made_benches.alarmed().cells,
    )  # fmt: skip
    lines = help_text(manner).split("\n")
    lines = lines[lines.index("STATES") + 1 :]
    seen = set()
    for one in cells:
        told = state(one, manner)
        seen.add(told.word.rstrip("!"))
        words = f"  {told.sign} {told.word.rstrip('!')}".ljust(17)
        (line,) = [line for line in lines if line.startswith(words)]
        for part in hung(line, 50)[1:]:
            assert part.startswith(" " * 17)
    assert len(seen) >= 10


async def test_leaving_lets_go_of_what_was_followed() -> None:
    following = Shown(made_benches.alarmed())  # a guard is on duty
    async with show(following, (80, 24)) as screen:
        await screen.press("q")
        assert screen.app.return_code == 0
    assert following.closed >= 1


@pytest.mark.parametrize("keys", ((), ("enter",), ("a",)), ids=str)
@pytest.mark.parametrize("width", (160, 40))
async def test_where_nobody_else_tells_of_alarms_leaving_is_asked_for_twice(
    keys: tuple[str, ...], width: int
) -> None:
    async with show(Shown(made_benches.all_well()), (width, 24)) as screen:
        await screen.press(*keys, "q")
        assert "no guard tells of alarms: q again quits." in screen.text()
        assert screen.app.return_code is None
        screen.app.screen.tell("")  # it was looked at, and is forgotten
        await screen.press("q")
        assert screen.app.return_code is None
        await screen.press("q")
        assert screen.app.return_code == 0


@pytest.mark.parametrize("case", ("at once", "finished", "ended", "replay", "no test"))
async def test_where_nothing_is_left_alone_leaving_is_asked_for_once(case: str) -> None:
    bench, pace = made_benches.all_well(), "replay × 60" if case == "replay" else ""
    cells = bench.cells
    if case == "ended":
        cells = tuple(replace(c, phase=c.phase and replace(c.phase, name="ended")) for c in cells)
    elif case == "no test":
        cells = tuple(replace(cell, phase=None, idle=True) for cell in cells)
    bench = replace(bench, cells=cells, follows_clock=case != "finished")
    async with show(Shown(bench), (80, 24), pace=pace) as screen:
        await screen.press("ctrl+c" if case == "at once" else "q")
        assert screen.app.return_code == 0


async def test_time_that_does_not_follow_the_clock_is_said() -> None:
    bench = replace(made_benches.all_well(), follows_clock=False)
    async with show(Shown(bench), (160, 48)) as screen:
        assert "as of its newest row" in screen.lines()[0]
    async with show(Shown(bench), (160, 48), pace="replay × 60") as screen:
        assert "replay × 60" in screen.lines()[0]
    for size in ((160, 48), (80, 24), (60, 20), (40, 12)):  # nobody takes a demo for his bench
        async with show(Shown(made_benches.all_well()), size, pace="demo × 60") as screen:
            assert "demo × 60" in screen.lines()[0]


async def test_a_bench_of_which_nothing_is_read_yet_is_not_as_of_a_row() -> None:
    known = made_benches.being_read()
    unread = replace(known, cells=known.cells[1:], follows_clock=False)
    async with show(Shown(unread), (80, 24)) as screen:
        assert "its logs are being read" in screen.lines()[0]
        await screen.beat(replace(known, follows_clock=False))
        assert "as of its newest row" in screen.lines()[0]


@pytest.mark.parametrize("scene", SCENES)
async def test_ascii_only(scene: str) -> None:
    bench = getattr(made_benches, scene)()
    async with show(Shown(bench), (160, 48), manner=Manner(ascii=True)) as screen:
        for keys in ((), ("tab",), ("u", "enter"), ("question_mark",), ("escape",), ("a",)):
            await screen.press(*keys)
            assert screen.text().isascii()


@pytest.mark.parametrize("asked", ("manner", "environment"))
async def test_no_colour(asked: str, monkeypatch: pytest.MonkeyPatch) -> None:
    manner = Manner(colour=asked != "manner")
    if asked == "environment":
        monkeypatch.setenv("NO_COLOR", "1")
    bench = made_benches.one_broken()
    async with show(Shown(bench), (160, 48), manner=manner) as screen:
        screen.written.clear()
        await screen.press("3", "u", "enter")
        sent = "".join(screen.written)
        assert "broken" in sent or "kpaa" in sent
        assert not re.search(r"[34]8;[25];", sent)


async def test_resizing_changes_the_layout() -> None:
    async with show(Shown(made_benches.all_well()), (160, 48)) as screen:
        for size, form in (((100, 30), "medium"), ((60, 20), "narrow"), ((40, 12), "tiny"),
                           ((160, 48), "wide")):  # fmt: skip
            await screen.pilot.resize_terminal(*size)
            await screen.press()
            assert screen.bench_screen.view.form == form
            assert "C1" in screen.text()
            assert "cannot be drawn" not in screen.text()


async def test_an_app_that_extends_ours_keeps_its_looks(monkeypatch: pytest.MonkeyPatch) -> None:
    class Other(PorewatchApp):
        CSS_PATH = None  # type: ignore[assignment]

    monkeypatch.setattr("shown.PorewatchApp", Other)
    async with show(Shown(made_benches.all_well()), (160, 48)) as screen:
        assert screen.pane("numbers").region.y == screen.pane("hands").region.y
        assert screen.pane("standing").size.height == 1


async def test_cells_come_and_go() -> None:
    bench = made_benches.all_well()
    async with show(Shown(replace(bench, cells=())), (120, 36)) as screen:
        assert "No cell in quay" in screen.text()
        await screen.beat(bench)
        assert "C6 ○ runs" in screen.text()
        await screen.press("6")
        await screen.beat(replace(bench, cells=bench.cells[:2]))
        text = screen.text()
        assert "C6 ○" not in text
        assert "▸C1" in text
