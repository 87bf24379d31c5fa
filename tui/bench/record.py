"""A cell's readings, phases and settings as the record that `reduce` starts from."""

from collections.abc import Iterable

import numpy as np

from reduce.record import Gauge, PressureStep, Record, Stage
from reduce.schedule import count
from tui.bench.aims import aims_of
from tui.bench.gauges import ends_of, within
from tui.bench.phases import Phases
from tui.bench.picture import BCheck, PhaseSpan
from tui.bench.readings import Readings
from tui.bench.rig import planned, rig_of, specimen_record
from tui.bench.schedules import schedule_of
from tui.bench.slots import row_pace
from tui.feed.rows import Column
from tui.settings.cell_toml import CellToml
from tui.settings.resolved import resolve_channels


def record_of(
    cell: str,
    settings: CellToml,
    readings: Readings,
    phases: Phases,
    checks: tuple[BCheck, ...],
    moved_zeros: tuple[str, ...] = (),
) -> Record:
    """Everything that the reduction of the cell's test starts from.

    A reading at the end of a gauge measures nothing: it is no reading here.

    Args:
        cell: its name.
        settings: of the cell.
        readings: all of the test.
        phases: folded from them.
        checks: found in them.
        moved_zeros: gauges whose zero has moved, each in words.
    """
    told, test = phases.told, settings.test
    zeros = told.zero_first_stage, told.zero_consolidation, told.zero_strain
    first, stage, strain = (None if zero is None else zero.time for zero in zeros)
    return Record(
        cell=cell,
        test_id=test.id,
        kind=test.kind,
        standard=test.standard,
        specimen=specimen_record(settings.specimen),
        times_s=readings.times,
        stamps_s=readings.stamps,
        channels=_channels(settings, readings),
        valve_open=_valve(readings),
        rig=rig_of(settings.cell),
        planned=planned(settings),
        stages=tuple(map(_stage, phases.spans)),
        checks=tuple(map(_step, checks)),
        zero_first_stage_s=first,
        zero_consolidation_s=stage,
        zero_strain_s=strain,
        gauges={
            name: Gauge(*_span((gauge.range_low, gauge.range_high) for gauge in gauges))
            for name, gauges in resolve_channels(settings.log).items()
        },
        pore_at_drained_end=_at_drained_end(settings),
        missed_readings=_missed(settings, readings, phases.spans, stage, strain),
        moved_zeros=moved_zeros,
    )


def _channels(settings: CellToml, readings: Readings) -> dict[str, Column]:
    usable = within(readings.as_columns(), readings.as_shown(), ends_of(settings.log))
    return {name: column for name, column in usable.items() if not bool(np.isnan(column).all())}


def _valve(readings: Readings) -> Column | None:
    words = readings.as_rows().words["drainage"]
    if not any(words):
        return None
    told = {"open": 1.0, "closed": 0.0}
    return np.array([told.get(word or "", np.nan) for word in words])


def _stage(span: PhaseSpan) -> Stage:
    return Stage(span.name, span.step, span.start, span.end, span.source)


def _step(check: BCheck) -> PressureStep:
    return PressureStep(
        at_s=check.at,
        back_pressure_kPa=check.back_pressure_kPa,
        delta_cell_kPa=check.delta_cell_kPa,
        delta_pore_kPa=check.delta_pore_kPa,
        B_last=check.B_last,
        settled=check.settled,
    )


def _span(ends: Iterable[tuple[float | None, float | None]]) -> tuple[float | None, float | None]:
    """The widest of several gauges."""
    known = [(low, high) for low, high in ends if low is not None and high is not None]
    if not known:
        return None, None
    return min(low for low, _ in known), max(high for _, high in known)


def _at_drained_end(settings: CellToml) -> bool:
    """Whether pore pressure is read where the specimen drains, or by a shared transducer."""
    if aims_of(settings).one_transducer:
        return True
    return "both ends" in (settings.specimen.drainage or "")


def _missed(
    settings: CellToml,
    readings: Readings,
    spans: tuple[PhaseSpan, ...],
    zero_consolidation: float | None,
    zero_strain: float | None,
) -> dict[str, int]:
    """Slots that passed without a reading, in the phases that a curve is drawn of."""
    found: dict[str, int] = {}
    pace = None if settings.log.rows == "scheduled" else row_pace(readings.times)
    for name, zero in (("consolidation", zero_consolidation), ("shear", zero_strain)):
        table = getattr(settings.schedule, name)
        end = next((span.end for span in reversed(spans) if span.name == name), None)
        begun = any(span.name == name for span in spans)
        if table is None or zero is None or not begun or table.kind == "strain":
            continue
        times = readings.times[readings.times >= zero]
        times = times[times < end] if end is not None else times
        if len(times):
            offsets = times - zero
            found[name] = count(
                schedule_of(table),
                offsets,
                float(offsets[-1]),
                "scheduled" if pace is None else "steady",
                pace,
            ).missed
    return found
