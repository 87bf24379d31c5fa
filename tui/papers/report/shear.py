"""Shear: its rate, failure by each criterion, what was corrected and by how much, the readings."""

from collections.abc import Mapping
from datetime import tzinfo
from typing import Any

import numpy as np

from reduce.reduction.shearing import Sheared
from reduce.strength.specimens import Criterion
from tui.bench.failed_specimens import STATE_OF
from tui.papers.report.said import (
    Fact,
    Facts,
    Part,
    Section,
    Table,
    Value,
)
from tui.papers.report.shear_charts import shear_charts
from tui.papers.report.thinning import spread_rows
from tui.papers.report.writing import Writer
from tui.papers.subject import Subject
from tui.words import NOTHING, date_and_time, sanitise
from tui.words.reduced import CRITERION_WORDS

MOST_ROWS = 44
"""Of the table of readings: a page."""
STATE = {
    "axial_strain": ("axial strain", "%"),
    "load_N": ("load on the specimen", "N"),
    "area_mm2": ("corrected area", "mm²"),
    "deviator_kPa": ("deviator q, corrected", "kPa"),
    "pore_kPa": ("pore pressure u", "kPa"),
    "excess_pore_kPa": ("excess pore pressure Δu", "kPa"),
    "volumetric_strain": ("volumetric strain", "%"),
    "sigma1_kPa": ("σ1", "kPa"),
    "sigma3_kPa": ("σ3", "kPa"),
    "sigma1_effective_kPa": ("σ′1", "kPa"),
    "sigma3_effective_kPa": ("σ′3", "kPa"),
    "ratio": ("σ′1/σ′3", ""),
    "A": ("A = Δu/q", ""),
    "mean_effective_kPa": ("p′", "kPa"),
    "centre_effective_kPa": ("s′", "kPa"),
    "shear_stress_kPa": ("t′", "kPa"),
    "membrane_kPa": ("membrane carried", "kPa"),
    "side_drains_kPa": ("side drains carried", "kPa"),
    "uplift_N": ("uplift of the piston taken off", "N"),
}
MAY_BE_IDLE = ("volumetric_strain", "uplift_N", "membrane_kPa", "side_drains_kPa")
"""Rows that are left out where all of them are 0."""
UNDRAINED_ONLY = ("excess_pore_kPa", "A")
"""Are no results of a drained test: whatever excess pore pressure it shows is a caution."""
COLUMNS = {
    "axial_strain": ("ε1", "%"),
    "area_mm2": ("area", "mm²"),
    "deviator_kPa": ("q", "kPa"),
    "pore_kPa": ("u", "kPa"),
    "excess_pore_kPa": ("Δu", "kPa"),
    "volumetric_strain": ("εv", "%"),
    "sigma1_kPa": ("σ1", "kPa"),
    "sigma1_effective_kPa": ("σ′1", "kPa"),
    "sigma3_effective_kPa": ("σ′3", "kPa"),
    "ratio": ("σ′1/σ′3", ""),
    "A": ("A", ""),
    "mean_kPa": ("p", "kPa"),
    "mean_effective_kPa": ("p′", "kPa"),
    "centre_effective_kPa": ("s′", "kPa"),
    "shear_stress_kPa": ("t′", "kPa"),
}
"""Of the table of readings; a column in which nothing is known is left out."""


def shear(subject: Subject, writer: Writer, criterion: Criterion, zone: tzinfo) -> Section | None:
    """The section; None where the specimen has not been sheared."""
    found: Mapping[str, Any] | None = writer.raw("shear")
    if found is None or subject.found is None or subject.found.stages.sheared is None:
        return None
    sheared = subject.found.stages.sheared
    order = (criterion, *(one for one in CRITERION_WORDS if one != criterion))
    parts: list[Part] = [
        Facts(_facts(subject, writer, found, zone)),
        *_failure(subject, writer, found, order),
        _corrections(subject, writer, found, criterion),
        *shear_charts(subject, writer, sheared.table, found, criterion),
        _readings(subject, writer, sheared, found),
    ]
    return Section("Shear", tuple(parts), about=subject.name)


def _facts(
    subject: Subject, writer: Writer, found: Mapping[str, Any], zone: tzinfo
) -> tuple[Fact, ...]:
    assert subject.found is not None
    record = subject.found.record
    facts = []
    if found["running"]:
        facts.append(Fact("shear", "goes on: what is greatest is so only so far"))
    if record.zero_strain_s is not None:
        facts.append(Fact("strain counted from", date_and_time(record.zero_strain_s, zone)))
    facts += writer.facts(
        "shear",
        {
            "cell_pressure_kPa": ("cell pressure at zero strain", "kPa"),
            "pore_pressure_kPa": ("pore pressure at zero strain", "kPa"),
            "effective_stress_kPa": ("effective stress at zero strain", "kPa"),
        },
    )
    facts.append(writer.fact("rate of strain", "shear.rate_percent_per_min", "%/min"))
    facts.append(writer.fact("the same as travel", "shear.rate_mm_per_min", "mm/min"))
    by = found["advised_by"]
    facts.append(
        writer.fact(
            "rate that is advised",
            "shear.advised_rate_percent_per_min",
            "%/min",
            "" if by is None else sanitise(by),
        )
    )
    facts += writer.facts(
        "shear",
        {
            "greatest_strain": ("greatest strain", "%"),
            "minutes_to_peak": ("time to the greatest deviator", "min"),
            "required_minutes_to_failure": ("time that failure should take at least", "min"),
            "undrained_strength_kPa": ("undrained strength, q/2", "kPa"),
            "E50_MPa": ("E50, secant to half of the greatest deviator", "MPa"),
            "E_tangent_MPa": ("E there, tangent", "MPa"),
        },
    )
    return tuple(facts)


def _failure(
    subject: Subject, writer: Writer, found: Mapping[str, Any], order: tuple[str, ...]
) -> tuple[Part, ...]:
    criteria = [one for one in order if found[STATE_OF[one]] is not None]
    missing = [
        f"{CRITERION_WORDS[one]}: {_why_not(found, one)}" for one in order if one not in criteria
    ]
    said = f"Not reached, or not told: {'; '.join(missing)}." if missing else ""
    if not criteria:
        return (Facts((Fact("failure", said),)),)
    states = [STATE_OF[one] for one in criteria]
    rows: list[tuple[Any, ...]] = []
    for name, (label, unit) in _told(STATE, subject).items():
        values = [writer.value(f"shear.{state}.{name}", unit, bare=True) for state in states]
        told = [value for value in values if value != NOTHING]
        idle = name in MAY_BE_IDLE and not any(
            isinstance(value, Value) and value.number for value in told
        )
        if told and not idle:
            rows.append((writer.head(label, unit), *values))
    rows.append(
        (
            writer.head("time to it", "min"),
            *(_minutes(subject, writer, found[one]) for one in states),
        )
    )
    heads = [CRITERION_WORDS[one] for one in criteria]
    if criteria[0] == order[0]:
        heads[0] += " (chosen)"
    title = "Greatest so far, by criterion" if found["running"] else "At failure, by criterion"
    return (Table(title, ("", *heads), tuple(rows), said),)


def _told(
    columns: Mapping[str, tuple[str, str]], subject: Subject
) -> Mapping[str, tuple[str, str]]:
    """Those that are results of this kind of test."""
    assert subject.found is not None
    drained = subject.found.record.kind == "CD"
    return {
        name: head for name, head in columns.items() if not (drained and name in UNDRAINED_ONLY)
    }


def _why_not(found: Mapping[str, Any], criterion: str) -> str:
    begin = f"no {STATE_OF[criterion]}: "
    parts = (found["why"] or "").split("; ")
    told = (one.removeprefix(begin) for one in parts if one.startswith(begin))
    return sanitise(next(told, "not part of this kind of test"))


def _minutes(subject: Subject, writer: Writer, state: Mapping[str, Any]) -> str:
    assert subject.found is not None
    sheared = subject.found.stages.sheared
    assert sheared is not None
    times = subject.found.record.times_s[sheared.rows]
    if state["row"] is not None:
        at = float(times[int(state["row"])])
    else:  # between the two readings around the limit
        strain = np.maximum.accumulate(np.nan_to_num(sheared.table.axial_strain, nan=-1.0))
        at = float(np.interp(state["axial_strain"], strain, times))
    return writer.plain((at - float(times[0])) / 60.0, "min", bare=True)


def _corrections(
    subject: Subject, writer: Writer, found: Mapping[str, Any], criterion: Criterion
) -> Table:
    """Which corrections were made, and how much each came to at failure."""
    assert subject.found is not None
    record = subject.found.record
    sheared = subject.found.stages.sheared
    assert sheared is not None
    chosen = STATE_OF[criterion]
    state = found[chosen] or found["peak_deviator"]
    key = f"shear.{chosen if found[chosen] else 'peak_deviator'}"
    q = None if state is None else state["deviator_kPa"]
    given, piston = record.specimen, record.rig.piston

    def size(name: str, unit: str) -> Any:
        return NOTHING if state is None else writer.value(f"{key}.{name}", unit)

    def share(name: str) -> str:
        amount = None if state is None else state[name]
        return f"{100.0 * amount / q:.1f} % of q" if amount is not None and q else NOTHING

    area = NOTHING
    if state is not None and state["area_mm2"] is not None:
        grown = 100.0 * (state["area_mm2"] / sheared.setting.area_mm2 - 1.0)
        area = f"{grown:+.1f} % of the area at zero strain".replace("-", "−")
    lifted = NOTHING
    if state is not None and state["uplift_N"] is not None and state["area_mm2"] and q:
        lifted = f"{1e5 * state['uplift_N'] / state['area_mm2'] / q:.1f} % of q"
    membrane = given.membrane
    rows = (
        (
            f"area, as a {found['area_shape']}",
            "yes",
            size("area_mm2", "mm²"),
            area,
        ),
        (
            "membrane"
            if membrane is None
            else f"membrane, {writer.given(membrane.thickness_mm, 'mm')} in all, "
            f"{writer.given(membrane.modulus_kPa, 'kPa')}",
            "no: none is stated" if membrane is None else "yes",
            size("membrane_kPa", "kPa") if membrane else NOTHING,
            share("membrane_kPa") if membrane else NOTHING,
        ),
        (
            "side drains",
            "no: there are none" if given.side_drains is None else "yes",
            size("side_drains_kPa", "kPa") if given.side_drains else NOTHING,
            share("side_drains_kPa") if given.side_drains else NOTHING,
        ),
        (
            "uplift of the piston",
            _uplift(piston),
            size("uplift_N", "N") if piston and piston.load_cell == "external" else NOTHING,
            lifted if piston and piston.load_cell == "external" else NOTHING,
        ),
        (
            "friction of the piston",
            "yes" if piston and piston.friction_N else "no: none is stated",
            writer.given(piston.friction_N, "N") if piston and piston.friction_N else NOTHING,
            NOTHING,
        ),
        (
            "give of the frame",
            "yes" if record.rig.frame_compliance_mm_N else "no: none is stated",
            _given_way(writer, record.rig.frame_compliance_mm_N, state),
            NOTHING,
        ),
    )
    at = CRITERION_WORDS[criterion] if found[chosen] else CRITERION_WORDS["peak_deviator"]
    return Table(
        "Corrections",
        ("", "applied", f"size at the {at.removeprefix('at the ')}", "share"),
        rows,
        "All corrections that can be told are applied, also where a standard asks for them only "
        "above 5 % of q (after ASTM).",
        words=(0, 1, 3),
    )


def _uplift(piston: Any) -> str:
    if piston is None:
        return "no: no piston is stated"
    if piston.load_cell == "internal":
        return "no: the load cell is inside"
    return f"yes: {piston.uplift}"


def _given_way(writer: Writer, compliance: float, state: Mapping[str, Any] | None) -> str:
    load = None if state is None else state["load_N"]
    return NOTHING if not compliance or load is None else writer.plain(compliance * load, "mm")


def _readings(
    subject: Subject, writer: Writer, sheared: Sheared, found: Mapping[str, Any]
) -> Table:
    table = sheared.table
    keep = [
        int(state["row"])
        for name in STATE_OF.values()
        if (state := found[name]) is not None and state["row"] is not None
    ]
    rows = spread_rows(table.axial_strain, MOST_ROWS, keep)
    columns = {
        name: column
        for name in _told(COLUMNS, subject)
        if np.isfinite(column := getattr(table, name)[rows]).any()
        and not (name == "volumetric_strain" and not column.any())
    }
    cells = [
        tuple(
            _number(writer, float(column[number]), COLUMNS[name][1])
            for name, column in columns.items()
        )
        for number in range(len(rows))
    ]
    count = len(table)
    thinned = "All"
    if len(rows) < count:
        thinned = f"{len(rows)} of {count} readings, evenly over strain, with those at failure; all"
    return Table(
        "Readings of the shear",
        tuple(writer.head(*COLUMNS[name]) for name in columns),
        tuple(cells),
        f"{thinned} are in readings.csv of porewatch reduce --out. q, σ1 and all that follows "
        "are corrected.",
        words=(),
        dense=True,
    )


_DIGITS = {"%": 2, "kPa": 1, "psi": 2, "mm²": 1, "in²": 4, "": 3}


def _number(writer: Writer, number: float, unit: str) -> str:
    """One reading with the digits of its column."""
    if not np.isfinite(number):
        return NOTHING
    by = 100.0 if unit == "%" else writer.scale(unit)
    digits = _DIGITS[writer.head("", unit).strip(" []")]
    text = f"{by * number:.{digits}f}"
    return (text.lstrip("-") if float(text) == 0.0 else text).replace("-", "−")
