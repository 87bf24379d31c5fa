"""How the specimen stood in the cell, what read it, what was planned, and when what was done."""

from datetime import tzinfo

import numpy as np

from reduce.record import Record
from tui.papers.report.said import Fact, Facts, Part, Section, Table
from tui.papers.report.writing import Writer
from tui.papers.subject import Subject
from tui.settings.cell_toml import CellToml, Channel, Plan
from tui.words import NOTHING, date_and_time, sanitise, temperature


def set_up(subject: Subject, writer: Writer, zone: tzinfo) -> Section:
    """Mounting, membrane, drains, piston; gauges; plan; phases."""
    settings = subject.settings
    record = None if subject.test is None else subject.test.record
    parts: list[Part] = []
    if settings is not None:
        parts.append(Facts((*_mounting(settings, writer), *_plan(settings, writer))))
        parts.append(_gauges(settings))
    if record is not None:
        parts += [_phases(record, zone), *_warmth(record, writer)]
    return Section("Set-up and measurements", tuple(parts), about=subject.name)


def _mounting(settings: CellToml, writer: Writer) -> tuple[Fact, ...]:
    given, cell = settings.specimen, settings.cell
    facts = [Fact("mounting", given.mounting and _mounted(given.mounting, given.flush))]
    if settings.test.kind != "UU":
        facts.append(Fact("drainage in consolidation", given.drainage))
    if given.membrane is None:
        facts.append(Fact("membrane", None, "no correction is made for it"))
    else:
        rubber = given.membrane
        facts.append(
            Fact(
                "membrane",
                f"{rubber.count} of {writer.given(rubber.thickness_mm, 'mm')}, "
                f"modulus {writer.given(rubber.modulus_kPa, 'kPa')}",
            )
        )
    drains = given.side_drains
    carried = None
    if drains is not None:
        stated = "load_per_perimeter_kN_m" in drains.model_fields_set
        force = f"{drains.load_per_perimeter_kN_m:g} kN/m" if stated else "after the standard"
        carried = f"over {writer.given(drains.perimeter_mm, 'mm')} of the perimeter, {force}"
    facts.append(Fact("side drains", carried or "none"))
    piston = cell.piston
    if piston is None:
        facts.append(Fact("piston and load cell", None, "no uplift is taken off"))
    else:
        told = f"piston {writer.given(piston.diameter_mm, 'mm')}, load cell {piston.load_cell}"
        if piston.uplift is not None:
            told += f", uplift {piston.uplift}"
            if piston.uplift == "zeroed at pressure":
                told += f" ({writer.given(piston.zeroed_at_kPa, 'kPa')})"
        if piston.friction_N:
            told += f", friction {writer.given(piston.friction_N, 'N')}"
        facts.append(Fact("piston and load cell", told))
    gives = cell.frame_compliance_mm_N
    facts += [
        Fact("frame gives", f"{1000.0 * gives:.4g} mm/kN" if gives else "not stated: taken as 0"),
        Fact(
            "rating of the cell",
            None if cell.rating_kPa is None else writer.given(cell.rating_kPa, "kPa"),
            "as its maker states it",
        ),
    ]
    return tuple(facts)


def _mounted(how: str, flush: str | None) -> str:
    return how if flush is None else f"{how}, flushed with {sanitise(flush)}"


def _gauges(settings: CellToml) -> Table:
    rows = [
        (
            sanitise(name).replace("_", " "),
            _columns(gauge),
            sanitise(gauge.unit or NOTHING),
            sanitise(gauge.zero or NOTHING),
            sanitise(gauge.range or gauge.stroke or NOTHING),
            _place(gauge),
        )
        for name, gauges in settings.log.channels.items()
        for gauge in gauges
    ]
    if not rows:
        rows = [("all channels", "columns named as the channels, with their unit", *4 * (NOTHING,))]
    return Table(
        "Gauges, as the settings have them",
        ("channel", "column of the log", "unit", "reads at nothing", "range or stroke", "where"),
        tuple(rows),
        "Serial numbers and calibrations are not kept in the settings: see the laboratory's "
        "register.",
        words=(0, 1, 2, 3, 4, 5),
    )


def _columns(gauge: Channel) -> str:
    if gauge.same_as is not None:
        return f"shares that of {sanitise(gauge.same_as).replace('_', ' ')}"
    names = (gauge.column,) if gauge.column is not None else gauge.columns
    return " + ".join(map(sanitise, names)) or NOTHING


def _place(gauge: Channel) -> str:
    where = gauge.measured_at or NOTHING
    return f"{where}, {gauge.datum_mm:g} mm above mid-height" if gauge.datum_mm else where


def _plan(settings: CellToml, writer: Writer) -> tuple[Fact, ...]:
    plan: Plan = settings.plan
    facts: list[Fact] = []
    if settings.test.kind != "UU":
        pressures = {
            "effective stress to consolidate at": plan.effective_stress_kPa,
            "step of cell pressure": plan.cell_step_kPa,
            "cell above back pressure while saturating": plan.excess_kPa,
            "highest back pressure": plan.back_pressure_limit_kPa,
        }
        facts += [
            Fact(f"planned: {label}", writer.given(value, "kPa"))
            for label, value in pressures.items()
        ]
        facts += [
            Fact("planned: target of B", f"{plan.b_target:g}"),
            Fact("planned: end of consolidation", plan.consolidation_end or "by the standard"),
        ]
    rate = plan.strain_rate_percent_min
    facts += [
        Fact("planned: rate of strain", NOTHING if rate is None else f"{rate:g} %/min"),
        Fact("planned: limit of strain", f"{100.0 * plan.strain_limit:g} %"),
    ]
    return tuple(facts)


def _phases(record: Record, zone: tzinfo) -> Table:
    last = float(record.times_s[-1]) if len(record.times_s) else 0.0
    rows = []
    for stage in record.stages:
        end = last if stage.end_s is None else stage.end_s
        rows.append(
            (
                stage.name if stage.step is None else f"{stage.name}: {sanitise(stage.step)}",
                date_and_time(stage.start_s, zone),
                date_and_time(end, zone) if stage.end_s is not None else "goes on",
                f"{(end - stage.start_s) / 3600.0:.2f}",
                stage.source,
            )
        )
    return Table(
        "Phases",
        ("phase: step", "from", "to", "hours", "told by"),
        tuple(rows),
        words=(0, 1, 2, 4),
    )


def _warmth(record: Record, writer: Writer) -> tuple[Part, ...]:
    warm = record.column("temperature")
    warm = warm[np.isfinite(warm)]
    if not len(warm):
        return (Facts((Fact("temperature in the room", None),)),)
    ends = " to ".join(temperature(float(one), writer.manner) for one in (warm.min(), warm.max()))
    mean = temperature(float(warm.mean()), writer.manner)
    return (Facts((Fact("temperature", f"{ends}, mean {mean}"),)),)
