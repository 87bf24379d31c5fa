"""Consolidation is judged only while its stress stands, and over all of its stages."""

import pytest
from made_bench import shown
from scripted import START, Script, settings

from reduce.forecast import ConsolidationForecast
from tui.bench.curves import Curves, _Stretch
from tui.bench.projections import fit_consolidation
from tui.bench.readings import Reading
from tui.bench.surroundings import Sibling


def draining() -> Script:
    """Drainage was opened; the early part of the curve has been read."""
    script = Script()
    script.set_up()
    script.raise_back(10.0)
    script.check(0.97, 140.0)
    script.drain()
    script.rows = script.rows[:-46]
    last = script.rows[-1]
    script.now, script.pore, script.volume = last.time, last.pore_pressure, last.back_volume
    return script


def test_pressure_lost_while_draining_is_no_dissipation() -> None:
    script = draining()
    before = shown(script.rows, script.now)
    assert before.projection.at is not None
    script.cell, script.back, script.pore = 20.0, 2.0, 12.0
    for _ in range(8):
        script.row(120)
    after = shown(script.rows, script.now)
    assert after.phase is not None
    assert after.phase.step == "drained"
    assert after.projection.at is None
    assert "left the stress" in after.projection.basis
    assert after.quantities.U == before.quantities.U


def test_a_transducer_shared_with_back_pressure_tells_no_dissipation() -> None:
    script = draining()
    script.pore = script.back  # the valve is open: it reads the regulator
    for row in range(4):
        script.volume -= 0.05
        script.row(60.0 + row)
    shared = settings(
        log={
            "channels": {
                "pore_pressure": {"column": "u", "unit": "kPa"},
                "back_pressure": {"same_as": "pore_pressure"},
            }
        }
    )
    cell = shown(script.rows, script.now, shared)
    assert cell.projection.progress is None or cell.projection.progress < 0.9
    assert "left the stress" not in cell.projection.basis


def test_strain_counts_all_stages_of_consolidation() -> None:
    script = Script()
    script.set_up()
    script.raise_back(10.0)
    script.check(0.97, 100.0)
    script.drain(full_ml=5.0)
    start = script.rows[-60].back_volume
    script.check(0.97, 50.0)
    script.drain(full_ml=3.0)
    cell = shown(script.rows, script.now)
    assert cell.phase is not None
    assert (cell.phase.name, cell.phase.step) == ("consolidation", "drained")
    assert cell.quantities.volumetric_strain == pytest.approx(8.0 / 196.35, rel=0.03)
    assert start > script.volume


def test_loading_with_drainage_open_is_drained_at_once() -> None:
    script = Script()
    script.set_up()
    script.raise_back(10.0)
    for step in range(8):
        script.cell += 140.0 / 4.0 if step < 4 else 0.0
        script.volume -= 0.4
        script.row(120)
    script.rows = [row._replace(drainage="open") for row in script.rows]
    cell = shown(script.rows, script.now)
    assert cell.phase is not None
    assert (cell.phase.name, cell.phase.step) == ("consolidation", "drained")
    assert cell.quantities.volumetric_strain == pytest.approx(3.2 / 196.35, rel=0.01)
    assert "left the stress" not in cell.projection.basis


def fitted(readings: int, siblings: tuple[Sibling, ...] = ()) -> ConsolidationForecast:
    """What is foreseen when so many readings have come since drainage opened."""
    cell = settings()
    curves = Curves(cell)
    curves._drained = _Stretch(Reading(START, back_volume=0.0), None)
    curves.volume.add(0.0, 0.0)
    for k in range(1, readings + 1):
        curves.volume.add(0.5 * k, 0.4 * k)
    found = fit_consolidation(cell, curves, START + 15.0 * readings**2, siblings)
    assert found is not None
    return found


def test_before_its_own_readings_a_specimen_goes_by_its_set() -> None:
    set_ = (Sibling("C2", 1.4, None), Sibling("C3", 2.1, 0.05), Sibling("C4", None, 0.05))
    for readings in (0, 1):
        alone, among = fitted(readings), fitted(readings, set_)
        assert "cv of soils at large" in alone.basis
        assert "cv of 2 specimens of the set, 1.4 … 2.1 m²/year" in among.basis
        wide, narrow = ((one.latest - START) / (one.earliest - START) for one in (alone, among))
        assert narrow < 0.6 * wide
    own = fitted(12, set_)
    assert "fitted to 12 readings" in own.basis
