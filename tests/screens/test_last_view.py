"""The view with which somebody left is there again, and never a reason to stop."""

import json
import os
import threading
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path

import made_benches
import pytest
from calling import call
from shown import OnScreen, Shown, show

from tui.app import PorewatchApp
from tui.ink.palette import THEMES
from tui.journal.location import own_file
from tui.panes.lanes import lanes
from tui.panes.orders import ORDERS
from tui.panes.pane import View
from tui.panes.wall import Wall
from tui.screens import last_view
from tui.screens.last_view import LastView, Memory, load, save
from tui.words import PLAIN, Manner

DAY = 24 * 3600.0
ALL = LastView(DAY, "hands", "light", "US", "C3", 1)


@asynccontextmanager
async def remembering(
    monkeypatch: pytest.MonkeyPatch,
    memory: Memory,
    manner: Manner = PLAIN,
    size: tuple[int, int] = (80, 24),
) -> AsyncIterator[OnScreen]:
    """The dashboard with a memory, which is written by the end of the block."""
    with monkeypatch.context() as patch:
        patch.setattr(
            "shown.PorewatchApp",
            lambda *a, **k: PorewatchApp(*a, **k, memory=memory, theme=memory.last.theme or "dark"),
        )
        async with show(Shown(made_benches.all_well()), size, manner=manner) as screen:
            yield screen
    memory.finish(10.0)


async def test_what_was_chosen_is_there_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "state" / "view.json"
    async with remembering(monkeypatch, Memory(path)) as screen:
        await screen.press("u", "t", "minus", "o", "2", "tab")
        left = screen.bench_screen.view
        assert (left.order, left.manner.units, screen.app.theme) == ("urgency", "US", "light")
        assert left.plot == 1 and left.span_s is not None
    async with remembering(monkeypatch, Memory(path)) as screen:
        view = screen.bench_screen.view
        assert (view.order, view.picked, view.plot, view.span_s) == (
            left.order, left.picked, left.plot, left.span_s,
        )  # fmt: skip
        assert screen.app.theme == "light"
        # units are the caller's to put into the manner: an option comes before them
        assert load(path).units == "US"


async def test_what_was_chosen_in_the_whole_cell_is_there_too_when_somebody_quits_in_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "view.json"
    async with remembering(monkeypatch, Memory(path)) as screen:
        await screen.press("enter", "j", "u", "q", "q")
    assert (load(path).picked, load(path).units) == ("C2", "US")


async def test_a_lane_far_down_is_in_sight_again(monkeypatch: pytest.MonkeyPatch) -> None:
    memory = Memory(None)
    memory.last = LastView(picked="C60")
    monkeypatch.setattr(made_benches, "all_well", made_benches.sixty_four)
    async with remembering(monkeypatch, memory) as screen:
        wall = screen.bench_screen.query_one(Wall)
        names = [cell.folder for cell in lanes(made_benches.sixty_four(), wall.view)]
        top = names.index("C60") * wall.view.lane_rows - wall.scroll_offset.y
        assert 0 <= top < wall.size.height


async def test_beats_write_nothing_and_neither_does_what_passes(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    written: list[LastView] = []
    monkeypatch.setattr(last_view, "save", lambda _path, view: written.append(view))
    memory = Memory(tmp_path / "view.json")
    async with remembering(monkeypatch, memory) as screen:
        for _ in range(3):
            await screen.beat(made_benches.all_well())
        screen.following.failure = OSError("the share is gone")
        await screen.beat()  # a trouble is no choice
        await screen.press("a", "escape", "slash", *"sat", "enter")
        memory.finish(10.0)
        assert written == []
        await screen.press("o")
        memory.finish(10.0)
    assert [view.order for view in written] == ["urgency"]


def test_what_is_chosen_in_quick_succession_is_written_once(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    written: list[LastView] = []
    monkeypatch.setattr(last_view, "save", lambda _path, view: written.append(view))
    monkeypatch.setattr(last_view, "SOON_S", 60.0)
    memory = Memory(tmp_path / "view.json")
    for number in range(5):
        memory.keep(LastView(picked=f"C{number}"))
    assert written == []  # a key is answered first
    memory.finish(10.0)
    assert [view.picked for view in written] == ["C4"]


def test_options_come_first_and_are_not_remembered() -> None:
    """Units that `--units` named stay out of it until somebody presses their key."""
    us, si = View(manner=Manner(units="US")), View(manner=Manner(units="SI"))
    assert LastView().after(us, us).units is None
    assert LastView(units="SI").after(us, us).units == "SI"
    assert LastView().after(us, si).units == "SI"


async def test_without_colour_none_is_shown_and_the_theme_is_kept(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    path = tmp_path / "view.json"
    save(path, ALL)
    async with remembering(monkeypatch, Memory(path), Manner(ascii=True)) as screen:
        await screen.press("t", "o")
        assert screen.app.ansi_color
        assert screen.text().isascii()
    assert load(path).theme == "light"
    assert load(path).order == "bench"


@pytest.mark.parametrize(
    "content",
    [
        b"", b"{", b"\xff\xfe\x00", b"[1, 2]", b'"C3"', b"null", b"0" * 20_000,
        b'{"order": "by whim"}', b'{"span_s": 1e400}', b'{"span_s": NaN}', b'{"span_s": -5}',
        b'{"span_s": 1e12}', b'{"plot": -1}', b'{"plot": 1e99}', b'{"theme": "\\u001b[31m"}',
        b'{"units": "cubits"}', b'{"picked": 7}', b'{"picked": "' + b"x" * 5000 + b'"}',
        b'{"order": "hands\\n"}',
    ],
)  # fmt: skip
async def test_a_damaged_or_foreign_file_is_the_defaults(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, content: bytes
) -> None:
    path = tmp_path / "view.json"
    path.write_bytes(content)
    assert load(path) == LastView()
    async with remembering(monkeypatch, Memory(path)) as screen:
        assert "C1" in screen.text()
        await screen.press("o")
    assert load(path).order == "urgency"  # and the next change mends it


def test_a_file_of_a_later_program_is_read_as_far_as_it_is_known(tmp_path: Path) -> None:
    path = tmp_path / "view.json"
    path.write_text('{"order": "hands", "depth": 3}', encoding="utf-8")
    assert load(path) == LastView(order="hands")


def test_a_pipe_or_a_folder_in_its_place_keeps_nobody_waiting(tmp_path: Path) -> None:
    pipe, folder = tmp_path / "pipe", tmp_path / "folder"
    os.mkfifo(pipe)
    folder.mkdir()
    for path in (pipe, folder, tmp_path / "none" / "at all"):
        assert load(path) == LastView()
    save(folder, ALL)
    assert list(folder.iterdir()) == [] and load(folder) == LastView()


async def test_a_folder_that_cannot_be_written_is_no_matter(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # as root nothing is read-only: a file in the folder's place refuses everybody
    (tmp_path / "state").write_text("", encoding="utf-8")
    memory = Memory(tmp_path / "state" / "view.json")
    async with remembering(monkeypatch, memory) as screen:
        await screen.press("o", "o")
        assert screen.bench_screen.view.order == "hands"
    closed = tmp_path / "closed"
    closed.mkdir(mode=0o500)
    save(closed / "view.json", ALL)
    assert load(closed / "view.json") == (ALL if os.geteuid() == 0 else LastView())


def test_two_dashboards_at_once_leave_a_whole_file(tmp_path: Path) -> None:
    path = tmp_path / "view.json"
    memories = Memory(path), Memory(path)

    def choose(memory: Memory, cell: str) -> None:
        for number in range(40):
            memory.keep(LastView(DAY, "hands", "light", "US", cell, number))
            assert load(path) == LastView() or load(path).picked in ("C1", "C2")
        memory.finish(10.0)

    threads = [
        threading.Thread(target=choose, args=(one, name))
        for one, name in zip(memories, ("C1", "C2"), strict=True)
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert load(path).plot == 39  # of whoever changed something last
    assert [one.name for one in tmp_path.iterdir()] == ["view.json"]


def test_it_lies_in_the_users_state_folder_for_each_bench(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    for name, cell in (("quay", "C1"), ("tunnel", "C2")):
        memory = Memory.of_bench(tmp_path / name)
        memory.keep(LastView(picked=cell))
        memory.finish(10.0)
    assert Memory.of_bench(tmp_path / "quay").last.picked == "C1"
    assert Memory.of_bench(tmp_path / "tunnel").last.picked == "C2"
    assert not (tmp_path / "quay").exists()
    found = {path.name for path in (tmp_path / "state" / "porewatch").rglob("*") if path.is_file()}
    assert found == {"view.json"}


def test_a_state_folder_that_is_not_absolute_does_not_count(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It would lie where somebody stands, which may be among a logger's files."""
    monkeypatch.setenv("XDG_STATE_HOME", "state")
    monkeypatch.setenv("HOME", str(tmp_path))
    assert own_file(tmp_path / "quay").is_relative_to(tmp_path / ".local" / "state")


def test_every_order_and_theme_can_be_remembered(tmp_path: Path) -> None:
    path = tmp_path / "view.json"
    for order in ORDERS:
        for theme in THEMES:
            wanted = LastView(order=order).coloured(f"{theme}-16")
            assert wanted.theme == theme
            save(path, wanted)
            assert load(path) == wanted
    assert set(json.loads(path.read_text())) == set(LastView.__slots__)


def test_the_help_says_so() -> None:
    assert "as you left them" in " ".join(call("watch", "--help").stdout.split())
