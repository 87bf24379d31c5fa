"""A rehearsed test as a record, with the phases that the model knows: no file, no inference."""

import numpy as np

from reduce.record import (
    Gauge,
    Membrane,
    Piston,
    Planned,
    PressureStep,
    Record,
    Rig,
    SideDrains,
    SpecimenRecord,
    Stage,
)
from reduce.rehearsal.readings import ReadingPlan, scheduled_times
from reduce.rehearsal.records import CheckRecord, TestRun
from reduce.rehearsal.sensors import CHANNELS, Instruments, sense
from reduce.saturation import settled_index

_TRACES = {
    "cell_pressure": "cell_kPa", "back_pressure": "back_kPa", "pore_pressure": "pore_kPa",
    "back_volume": "back_ml", "cell_volume": "cell_ml", "axial_displacement": "travel_mm",
    "axial_load": "load_N",
}  # fmt: skip


def record_of_run(
    run: TestRun, made: Instruments | None, reading: ReadingPlan | None = None
) -> Record:
    """The record of a run.

    Args:
        run: what happened.
        made: the instruments; None reads without any error.
        reading: the schedules.
    """
    times = scheduled_times(run, reading or ReadingPlan())
    if made is None:
        channels = {name: run.trace.at(trace, times) for name, trace in _TRACES.items()}
    else:
        sensed = sense(run, times, made, 8.0).values
        channels = {name: sensed[name] for name in CHANNELS if name != "temperature"}
    plan = run.plan
    starts = [(step.phase, step.step, step.act_s) for step in run.steps]
    ends = [start for _, _, start in starts[1:]] + [None]
    return Record(
        cell=plan.cell,
        test_id=None,
        kind=plan.kind,
        standard=plan.standard,
        specimen=SpecimenRecord(
            diameters_mm=(plan.diameter_mm,),
            heights_mm=(plan.height_mm,),
            mass_g=plan.dry_mass_g * (1.0 + plan.water_content),
            dry_mass_g=plan.dry_mass_g,
            particle_density_Mg_m3=plan.soil.particle_density_Mg_m3,
            drainage=plan.drainage,
            membrane=Membrane(plan.membrane_mm * plan.membranes, plan.membrane_kPa),
            side_drains=SideDrains(plan.drain_perimeter_mm, 0.19)
            if plan.drain_perimeter_mm
            else None,
        ),
        times_s=times,
        channels=channels,
        valve_open=np.array(run.trace.valve(times), dtype=np.float64),
        rig=Rig(Piston(plan.piston_mm, "internal")),
        planned=Planned(plan.effective_kPa, strain_limit=plan.strain_limit),
        stages=tuple(
            Stage(phase, step or None, _first_after(times, start), _end(times, end))
            for (phase, step, start), end in zip(starts, ends, strict=True)
        ),
        checks=tuple(_step(times, channels, check) for check in run.checks),
        zero_first_stage_s=run.opened_s,
        zero_consolidation_s=run.opened_s,
        zero_strain_s=run.contact_s,
        gauges={"cell_pressure": Gauge(0.0, 1700.0)},
        pore_at_drained_end="both ends" in plan.drainage,
    )


def _first_after(times: np.ndarray, act: float) -> float:
    """The reading at an act belongs to what was before."""
    later = times[times > act]
    return float(later[0]) if len(later) and act > 0.0 else act


def _end(times: np.ndarray, act: float | None) -> float | None:
    return None if act is None else _first_after(times, act)


def _step(times: np.ndarray, channels: dict[str, np.ndarray], check: CheckRecord) -> PressureStep:
    before = int(np.searchsorted(times, check.began_s))
    inside = np.flatnonzero((times > check.began_s) & (times <= check.ended_s))
    pore, cell = channels["pore_pressure"], channels["cell_pressure"]
    found = settled_index(times[inside], pore[inside], check.stood_s)
    at, last = int(inside[-1] if found is None else inside[found]), int(inside[-1])
    return PressureStep(
        at_s=float(times[at]),
        back_pressure_kPa=float(channels["back_pressure"][before]),
        delta_cell_kPa=float(cell[at] - cell[before]),
        delta_pore_kPa=float(pore[at] - pore[before]),
        B_last=float((pore[last] - pore[before]) / (cell[last] - cell[before])),
        settled=found is not None,
    )
