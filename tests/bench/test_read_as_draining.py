"""Drainage that was opened, told by the rows that a log gets from then on. Invented readings.

The slots are those of the cell's own schedule: first × ratioᵏ (contract, section 6).
"""

import pytest
from scripted import settings

from tui.bench.read_as_draining import ROWS, draining_due_s
from tui.bench.readings import Reading
from tui.bench.valve import Valve

LOG = {"kind": "log", "first": "0.1 min", "ratio": 1.5, "slots": 26}
DUE_S = tuple(6.0 * 1.5**k for k in range(ROWS))


def _cell(consolidation: dict[str, object], rows: str = "scheduled"):  # type: ignore[no-untyped-def]
    return settings(schedule={"consolidation": consolidation}, log={"rows": rows})


def test_a_schedule_like_no_other_tells_it() -> None:
    assert draining_due_s(_cell(LOG)) == pytest.approx(DUE_S)


@pytest.mark.parametrize(
    "cell",
    [
        _cell(LOG, "steady"),
        _cell({"kind": "root", "step": 0.5, "slots": 60}),  # as the saturation's own is
        _cell({"kind": "every", "step": "60 s", "slots": 60}),
        _cell({**LOG, "slots": ROWS - 1}),
    ],
    ids=["steady rows", "one schedule for both", "at a pace", "too few slots"],
)
def test_what_may_mean_something_else_tells_nothing(cell) -> None:  # type: ignore[no-untyped-def]
    assert draining_due_s(cell) == ()


def _followed(
    offsets: list[float], *, stands: bool = True, rise_kPa: float = 0.0
) -> tuple[Valve, list[bool]]:
    """A check read every five minutes, then rows after a zero reading; no volume flows."""
    valve = Valve(DUE_S)
    valve.closed(Reading(-1200.0, back_volume=1.0))
    times = [-900.0, -600.0, -300.0, 0.0, *offsets]
    opened = [
        valve.add(
            Reading(time, cell_pressure=300.0 + rise_kPa * (time > 0.0), back_volume=1.0),
            cell_stands=stands or time < 0.0,
        )
        for time in times
    ]
    return valve, opened


def test_its_first_rows_tell_the_zero_reading_before_any_flow() -> None:
    valve, opened = _followed([round(due) for due in DUE_S])  # loggers stamp full seconds
    assert opened == [False] * 9 + [True]
    assert valve.before is not None
    assert valve.first is not None
    assert (valve.before.time, valve.first.time) == (0.0, 6.0)


@pytest.mark.parametrize(
    "offsets",
    [
        list(DUE_S[:-1]),
        [*DUE_S[:2], *DUE_S[3:], DUE_S[-1] * 1.5],
        [due * 1.2 for due in DUE_S],
        [15.0, 60.0, 135.0, 240.0, 375.0, 540.0],
    ],
    ids=["too few", "one is missing", "another pace", "root time"],
)
def test_other_rows_tell_nothing(offsets: list[float]) -> None:
    valve, opened = _followed(offsets)
    assert not any(opened)
    assert valve.first is None


def test_nothing_is_told_while_cell_pressure_moves() -> None:
    assert not any(_followed(list(DUE_S), stands=False)[1])


@pytest.mark.parametrize("rise_kPa", [50.0, float("nan")])
def test_a_rise_that_is_read_in_those_slots_is_a_check(rise_kPa: float) -> None:
    assert not any(_followed(list(DUE_S), rise_kPa=rise_kPa)[1])


def test_the_flow_is_as_good_a_witness() -> None:
    valve = Valve(DUE_S)
    valve.closed(Reading(0.0, back_volume=1.0))
    assert not valve.add(Reading(6.0, back_volume=0.95), cell_stands=True)
    assert valve.add(Reading(9.0, back_volume=0.8), cell_stands=True)
