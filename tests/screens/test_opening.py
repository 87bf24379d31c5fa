"""The first frame: painted without what draws a bench, equal to the bench before its first look."""

import subprocess
import sys
import threading
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from importlib import import_module
from pathlib import Path

import made_benches
import pytest
from shown import Shown, lines_of
from test_early_looks import HeldUp, text, until

from tui.app import PorewatchApp
from tui.bench.picture import Bench
from tui.commands.dashboard import Watched
from tui.commands.reporting_app import ReportingApp
from tui.screens.bench_screen import BenchScreen
from tui.screens.desk import CLOSED, Desk
from tui.screens.help_panel import HelpPanel
from tui.screens.opening import Opening
from tui.words import PLAIN, Manner

SIZES = [(160, 48), (80, 24), (60, 20), (30, 8)]
LATER = (
    "numpy",
    "pydantic",
    "sqlite3",
    "watchdog",
    "pandas",
    "scipy",
    "reduce",
    "tui.bench.picture",
)


class Held(HeldUp):
    """Not even its first look ends before it is let."""

    def __init__(self, bench: Bench) -> None:
        super().__init__(bench)
        self.looks = 1


@asynccontextmanager
async def opening(
    monkeypatch: pytest.MonkeyPatch,
    following: Shown,
    imported: threading.Event,
    size: tuple[int, int] = (80, 24),
    manner: Manner = PLAIN,
    desk: Desk = CLOSED,
) -> AsyncIterator[PorewatchApp]:
    """The dashboard, what draws the bench being imported until it is let."""

    def held_up(name: str) -> object:
        imported.wait(10.0)
        return import_module(name)

    monkeypatch.setattr("tui.app.import_module", held_up)
    app = PorewatchApp(following, beat_s=0.2, manner=manner, desk=desk)
    try:
        async with app.run_test(size=size) as pilot:
            await pilot.pause()
            yield app
    finally:
        imported.set()
        if isinstance(following, HeldUp):
            following.let.set()
        app.let_go()


def painted(app: PorewatchApp) -> list[list[tuple[str, str]]]:
    """Every sign with its style: how a line is cut into segments is no matter."""
    return [
        [(sign, str(segment.style)) for segment in strip for sign in segment.text]
        for strip in app.screen._compositor.render_strips()
    ]


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("manner", [PLAIN, Manner(ascii=True, colour=False)])
@pytest.mark.parametrize("closed", ["", "a replay"])
async def test_what_is_painted_first_is_what_the_bench_screen_shows_before_its_first_look(
    monkeypatch: pytest.MonkeyPatch,
    tmp_path_factory: pytest.TempPathFactory,
    size: tuple[int, int],
    manner: Manner,
    closed: str,
) -> None:
    imported, following = threading.Event(), Held(made_benches.all_well())
    desk = Desk(tmp_path_factory.mktemp("bench"), closed)
    async with opening(monkeypatch, following, imported, size, manner, desk) as app:
        assert isinstance(app.screen, Opening)
        first = painted(app)
        assert "Porewatch" in lines_of(app)[0] and "quit" in lines_of(app)[-1]
        imported.set()
        await until(lambda: isinstance(app.screen, BenchScreen) and following.begun.is_set())
        await until(lambda: "quit" in "".join(lines_of(app)))
        assert painted(app) == first


async def test_keys_are_answered_meanwhile_and_those_for_the_bench_behind_it(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    imported = threading.Event()
    async with opening(monkeypatch, Shown(made_benches.all_well()), imported) as app:
        for key in ("t", "o", "question_mark"):
            app.simulate_key(key)
        await until(lambda: app.theme == "light")
        assert isinstance(app.screen, Opening)
        imported.set()
        await until(lambda: isinstance(app.screen, HelpPanel))
        (bench_screen,) = (s for s in app.screen_stack if isinstance(s, BenchScreen))
        assert bench_screen.view.order == "urgency"


async def test_it_can_be_left_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    following, imported = Shown(made_benches.all_well()), threading.Event()
    async with opening(monkeypatch, following, imported) as app:
        app.simulate_key("q")
        await until(lambda: not app.is_running)
    assert following.looks == 0 and following.closed == 1


async def test_an_import_that_fails_is_no_silence(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    def missing(name: str) -> object:
        raise ImportError(f"no library for {name}")

    monkeypatch.setattr("tui.app.import_module", missing)
    app = ReportingApp(tmp_path, following=Shown(made_benches.all_well()), beat_s=0.2)
    async with app.run_test():
        await until(lambda: app.fault is not None)
    app.let_go()
    assert isinstance(app.fault, ImportError)
    assert str(app.fault) == "no library for tui.screens.bench_screen"


async def test_what_cannot_be_opened_is_said_and_tried_again(tmp_path: Path) -> None:
    here, following = threading.Event(), Shown(made_benches.all_well())

    def opens() -> Shown:
        if not here.is_set():
            raise OSError("the share is gone")
        return following

    app = PorewatchApp(Watched(opens, tmp_path), beat_s=0.2)
    async with app.run_test(size=(160, 48)):
        await until(lambda: "the last look failed: OSError: the share is gone" in text(app))
        here.set()
        await until(lambda: "C1" in text(app) and "the last look failed" not in text(app))
        looks = following.looks
        following.arrived()  # the call was handed on
        await until(lambda: following.looks > looks)
    app.let_go()
    assert following.closed == 1


def test_the_first_frame_waits_for_no_library_but_the_toolkit() -> None:
    program = (
        "import sys, tui.commands.watch, tui.commands.reporting_app\n"
        f"print([name for name in {LATER} if name in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, check=True)
    assert done.stdout.split() == [b"[]"]
