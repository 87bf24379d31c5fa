"""What is advised about reading schedules, from scripted rows and drained rows of known theory."""

from datetime import UTC, datetime

import numpy as np
import pytest
from made_bench import shown
from scripted import Script, settings

from reduce.drainage import degree, time_for
from tui.bench.picture import Cell
from tui.settings.cell_toml import CellToml

SPECIMEN = {"height_mm": 100.0, "diameter_mm": 50.0}
CV = 2.0
"""Of the drained rows: t50 is 517 min, t95 2,967 min. [m²/year]"""


def log_slots(slots: int, **more: dict[str, object]) -> CellToml:
    schedule = {"consolidation": {"kind": "log", "first": "1 min", "ratio": 2.0, "slots": slots}}
    return settings(schedule=schedule, **more)


def drained(minutes: np.ndarray, out_ml: float = 6.0) -> Script:
    """Drainage opened on the exact series, read at given minutes; pore pressure is not measured."""
    script = Script()
    script.set_up()
    script.raise_back(10.0)
    script.check(0.97, 140.0, build_up=True)
    script.row(10)
    zero, volume = script.now, script.volume
    out = out_ml * degree("one end", 60.0 * minutes, cv_m2_year=CV, **SPECIMEN)
    script.rows = [row._replace(drainage="closed") for row in script.rows]
    for at, ml in zip(minutes.tolist(), out.tolist(), strict=True):
        script.now, script.volume, script.pore = zero + 60.0 * at, volume - ml, float("nan")
        script.row()
        script.rows[-1] = script.rows[-1]._replace(drainage="open")
    return script


def cell_of(script: Script, cell: CellToml) -> Cell:
    return shown(script.rows, script.now, cell)


def clock(at: float) -> str:
    return f"{datetime.fromtimestamp(at, UTC):%a %H:%M}"


def t(share: float) -> float:
    return time_for("one end", share, cv_m2_year=CV, **SPECIMEN) / 60.0


DOUBLING = 2.0 ** np.arange(14)


def test_slots_that_end_before_the_projected_end_name_the_readings_to_add() -> None:
    """Twelve slots end at 2,048 min; the law goes on at 4,096 and 8,192 min."""
    script = drained(DOUBLING[:12])
    zero = script.now - 60.0 * DOUBLING[11]
    early = cell_of(script, log_slots(12))
    assert early.slots_end_early
    assert early.schedule is not None and early.schedule.last_at == pytest.approx(script.now)
    assert early.advice[0].startswith("slots have ended, ")
    assert "before dissipation 95 % is expected" in early.advice[0]
    assert f"about {clock(zero + 60.0 * DOUBLING[12])}" in early.advice[0]
    assert not cell_of(script, log_slots(14)).slots_end_early


def test_slots_still_to_come_are_said_to_end_with_time_and_interval() -> None:
    script = drained(DOUBLING[:11])
    cell = cell_of(script, log_slots(12))
    zero = script.now - 60.0 * DOUBLING[10]
    assert cell.advice[0].startswith(f"slots end {clock(zero + 60.0 * DOUBLING[11])}, ")
    assert "(latest " in cell.advice[0]


def test_the_same_words_whenever_somebody_looks() -> None:
    script = drained(DOUBLING[:11])
    looks = [shown(script.rows, script.now + late, log_slots(12)) for late in (0.0, 3e3, 3e5)]
    assert len({look.advice for look in looks}) == 1


def test_rows_at_a_steady_pace_need_no_slots() -> None:
    script = drained(np.arange(10.0, 2000.0, 10.0))
    cell = cell_of(script, log_slots(9))
    assert not cell.slots_end_early
    assert [line.split(":")[0] for line in cell.advice] == ["root-time plot"]
    told = settings(
        schedule={"consolidation": {"kind": "log", "first": "1 min", "ratio": 2.0, "slots": 9}},
        log={"rows": "scheduled"},
    )
    assert cell_of(script, told).slots_end_early


ASTM = {"test": {"id": "T1", "kind": "CU", "standard": "ASTM D4767"}}


def test_the_plots_of_the_standard_are_told_until_they_are_complete() -> None:
    """Log time wants its tail to twice t99, root time a reading beyond t95."""
    part = drained(t(0.5) * 1.3 ** np.arange(-22.0, 6.0))
    log_time, root_time = cell_of(part, log_slots(30, **ASTM)).advice
    assert log_time.startswith("log-time plot: needs readings until")
    assert log_time.endswith(" for its tail")
    assert root_time.startswith("root-time plot: needs readings until")
    assert root_time.endswith(" to pass t90")
    whole = drained(t(0.5) * 1.3 ** np.arange(-22.0, 15.0))
    told = cell_of(whole, log_slots(30, **ASTM))
    assert told.advice == ("log-time plot: complete", "root-time plot: complete")
    assert cell_of(whole, log_slots(30)).advice == ("root-time plot: complete",)


def test_an_early_part_that_was_not_read_is_said_to_make_the_time_doubtful() -> None:
    late = drained(t(0.5) * 1.3 ** np.arange(2.0, 15.0))
    advice = cell_of(late, log_slots(30, **ASTM)).advice
    assert "log-time plot: only 0 of 3 readings in its early part, t50 will be doubtful" in advice
    assert "root-time plot: only 0 of 3 readings on its early line, t90 will be doubtful" in advice


def test_a_hole_in_the_middle_is_said_to_make_the_time_doubtful() -> None:
    steps = 1.3 ** np.arange(-22.0, 15.0)
    holed = drained(t(0.5) * steps[(steps < 0.7) | (steps > 3.0)])
    advice = cell_of(holed, log_slots(30, **ASTM)).advice
    assert "log-time plot: a hole in its middle, t50 will be doubtful" in advice


def test_without_a_forecast_only_slots_that_have_ended_are_spoken_of() -> None:
    script = drained(DOUBLING[:3], out_ml=0.0)
    cell = cell_of(script, log_slots(3))
    assert cell.projection.at is None  # no water has left in four minutes
    (words,) = cell.advice
    assert words.startswith("slots have ended, consolidation goes on: add readings at about ")
    assert cell_of(script, log_slots(9)).advice == ()


def test_an_end_by_the_clock_is_no_expectation() -> None:
    script = drained(DOUBLING[:9])
    cell = cell_of(script, log_slots(9, plan={"consolidation_end": "24 h"}))
    assert "before its end after 24 h" in cell.advice[0]
    assert "latest" not in cell.advice[0]


def stepping(slots: int) -> Cell:
    """In the third saturation step, at 19 min of it; a step takes 3.3 h."""
    script = Script()
    script.set_up()
    script.raise_back(10.0)
    for target, b in ((60.0, 0.62), (110.0, 0.7), (160.0, 0.75)):
        script.check(b)
        script.raise_back(target)
    script.rows = script.rows[:-16]
    schedule = {"saturation": {"kind": "root", "step": 0.5, "slots": slots, "per": "step"}}
    return shown(script.rows, script.rows[-1].time, settings(schedule=schedule))


def test_the_slots_of_a_saturation_step_are_held_against_the_cell_s_own_pace() -> None:
    short = stepping(12)
    assert short.phase is not None and short.phase.step == "hold"
    assert short.slots_end_early
    assert short.advice[0].startswith("slots of this step end ")
    assert "before the next check by this cell's pace: add " in short.advice[0]
    assert stepping(8).advice[0].startswith("slots of this step have ended, it goes on: add ")
    assert stepping(40).advice == ()


def test_strain_slots_are_held_against_the_strain_limit() -> None:
    script = Script()
    script.set_up()
    script.raise_back(10.0)
    script.check(0.97, 140.0, build_up=True)
    script.drain()
    script.shear(to_strain=0.05)

    def cell(slots: int) -> Cell:
        schedule = {"shear": {"kind": "strain", "step": "0.2 %", "slots": slots}}
        return cell_of(script, settings(schedule=schedule))

    assert cell(75).advice == ()
    (ahead,) = cell(50).advice
    assert ahead.startswith("slots end at 10 % strain, about ")
    assert ahead.endswith(", before the limit of 15 %: add 25 slots of 0.2 %")
    (behind,) = cell(20).advice
    assert behind.startswith("slots have ended at 4 % strain, before the limit of 15 %: add 5")
    assert cell(20).slots_end_early
