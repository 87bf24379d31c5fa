"""The dashboard with a journal on disk, for tests of what people say and of how it looks."""

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path

import made_benches
from made_benches import AT
from shown import OnScreen, Shown, show

from tui.bench.clock import HandClock
from tui.bench.picture import Bench
from tui.journal.acts import Act
from tui.journal.entries import Entry
from tui.journal.store import Journal
from tui.screens.desk import Desk

ENTERED = AT + 3.0
SMALL = (60, 20)
CELL = """\
[cell]
rating = "1700 kPa"
# our logger
[log]
time = { column = "time" }
[test]
id = "T015"
kind = "CU"
started = "2031-02-03T08:10"
[specimen]
diameter = "50 mm"
height = "100 mm"
"""


@asynccontextmanager
async def acting(
    root: Path, bench: Bench | None = None, size: tuple[int, int] = SMALL, closed: str = ""
) -> AsyncIterator[OnScreen]:
    """The dashboard over a bench made up, with a journal on disk."""
    desk = Desk(root, closed, HandClock(ENTERED))
    async with show(Shown(bench or made_benches.alarmed()), size, desk=desk) as screen:
        yield screen


async def enter(screen: OnScreen, times: int = 1) -> None:
    """The key enter, and wait until the journal has it."""
    for _ in range(times):
        await screen.press("enter")
    await screen.app.workers.wait_for_complete()
    await screen.settle()


def journal(root: Path) -> list[Entry]:
    """What is in the journal, in the order of entry."""
    book = Journal.open(root)
    try:
        return sorted(book.entries(), key=lambda entry: entry.number)
    finally:
        book.close()


def only(root: Path) -> Act:
    """The one entry."""
    (entry,) = journal(root)
    return entry.act


async def waited(screen: OnScreen, *keys: str) -> None:
    """Press keys that ask the disk first."""
    await screen.press(*keys)
    await screen.app.workers.wait_for_complete()
    await screen.settle()
