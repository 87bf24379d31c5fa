"""A bench under the dashboard, driven by hand: no timer, no clock, no waiting."""

from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager

from textual._compositor import CompositorUpdate
from textual.pilot import Pilot
from textual.screen import Screen
from textual.widget import Widget

from tui.app import PorewatchApp
from tui.bench.picture import Bench
from tui.ink.paper import Paper
from tui.ink.sparing import Sparing
from tui.screens.bench_screen import BenchScreen
from tui.screens.desk import CLOSED, Desk
from tui.words import PLAIN, Manner


class Shown:
    """Follows nothing: says the bench that it was given last, or fails as it was told to."""

    def __init__(self, bench: Bench) -> None:
        self.bench = bench
        self.failure: Exception | None = None
        self.waits = False
        self.looks = 0
        self.closed = 0
        self.arrived: Callable[[], object] = lambda: None

    def beat(self) -> Bench:
        """The bench, or the failure."""
        self.looks += 1
        if self.failure is not None:
            raise self.failure
        return self.bench

    def call_on_arrival(self, call: Callable[[], object]) -> None:
        """Whom to call."""
        self.arrived = call

    def close(self) -> None:
        """Count."""
        self.closed += 1


def lines_of(app: PorewatchApp) -> list[str]:
    """The text on the terminal, line by line."""
    return [strip.text.rstrip() for strip in app.screen._compositor.render_strips()]


class OnScreen:
    """What a test may do with the dashboard, and see of it."""

    def __init__(self, app: PorewatchApp, following: Shown, pilot: Pilot[None]) -> None:
        self.app, self.following, self.pilot = app, following, pilot
        self.written: list[str] = []
        """What a terminal would have been sent; without one the toolkit drops it."""
        display = app._display

        def note(screen: Screen[object], update: object) -> None:
            if isinstance(update, CompositorUpdate):
                self.written.append(update.render_segments(app.console))
            display(screen, update)  # type: ignore[arg-type]

        app._display = note  # type: ignore[assignment,method-assign]

    async def beat(self, bench: Bench | None = None) -> None:
        """One look, of another bench if one is given."""
        if bench is not None:
            self.following.bench = bench
        self.app.beat()
        await self.settle()

    async def press(self, *keys: str) -> None:
        """Press keys and let the screen settle."""
        if keys:
            await self.pilot.press(*keys)
        await self.settle()

    async def settle(self) -> None:
        """Let messages pass and paint what is due now instead of at the next frame."""
        for _ in range(2):
            await self.pilot.pause()
            for one in self.app._background_screens:
                if isinstance(one, Sparing):
                    one._on_timer_update()
            self.app.screen._on_timer_update()

    def lines(self) -> list[str]:
        """The text on the terminal, line by line."""
        return lines_of(self.app)

    def part(self, name: str) -> list[str]:
        """Those of a part of the screen on top, by its name."""
        region = self.app.screen.query_one(f"#{name}").region
        strips = self.app.screen._compositor.render_strips()[region.y : region.bottom]
        return [strip.crop(region.x, region.right).text.rstrip() for strip in strips]

    def text(self) -> str:
        """The same as one text."""
        return "\n".join(self.lines())

    @property
    def bench_screen(self) -> BenchScreen:
        """The screen under whatever lies on it."""
        return next(s for s in self.app.screen_stack if isinstance(s, BenchScreen))

    def pane(self, name: str) -> Widget:
        """A part of the screen by its name."""
        return self.bench_screen.query_one(f"#{name}")

    def repaints(self) -> dict[str, int]:
        """Regions repainted so far by pane."""
        return {str(p.id): p.repaints for p in self.bench_screen.query(Paper)}


@asynccontextmanager
async def show(
    following: Shown,
    size: tuple[int, int],
    manner: Manner | None = None,
    pace: str = "",
    desk: Desk = CLOSED,
) -> AsyncIterator[OnScreen]:
    """Run the dashboard on a terminal of a size until the block ends."""
    app = PorewatchApp(following, beat_s=0.0, manner=manner or PLAIN, pace=pace, desk=desk)
    async with app.run_test(size=size) as pilot:
        screen = OnScreen(app, following, pilot)
        await screen.beat()
        yield screen
