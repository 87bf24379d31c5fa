"""What another source says than the one that counts stands on the screen and in `status`."""

from collections.abc import Awaitable, Callable
from dataclasses import replace

import made_benches
import pytest

from tui.bench.picture import Bench
from tui.words import Manner
from tui.words.printed import print_bench

Look = Callable[..., Awaitable[list[str]]]


def contradicted(said: str) -> Bench:
    """A bench whose first cell is marked as something that another source denies."""
    made = made_benches.all_well()
    first = made.cells[0]
    assert first.phase is not None
    phase = replace(first.phase, source="marks", contradiction=said)
    return replace(made, cells=(replace(first, phase=phase), *made.cells[1:]))


@pytest.mark.parametrize("said", ["the readings say shear", "the log says consolidation"])
@pytest.mark.parametrize("size", [(160, 48), (80, 24)], ids=lambda s: f"{s[0]}x{s[1]}")
async def test_it_is_shown_in_words(looking: Look, said: str, size: tuple[int, int]) -> None:
    assert said in "\n".join(await looking(contradicted(said), size))
    assert said not in "\n".join(await looking(made_benches.all_well(), size))


async def test_the_smallest_screen_counts_the_cell_as_doubtful(looking: Look) -> None:
    size, said = (60, 20), "the readings say shear"
    heads = [
        (await looking(bench, size))[0] for bench in (made_benches.all_well(), contradicted(said))
    ]
    counted = [int(head.split("△ ")[1].split()[0]) for head in heads]
    assert counted[1] == counted[0] + 1


def test_status_says_it_below_the_phase() -> None:
    lines = print_bench(contradicted("the readings say shear"), Manner(colour=False), 80)
    told = [line.strip() for line in lines]
    at = told.index("but the readings say shear")
    assert "mark" in told[at - 1]
