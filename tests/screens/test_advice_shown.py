"""What is advised about readings stands with the cell in focus, and in `status` if slots end."""

from collections.abc import Awaitable, Callable
from dataclasses import replace

import pytest
from made_benches import all_well

from tui.bench.picture import Bench, Cell
from tui.words import Manner
from tui.words.printed import print_bench

SLOTS = (
    "slots end Thu 02:15, 5 h before dissipation 95 % is expected (latest Thu 09:40): "
    "add readings at about Thu 03:00, 05:00, 07:00"
)
PLOT = "log-time plot: needs readings until about Thu 18:00 for its tail"
Look = Callable[..., Awaitable[list[str]]]


def advised(early: bool) -> Bench:
    """The consolidating cell alone, with its advice."""
    bench = all_well()
    cells = [c for c in bench.cells if c.phase is not None and c.phase.name == "consolidation"]
    advice = (SLOTS, PLOT) if early else (PLOT,)
    cell: Cell = replace(cells[0], advice=advice, slots_end_early=early)
    return replace(bench, cells=(cell,), hands=())


def flowed(lines: list[str]) -> str:
    return " ".join(" ".join(lines).split())


@pytest.mark.parametrize("size", [(160, 48), (80, 24)])
async def test_slots_that_end_early_are_said_with_the_cell_in_focus(
    looking: Look, size: tuple[int, int]
) -> None:
    assert "slots end Thu 02:15" in flowed(await looking(advised(True), size))


async def test_with_room_the_readings_to_add_are_there_in_full(looking: Look) -> None:
    """The plots stand beside the numbers: words are told apart by what only they hold."""
    told = flowed(await looking(advised(True), (160, 48)))
    assert "03:00, 05:00," in told and "log-time plot:" in told


def test_status_says_it_in_forty_columns_and_only_if_slots_end_early() -> None:
    lines = print_bench(advised(True), Manner(colour=False), 40)
    assert SLOTS in flowed(lines)
    assert max(map(len, lines)) <= 40
    assert "log-time plot" not in flowed(lines)
    assert "log-time plot" not in flowed(print_bench(advised(False), Manner(colour=False), 40))


async def test_advice_is_text_and_no_markup(looking: Look) -> None:
    bench = advised(True)
    hostile = replace(bench.cells[0], advice=("[bold]slots\x1b[31m end[/bold]", PLOT))
    shown = flowed(await looking(replace(bench, cells=(hostile,)), (160, 48)))
    assert "[bold]slots end[/bold]" in shown
