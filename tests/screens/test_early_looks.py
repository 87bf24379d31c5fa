"""A row that arrives is looked at before the next beat, and many at once cost one look."""

import asyncio

import made_benches
import pytest
from shown import Shown

from tui.app import EARLY_S, PorewatchApp


async def looks_after(following: Shown, beat_s: float, calls: int) -> int:
    app = PorewatchApp(following, beat_s=beat_s)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        before = following.looks
        for _ in range(calls):
            following.arrived()
        await asyncio.sleep(4.0 * EARLY_S)
        await pilot.pause()
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


async def test_while_more_waits_it_goes_on_looking() -> None:
    following = Shown(made_benches.all_well())
    following.waits = True
    assert await looks_after(following, 5.0, 0) >= 2
