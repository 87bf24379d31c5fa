"""Looks are made beside the screen: soon after an arrival, one for many, and no key waits."""

import asyncio
import threading
import time
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager

import made_benches
import pytest
from shown import Shown, lines_of

from tui.app import PorewatchApp
from tui.bench.beats import EARLY_S
from tui.bench.picture import Bench

PATIENCE_S = 10.0
SEEN_EVERY_S = 0.01


class HeldUp(Shown):
    """Its looks end when they are let; all but the first, that is."""

    def __init__(self, bench: Bench) -> None:
        super().__init__(bench)
        self.begun, self.let = threading.Event(), threading.Event()
        self.threads: set[int] = set()

    def beat(self) -> Bench:
        self.threads.add(threading.get_ident())
        if self.looks:
            self.begun.set()
            self.let.wait(PATIENCE_S)
        return super().beat()

    def close(self) -> None:
        self.threads.add(threading.get_ident())
        super().close()


async def until(told: Callable[[], object]) -> None:
    """Let the screen go on until something is so."""
    end = time.monotonic() + PATIENCE_S
    while not told():
        assert time.monotonic() < end
        await asyncio.sleep(SEEN_EVERY_S)


@asynccontextmanager
async def running(following: Shown, beat_s: float) -> AsyncIterator[PorewatchApp]:
    """The dashboard as people have it; at the end everything is let go of."""
    app = PorewatchApp(following, beat_s=beat_s)
    try:
        async with app.run_test(size=(160, 48)) as pilot:
            await pilot.pause()
            yield app
    finally:
        if isinstance(following, HeldUp):
            following.let.set()
        app.let_go()
    assert following.closed == 1


def text(app: PorewatchApp) -> str:
    return "\n".join(lines_of(app))


async def looks_after(following: Shown, beat_s: float, calls: int) -> int:
    async with running(following, beat_s) as app:
        if beat_s:
            await until(lambda: app.bench)
        before = following.looks
        for _ in range(calls):
            following.arrived()
        await asyncio.sleep(4.0 * EARLY_S)
        return following.looks - before


@pytest.mark.parametrize(
    ("beat_s", "calls", "most"),
    [
        (1.0, 50, 2),  # one for all of them, and perhaps the beat itself
        (5.0, 50, 0),  # a slow line waits for its beat
        (0.0, 50, 0),  # driven by hand
    ],
)
async def test_what_arrives_is_looked_at_once(beat_s: float, calls: int, most: int) -> None:
    looks = await looks_after(Shown(made_benches.all_well()), beat_s, calls)
    assert min(most, 1) <= looks <= most


async def test_rows_that_come_once_a_beat_are_looked_at_once_a_beat() -> None:
    following = Shown(made_benches.all_well())
    async with running(following, 1.0) as app:
        await until(lambda: app.bench)
        following.arrived()
        await asyncio.sleep(1.05)  # just behind its beat, as loggers drift against any clock
        before = following.looks
        for _ in range(3):
            following.arrived()
            await asyncio.sleep(1.05)
        assert 3 <= following.looks - before <= 4


async def test_while_more_waits_it_goes_on_looking() -> None:
    following = Shown(made_benches.all_well())
    following.waits = True
    assert await looks_after(following, 5.0, 0) >= 2


async def test_the_picture_of_a_beat_appears_by_itself() -> None:
    following = Shown(made_benches.bench((made_benches.saturating("C1"),)))
    async with running(following, 1.0) as app:
        await until(lambda: "C1 ○ runs" in text(app))
        following.bench = made_benches.all_well()
        await until(lambda: "C6 ○ runs" in text(app))


async def test_a_key_is_answered_while_a_look_is_held_up() -> None:
    following = HeldUp(made_benches.all_well())
    async with running(following, 0.2) as app:
        await until(following.begun.is_set)
        await app.run_action("screen.step(1)")
        await until(lambda: "▸C2" in text(app))
        assert following.looks == 1
        following.bench = made_benches.sixty_four()
        following.let.set()
        await until(lambda: app.bench is following.bench)
        assert "▸C2" in text(app)


async def test_leaving_waits_a_moment_only_for_a_look_and_lets_go_once_in_its_thread(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr("tui.bench.beats.LEAVING_S", 0.05)
    following = HeldUp(made_benches.all_well())
    app = PorewatchApp(following, beat_s=0.2)
    async with app.run_test(size=(80, 24)):
        await until(following.begun.is_set)
        await app.run_action("quit")
    app.let_go()
    assert following.looks == 1  # the screen has ended, the second look has not
    assert following.closed == 0
    following.let.set()
    await until(lambda: following.closed)
    app.let_go()
    assert following.closed == 1
    assert following.looks == 2
    assert len(following.threads) == 1
    assert threading.get_ident() not in following.threads


async def test_a_look_that_fails_beside_the_screen_is_told_and_the_next_one_is_made() -> None:
    following = Shown(made_benches.all_well())
    async with running(following, 0.2) as app:
        await until(lambda: "C1 ○ runs" in text(app))
        following.failure = OSError("share is away")
        await until(lambda: "the last look failed: OSError: share is away" in text(app))
        assert "C1 ○ runs" in text(app)
        following.failure = None
        await until(lambda: "failed" not in text(app))
