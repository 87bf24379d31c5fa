"""B checks: which rises of cell pressure are checks, when they end, what they tell."""

import pytest
from made_bench import shown
from scripted import Script, whole_test

SCRIPT = whole_test()


def checked(script: Script) -> list[tuple[float, bool]]:
    cell = shown(script.rows, script.now)
    return [(round(check.B, 2), check.finished) for check in cell.checks]


def test_checks_are_the_ones_that_were_made() -> None:
    cell = shown(SCRIPT.rows, SCRIPT.now)
    assert [round(check.B, 2) for check in cell.checks] == SCRIPT.b_values
    assert all(check.settled and check.finished for check in cell.checks)
    assert [round(check.back_pressure_kPa or 0.0) for check in cell.checks] == [10, 60, 110, 160]
    assert cell.quantities.B == cell.checks[-1].B


def test_a_check_that_has_not_settled_is_not_taken_for_the_end_of_saturation() -> None:
    script = Script()
    script.set_up()
    script.raise_back(10.0)
    script.check(0.62)
    script.raise_back(60.0)
    script.check(0.97)
    early = next(i for i, row in enumerate(script.rows) if row.time == script.begins[-1][2])
    running = shown(script.rows[: early + 6], script.now)
    assert running.checks[-1].settled is False
    assert running.projection.progress is None or running.projection.progress < 1.0
    settled = shown(script.rows, script.now)
    assert settled.checks[-1].settled
    assert settled.projection.progress == 1.0


def test_a_check_let_back_to_its_old_cell_pressure_is_kept() -> None:
    script = Script()
    script.set_up()
    script.raise_back(10.0)
    script.check(0.62)
    script.row(60)
    script.cell -= 50.0
    script.pore -= 31.0
    for due in (15.0, 45.0, 75.0, 105.0):
        script.row(due)
    assert checked(script) == [(0.62, True)]
    script.raise_back(60.0)
    assert checked(script) == [(0.62, True)]


def test_opening_drainage_ends_a_check() -> None:
    script = Script()
    script.set_up()
    script.raise_back(10.0)
    script.rows = [row._replace(drainage="open") for row in script.rows]
    begun = len(script.rows)
    script.check(0.62)
    script.rows[begun:] = [row._replace(drainage="closed") for row in script.rows[begun:]]
    opened = len(script.rows)
    for _ in range(6):
        script.pore = 12.0
        script.volume -= 0.2
        script.row(120)
    script.rows[opened:] = [row._replace(drainage="open") for row in script.rows[opened:]]
    cell = shown(script.rows, script.now)
    assert checked(script) == [(0.62, True)]
    assert cell.checks[0].B_last == pytest.approx(0.62, abs=0.01)
    assert cell.phase is not None
    assert cell.phase.step == "hold"


def test_cell_pressure_raised_with_drainage_open_is_no_check() -> None:
    script = Script()
    script.set_up()
    script.raise_back(10.0)
    script.cell += 10.0
    for _ in range(8):
        script.row(120)
    script.rows = [row._replace(drainage="open") for row in script.rows]
    assert checked(script) == []
