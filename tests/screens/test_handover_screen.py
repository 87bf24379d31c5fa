"""The handover on a key: the same page as the command's, in every size."""

import made_benches
import pytest
from shown import Shown, show
from test_goldens import compare

SIZES = ((160, 48), (80, 24), (60, 20), (40, 12))


@pytest.mark.parametrize("size", SIZES, ids=lambda s: f"{s[0]}x{s[1]}")
async def test_the_page(size: tuple[int, int]) -> None:
    async with show(Shown(made_benches.alarmed()), size) as screen:
        await screen.press("h")
        await screen.app.workers.wait_for_complete()
        await screen.settle()
        lines = screen.lines()
        assert any("Handover of what was" in line for line in lines)
        compare(f"handover_{size[0]}x{size[1]}", lines)
        await screen.press("escape")
        assert not any("Handover of what was" in line for line in screen.lines())


async def test_it_scrolls_to_its_end_in_few_lines() -> None:
    async with show(Shown(made_benches.alarmed()), (40, 12)) as screen:
        await screen.press("h")
        await screen.app.workers.wait_for_complete()
        await screen.press("end")
        assert "no safety" in " ".join(" ".join(screen.lines()).split())
