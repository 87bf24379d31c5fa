"""Advice on readings holds against the constructions themselves, on the exact series.

Whatever readings are called complete give the time of theory; where readings are called missing the
construction refuses, or shifts. The bounds stand beside each table; t90 by the usual 1.15 is 1.5 %
short to begin with.
"""

from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from reduce.construction import Construction
from reduce.construction_readings import Part, Wanted, construction_readings
from reduce.drainage import DRAINAGES, degree, t100, time_for
from reduce.errors import ReductionError
from reduce.log_time import casagrande
from reduce.root_time import root_time_to_t100, taylor
from reduce.schedule import log_schedule, root_schedule

Column = NDArray[np.float64]
CV = 5.0
CELL = {"height_mm": 76.0, "diameter_mm": 38.0}
BY: dict[Wanted, tuple[Callable[..., Construction], str]] = {
    "root time to t90": (taylor, "t90_min"),
    "root time to t100": (root_time_to_t100, "t100_min"),
    "log time": (casagrande, "t50_min"),
}
WITHIN: dict[Wanted, float] = {
    "root time to t90": 0.05, "root time to t100": 0.06, "log time": 0.05,
}  # fmt: skip
"""How near a construction on complete readings comes, here without creep."""


def minutes_to(drainage: str, share: float) -> float:
    return time_for(drainage, share, cv_m2_year=CV, **CELL) / 60.0


def truth(drainage: str, wanted: Wanted) -> float:
    if wanted == "root time to t100":
        return t100(drainage, cv_m2_year=CV, **CELL) / 60.0
    return minutes_to(drainage, 0.9 if wanted == "root time to t90" else 0.5)


def constructed(drainage: str, wanted: Wanted, times: Column) -> float | None:
    """The time found over that of theory; None where the construction refuses."""
    method, name = BY[wanted]
    change = 0.1 + 5.0 * degree(drainage, 60.0 * times, cv_m2_year=CV, **CELL)
    found = method(np.append(0.0, times), np.append(0.0, change), drainage=drainage, **CELL)
    minutes = getattr(found, name)
    return None if minutes is None else minutes / truth(drainage, wanted)


def parts(drainage: str, wanted: Wanted, times: Column, spread: float = 1.0) -> dict[str, Part]:
    t50 = minutes_to(drainage, 0.5)
    between = None if spread == 1.0 else (t50 / spread, t50 * spread)
    found = construction_readings(
        wanted, times, t50_min=t50, t50_range_min=between, drainage=drainage, **CELL
    )
    return {part.kind: part for part in found}


def complete(found: dict[str, Part]) -> bool:
    return all(part.standing == "covered" for part in found.values())


SCHEDULES = {
    "root": lambda t50: np.array(root_schedule(0.1, 200).due) / 60.0 * t50,
    "log 1.5": lambda t50: np.array(log_schedule(0.01, 1.5, 26).due) / 60.0 * t50,
    "doubling": lambda t50: np.array(log_schedule(0.02, 2.0, 13).due) / 60.0 * t50,
    "ASTM": lambda t50: np.array(
        [0.1, 0.2, 0.5, 1, 2, 4, 8, 15, 30, 60, 120, 240, 480, 1440]) * t50 / 12.0,
    "steady": lambda t50: np.arange(1.0, 3000.0) * t50 / 40.0,
}  # fmt: skip


@pytest.mark.parametrize("drainage", DRAINAGES)
@pytest.mark.parametrize("wanted", BY)
@pytest.mark.parametrize("schedule", SCHEDULES)
def test_whole_schedules_are_complete_and_give_the_time_of_theory(
    drainage: str, wanted: Wanted, schedule: str
) -> None:
    times = SCHEDULES[schedule](minutes_to(drainage, 0.5))
    found = parts(drainage, wanted, times)
    assert complete(found), found
    # To the very last reading t100 has levelled: nothing is short any more.
    within = 0.03 if wanted == "root time to t100" else WITHIN[wanted]
    assert constructed(drainage, wanted, times) == pytest.approx(1.0, rel=within)


@pytest.mark.parametrize("wanted", BY)
@given(
    drainage=st.sampled_from(DRAINAGES),
    gaps=st.lists(st.floats(1.2, 3.5), min_size=5, max_size=22),
    first=st.floats(0.004, 0.5),
)
def test_what_is_called_complete_gives_the_time_of_theory(
    wanted: Wanted, drainage: str, gaps: list[float], first: float
) -> None:
    times = minutes_to(drainage, 0.5) * first * np.cumprod(gaps)
    if complete(parts(drainage, wanted, times)):
        assert constructed(drainage, wanted, times) == pytest.approx(1.0, rel=WITHIN[wanted])


LACKING: tuple[tuple[Wanted, str, str, float, float], ...] = (
    # construction, part, drainage, U from which and to which readings are taken away
    ("root time to t90", "early line", "both ends", 0.0, 0.5),
    ("root time to t90", "early line", "radial + one end", 0.0, 0.5),
    ("root time to t90", "t90", "both ends", 0.9, 1.0),
    ("root time to t90", "t90", "radial + one end", 0.9, 1.0),
    ("root time to t100", "early line", "both ends", 0.0, 0.5),
    ("root time to t100", "end", "both ends", 0.94, 1.0),
    ("root time to t100", "end", "radial + one end", 0.94, 1.0),
    ("log time", "parabola", "both ends", 0.0, 0.5),
    ("log time", "parabola", "radial + one end", 0.0, 0.25),
    ("log time", "tail", "both ends", 0.99, 1.0),
    ("log time", "tail", "radial + one end", 0.99, 1.0),
)


@pytest.mark.parametrize("schedule", ["root", "log 1.5", "doubling"])
@pytest.mark.parametrize(("wanted", "kind", "drainage", "low", "high"), LACKING)
def test_without_the_readings_wanted_it_refuses_or_shifts_by_more_than_5_percent(
    wanted: Wanted, kind: str, drainage: str, low: float, high: float, schedule: str
) -> None:
    times = SCHEDULES[schedule](minutes_to(drainage, 0.5))
    whole = constructed(drainage, wanted, times)
    reached = degree(drainage, 60.0 * times, cv_m2_year=CV, **CELL)
    kept = times[(reached < low) | (reached > high)]
    part = parts(drainage, wanted, kept)[kind]
    assert part.have < part.wanted
    assert part.standing == ("missed" if low == 0.0 else "to come")
    found = constructed(drainage, wanted, kept)
    assert whole is not None
    assert found is None or abs(found / whole - 1.0) > 0.05


def test_a_hole_in_the_middle_is_missed_only_once_a_reading_has_come_behind_it() -> None:
    t50 = minutes_to("both ends", 0.5)
    early = t50 * np.array([0.1, 0.2, 0.4, 0.8])
    waiting = parts("both ends", "log time", early)["middle"]
    assert (waiting.standing, waiting.have, waiting.wanted) == ("to come", 0, 2)
    assert (
        parts("both ends", "log time", np.append(early, 4.0 * t50))["middle"].standing == "missed"
    )
    assert (
        parts("both ends", "log time", np.append(early, t50 * np.array([2.0, 5.0, 6.0])))[
            "middle"
        ].standing
        == "covered"
    )


def test_a_wide_forecast_neither_calls_a_part_covered_nor_missed() -> None:
    t50 = minutes_to("both ends", 0.5)
    times = t50 * np.geomspace(0.1, 7.0, 12)
    assert parts("both ends", "root time to t90", times)["t90"].standing == "covered"
    doubtful = parts("both ends", "root time to t90", times, spread=2.0)["t90"]
    assert (doubtful.standing, doubtful.have < doubtful.wanted) == ("to come", True)
    assert doubtful.latest_min == pytest.approx(2.0 * doubtful.until_min)
    late = t50 * np.geomspace(0.6, 7.0, 12)
    assert parts("both ends", "root time to t90", late)["early line"].standing == "missed"
    assert (
        parts("both ends", "root time to t90", late, spread=8.0)["early line"].standing == "to come"
    )


def test_nothing_read_yet_and_rows_without_a_number() -> None:
    for wanted in BY:
        nothing = parts("one end", wanted, np.array([]))
        assert {part.standing for part in nothing.values()} == {"to come"}
        assert {part.have for part in nothing.values()} == {0}
        with_nan = parts("one end", wanted, np.array([np.nan, 0.0, -1.0]))
        assert with_nan == nothing


def test_what_makes_no_forecast_is_refused() -> None:
    with pytest.raises(ReductionError, match="t50"):
        construction_readings("log time", [1.0], t50_min=0.0, drainage="one end", **CELL)
    with pytest.raises(ReductionError, match="drainage"):
        construction_readings("log time", [1.0], t50_min=9.0, drainage="sideways", **CELL)
