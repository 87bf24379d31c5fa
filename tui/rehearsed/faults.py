"""Every fault that can be rehearsed: one table, alarm kind → what is done to cell or log."""

from reduce.rehearsal import disturbances as wrong
from reduce.rehearsal.rates import advised_rate_percent_min
from reduce.rehearsal.records import TestRun
from tui.rehearsed import fault_logs as logs
from tui.rehearsed.fault_kinds import FaultKind, FaultOrder, Situation, Size
from tui.rehearsed.orders import WrongOrderError

_DRAINED = "consolidation/drained"
_SHEAR = "shear/shear"
_RAISE = "saturation/raise"
_HOLD = "saturation/hold"
_CHECK = "saturation/b-check"
_ANY = (_SHEAR, _DRAINED, _RAISE, _HOLD, "setup/hold", "setup/mount")

_BURST_OF_ROWS = (15.0, 30.0, 60.0, 120.0, 300.0)

NOT_REHEARSED: dict[str, str] = {
    "disk-low": "it is about the disk, not about a log",
    "watch-sparse": "it is about the schedule and no fault: give a long step in [schedule]",
    "strain-limit": "it is no fault: every shear that runs to its end has it",
    "phase-complete": "it is no fault: every phase that runs to its end has it",
}
"""Alarm kinds that no log can show as a fault, and why."""


def _fixed(**size: float) -> Size:
    return size


def _beyond_95(run: TestRun) -> float:
    return 3.2 * run.dissipation.time_of(0.95)


def _to_rating(here: Situation) -> Size:
    rise = 0.985 * here.setup.plan.rating_kPa - here.at_onset("cell_kPa")
    return {"rise_kPa": rise, "within_min": 60.0}


def _to_nothing(here: Situation) -> Size:
    left = here.at_onset("cell_kPa") - here.at_onset("back_kPa")
    return {"rise_kPa": left + 2.0, "within_min": 5.0}


def _beyond_plan(here: Situation) -> Size:
    now = here.at_onset("cell_kPa") - here.at_onset("back_kPa")
    return {"rise_kPa": here.setup.plan.effective_kPa + 25.0 - now, "within_min": 10.0}


def _twice_the_advice(here: Situation) -> Size:
    advice = advised_rate_percent_min(here.setup.plan, here.run.dissipation)
    return {"rate_percent_per_min": 2.0 * advice, "advised_percent_per_min": advice}


FAULTS: dict[str, FaultKind] = {
    kind.name: kind
    for kind in (
        FaultKind(
            "over-pressure", "cell pressure creeps up to beyond 98 % of the rating",
            (_SHEAR, _DRAINED, _HOLD, _RAISE), 1.3, _to_rating, "cell_pressure",
            process=lambda _here, s: wrong.cell_pressure_moves(
                s["rise_kPa"], 60.0 * s["within_min"]
            ),
        ),
        FaultKind(
            "effective-stress-low", "back pressure creeps up to cell pressure",
            (_RAISE, _HOLD, _DRAINED), 1.0, _to_nothing, "back_pressure",
            process=lambda _here, s: wrong.back_pressure_moves(
                s["rise_kPa"], 60.0 * s["within_min"]
            ),
            extra_s=(150.0, 310.0, 380.0, 450.0),
        ),
        FaultKind(
            "effective-stress-high", "cell pressure rises beyond the stress to consolidate at",
            (_RAISE, _HOLD), 2.5, _beyond_plan, "cell_pressure",
            process=lambda _here, s: wrong.cell_pressure_moves(
                s["rise_kPa"], 60.0 * s["within_min"]
            ),
            extra_s=(300.0, 620.0, 900.0),
        ),
        FaultKind(
            "membrane-burst", "the membrane bursts: pore pressure is cell pressure",
            (_SHEAR,), 0.4, lambda _here: {}, "pore_pressure",
            process=lambda _here, _s: wrong.membrane_bursts(), extra_s=_BURST_OF_ROWS,
        ),
        FaultKind(
            "saturation-stalled", "the drainage is blocked: no water comes in",
            (_HOLD,), 1.6, lambda _here: {"flow": 0.0},
            process=lambda _here, _s: wrong.drainage_is_blocked(), settle_s=lambda _run: 0.0,
        ),
        FaultKind(
            "pressure-drift", "cell pressure falls slowly",
            (_SHEAR, _DRAINED, _HOLD), 0.7, lambda _here: _fixed(rise_kPa=-8.0, within_min=20.0),
            "cell_pressure",
            process=lambda _here, s: wrong.cell_pressure_moves(
                s["rise_kPa"], 60.0 * s["within_min"]
            ),
        ),
        FaultKind(
            "pressure-unsteady", "the regulator of cell pressure hunts",
            (_SHEAR, _HOLD, _DRAINED), 0.7,
            lambda _here: _fixed(amplitude_kPa=4.0, period_s=97.0), "cell_pressure",
            process=lambda _here, s: wrong.regulator_hunts(s["amplitude_kPa"], s["period_s"]),
        ),
        FaultKind(
            "supply-lost", "cell and back pressure of every cell of the supply fall",
            _ANY, 0.3, lambda _here: _fixed(fall_kPa=15.0, within_s=50.0), "main",
            process=lambda _here, s: wrong.supply_fails(s["fall_kPa"], s["within_s"]),
            extra_s=_BURST_OF_ROWS, whole_supply=True,
        ),
        FaultKind(
            "leak-membrane", "cell water seeps through the membrane",
            (_DRAINED,), 5.0, lambda _here: _fixed(flow_ml_per_h=0.4), "back_volume",
            process=lambda _here, s: wrong.membrane_leaks(s["flow_ml_per_h"]),
            prepare=logs.with_cell_volume, settle_s=_beyond_95,
        ),
        FaultKind(
            "leak-cell", "cell water seeps out of a fitting",
            (_DRAINED,), 5.0, lambda _here: _fixed(flow_ml_per_h=0.4), "cell_volume",
            process=lambda _here, s: wrong.cell_leaks(s["flow_ml_per_h"]),
            prepare=logs.with_cell_volume, settle_s=_beyond_95,
        ),
        FaultKind(
            "leak-drainage", "water seeps out of the back-pressure line",
            (_DRAINED,), 5.0, lambda _here: _fixed(flow_ml_per_h=0.4), "back_volume",
            process=lambda _here, s: wrong.line_leaks(s["flow_ml_per_h"]),
            prepare=logs.with_cell_volume, settle_s=_beyond_95,
        ),
        FaultKind(
            "drainage-state", "the valve was forgotten: open in a check or in undrained shear, "
            "closed in consolidation",
            (_CHECK, _DRAINED, _SHEAR), 0.2, lambda _here: {}, "drainage",
            process=lambda here, _s: wrong.valve_is_the_other_way(*here.place),
            settle_s=lambda _run: 0.0,
        ),
        FaultKind(
            "volume-gauge-end", "the volume gauge comes to the end of its stroke",
            (_DRAINED, _SHEAR, _RAISE, _HOLD), 0.3, lambda _here: _fixed(left_of_stroke=0.04),
            "back_volume", prepare=logs.with_ranges, spoil=logs.gauge_near_its_end,
            settle_s=lambda _run: 300.0,
        ),
        FaultKind(
            "log-silent", "the logger writes nothing any more",
            _ANY, 1.2, lambda _here: {}, spoil=logs.log_falls_silent,
        ),
        FaultKind(
            "reading-missed", "readings are not taken",
            (_SHEAR, _DRAINED, _HOLD, _RAISE), 0.5, lambda _here: _fixed(rows=2.0),
            spoil=logs.readings_missed,
        ),
        FaultKind(
            "schedule-ends-early", "the schedule has too few slots for the phase",
            (_SHEAR, _DRAINED), 1.3, logs.slots_too_few,
            prepare=logs.schedule_cut_short, settle_s=lambda _run: 0.0,
        ),
        FaultKind(
            "sensor-fault", "the pore pressure channel says OVER",
            (_SHEAR, _DRAINED, _HOLD, _RAISE), 0.5, lambda _here: {}, "pore_pressure",
            spoil=logs.sensor_over_range,
        ),
        FaultKind(
            "zero-offset", "pore pressure reads too much when vented",
            ("setup/vented",), 0.2, lambda _here: _fixed(offset_kPa=4.5), "pore_pressure",
            prepare=logs.with_phase_column, spoil=logs.zero_is_off, settle_s=lambda _run: 0.0,
        ),
        FaultKind(
            "consolidation-overdue", "the porous stone clogs",
            (_DRAINED,), 6.0, lambda _here: _fixed(slower_by=12.0),
            process=lambda _here, s: wrong.stone_clogs(s["slower_by"]),
            settle_s=lambda run: run.dissipation.time_of(0.58),
        ),
        FaultKind(
            "rate-too-fast", "the gear of the ram is twice as fast as the standard advises",
            (_SHEAR,), 0.5, _twice_the_advice,
            rate_factor=lambda here, s: s["rate_percent_per_min"] / here.run.rate_percent_min,
            settle_s=lambda _run: 0.0,
        ),
        FaultKind(
            "shear-stopped", "the motor stands",
            (_SHEAR,), 0.7, lambda _here: {}, "axial_displacement",
            process=lambda _here, _s: wrong.ram_stops(),
            extra_s=tuple(120.0 * k for k in range(1, 22)),
        ),
        FaultKind(
            "load-not-taken", "shear was begun before the ram touched",
            (_SHEAR,), 0.8, lambda _here: _fixed(gap_mm=3.0), "axial_load",
            gap_left=lambda s: s["gap_mm"], settle_s=lambda _run: 0.0,
        ),
        FaultKind(
            "travel-limit", "the displacement gauge comes to the end of its range",
            (_SHEAR,), 0.4, lambda _here: _fixed(of_range=0.91), "axial_displacement",
            prepare=logs.with_ranges, spoil=logs.gauge_near_its_travel,
        ),
        FaultKind(
            "temperature-swing", "the heating of the room runs away",
            (_SHEAR, _DRAINED, _HOLD, _RAISE), 1.0,
            lambda _here: _fixed(rise_C=4.6, within_min=45.0), "temperature",
            spoil=logs.room_warms_up,
        ),
        FaultKind(
            "clock-jump", "the logger's clock goes back",
            _ANY, 0.5, lambda _here: _fixed(jump_s=-1500.0), spoil=logs.clock_jumps,
        ),
    )
}  # fmt: skip


def read_fault(text: str) -> FaultOrder:
    """A fault from the command line: KIND, KIND:CELL or KIND:CELL@HOURS.

    Raises:
        WrongOrderError: an unknown kind, one that no log can show, or hours that are no number.
    """
    kind, _, rest = text.partition(":")
    cell, at, hours = rest.partition("@")
    if not rest and "@" in kind:
        kind, at, hours = kind.partition("@")
    if kind in NOT_REHEARSED:
        raise WrongOrderError(f"--fault {kind} cannot be rehearsed: {NOT_REHEARSED[kind]}")
    if kind not in FAULTS:
        raise WrongOrderError(f"--fault {kind!r} is unknown; known are {', '.join(sorted(FAULTS))}")
    if not at:
        return FaultOrder(FAULTS[kind], cell or None)
    try:
        number = float(hours)
    except ValueError:
        number = -1.0
    if not 0.0 <= number < 1e6:
        raise WrongOrderError(
            f"--fault {text!r}: {hours!r} is no number of hours after the bench's start"
        )
    return FaultOrder(FAULTS[kind], cell or None, number)
