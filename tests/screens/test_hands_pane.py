"""The list of what needs hands: grouped by visit, as far as there is room."""

from collections.abc import Awaitable, Callable
from dataclasses import replace

import made_benches
import pytest
from made_benches import AT, H

from tui.bench.picture import Bench, Hand, Visit
from tui.words import Manner

Look = Callable[..., Awaitable[list[str]]]
SIZES = ((160, 48), (80, 24), (60, 20))


def listed(lines: list[str]) -> list[str]:
    """What stands below the heading, and the rest of its line."""
    first = next(k for k, line in enumerate(lines) if "Hands needed" in line)
    left = lines[first].index("Hands needed")
    return [line[left:].rstrip() for line in lines[first : first + 12]]


def grouped_bench(cells: int = 3, **more: object) -> Bench:
    """So many cells that one visit serves, and another that is ready at night."""
    served = tuple(
        Hand(f"C{k + 1}", f"B check {k + 2}", AT + k * 600.0, None, None) for k in range(cells)
    )
    night = Hand("C9", "consolidation ends", AT + 12 * H, None, None, AT + 17 * H)
    made = replace(made_benches.all_well(), hands=(*served, night))
    visit = Visit(AT + 0.5 * H, AT + H, served)
    made = replace(made, visits=(visit, Visit(AT + 17 * H, AT + 18 * H, (night,))))
    return replace(made, **more)  # type: ignore[arg-type]


@pytest.mark.parametrize("size", SIZES, ids=lambda s: f"{s[0]}x{s[1]}")
@pytest.mark.parametrize("ascii_only", [False, True])
async def test_one_line_tells_whom_a_visit_serves_and_when(
    looking: Look, size: tuple[int, int], ascii_only: bool
) -> None:
    lines = listed(await looking(grouped_bench(), size, manner=Manner(ascii=ascii_only)))
    dash = "-" if ascii_only else "–"
    assert lines[1].startswith(f"one visit today 14:50{dash}15:20")
    assert lines[1].endswith("C1, C2, C3")
    assert "more" not in lines[0]


@pytest.mark.parametrize("size", SIZES, ids=lambda s: f"{s[0]}x{s[1]}")
async def test_both_are_said_when_it_is_ready_and_when_somebody_is_there(
    looking: Look, size: tuple[int, int]
) -> None:
    lines = listed(await looking(grouped_bench(), size))
    (night,) = (line for line in lines if "C9" in line)
    assert "12 h 00 min" in night
    assert night.endswith("from Thu 07:20")


async def test_those_a_visit_serves_stand_below_it_where_there_is_room(looking: Look) -> None:
    lines = listed(await looking(grouped_bench(), (160, 48)))
    assert [line.split()[-4:] for line in lines[2:5]] == [
        [f"C{k + 1}", "B", "check", f"{k + 2}"] for k in range(3)
    ]
    alone = listed(await looking(grouped_bench(visits=()), (160, 48)))
    # set in, so that they are told from what is done on another visit
    assert lines[3].index("C2") == alone[2].index("C2") + 2


async def test_a_visit_to_many_cells_names_some_and_counts_the_rest(looking: Look) -> None:
    lines = listed(await looking(grouped_bench(8), (80, 24)))
    assert lines[1] == "visit today 14:50–15:20 C1 and 7 more"


async def test_what_has_no_room_is_counted(looking: Look) -> None:
    bench = grouped_bench()
    single = tuple(Visit(hand.at or AT, AT + H, (hand,)) for hand in bench.hands)
    lines = listed(await looking(replace(bench, visits=single), (80, 24)))
    assert lines[0].endswith("2 more")
    assert "one visit" not in "\n".join(lines)
