"""Consolidation: what drained, the specimen after it, and the constructions with what they gave."""

from collections.abc import Mapping, Sequence
from datetime import tzinfo
from typing import Any

import numpy as np

from reduce.reduction.drained_curve import Curve
from tui.papers.report.said import (
    Chart,
    Charts,
    Fact,
    Facts,
    Line,
    Mark,
    Part,
    Remarks,
    Section,
    Table,
)
from tui.papers.report.thinning import line_points, spread_rows
from tui.papers.report.writing import Writer
from tui.papers.subject import Subject
from tui.words import date_and_time, sanitise
from tui.words.reduced import METHOD_WORDS

MOST_ROWS = 32
"""Of the table of volume against time."""
NUMBERS = {
    "t50_min": ("t50", "min"),
    "t90_min": ("t90", "min"),
    "t100_min": ("t100", "min"),
    "cv_m2_per_year": ("cv", "m²/year"),
}


def consolidation(subject: Subject, writer: Writer, zone: tzinfo) -> Section | None:
    """The section; None where consolidation has not begun or no volume was read."""
    found: Mapping[str, Any] | None = writer.raw("consolidation")
    if found is None or subject.found is None:
        return None
    curve = subject.found.stages.curve
    assert curve is not None
    parts: list[Part] = [Facts(_facts(subject, writer, found, zone))]
    if not len(curve.times_min):
        nothing = "No volume was read as the specimen drained: what needs back_volume is missing."
        parts.append(Remarks((nothing,), "△"))
        return Section("Consolidation", tuple(parts), about=subject.name)
    parts += [*_dimensions(writer, found), _methods(writer, found)]
    parts += [
        Charts((_root_chart(writer, found, curve),)),
        Charts((_log_chart(writer, found, curve),)),
    ]
    parts.append(_volumes(writer, curve))
    return Section("Consolidation", tuple(parts), about=subject.name)


def _facts(
    subject: Subject, writer: Writer, found: Mapping[str, Any], zone: tzinfo
) -> tuple[Fact, ...]:
    assert subject.found is not None
    record, stages = subject.found.record, subject.found.stages
    when = "at the end" if stages.shear or found["ended"] else "so far"
    facts = []
    if record.zero_consolidation_s is not None:
        facts.append(Fact("counted from", date_and_time(record.zero_consolidation_s, zone)))
    if not found["ended"]:
        facts.append(Fact("consolidation", "goes on: what follows is so only so far"))
    drainage = record.specimen.drainage
    facts.append(Fact("drainage", drainage, "" if drainage else "cv cannot be told without it"))
    facts += writer.facts(
        "consolidation",
        {
            "effective_stress_kPa": (f"effective stress {when}", "kPa"),
            "volume_change_ml": ("volume change", "ml"),
            "volumetric_strain": ("volumetric strain", "%"),
            "height_mm": ("height after", "mm"),
            "area_mm2": ("area after", "mm²"),
            "volume_ml": ("volume after", "ml"),
            "void_ratio": ("void ratio after", ""),
            "dry_density_Mg_m3": ("dry density after", "Mg/m³"),
            "dissipation": ("dissipation of pore pressure", "%"),
            "mv_m2_per_MN": ("mv", "m²/MN"),
            "permeability_m_per_s": ("k = cv mv γw, as warm as the test", "m/s"),
            "cv_at_20_C_m2_per_year": ("cv at 20 °C", "m²/year"),
        },
    )
    return tuple(facts)


def _dimensions(writer: Writer, found: Mapping[str, Any]) -> tuple[Part, ...]:
    if found["dimensions_by"] is None:
        return ()
    rows = tuple(
        (
            METHOD_WORDS[name] + (" (taken)" if name == found["dimensions_by"] else ""),
            *(
                writer.value(f"consolidation.dimensions.{name}.{of}", unit, bare=True)
                for of, unit in (("height_mm", "mm"), ("area_mm2", "mm²"), ("volume_ml", "ml"))
            ),
        )
        for name in found["dimensions"]
    )
    heads = (
        "",
        writer.head("height", "mm"),
        writer.head("area", "mm²"),
        writer.head("volume", "ml"),
    )
    return (Table("Specimen after consolidation", heads, rows),)


def _methods(writer: Writer, found: Mapping[str, Any]) -> Table:
    rows = [
        (
            METHOD_WORDS[method],
            *(
                writer.value(f"consolidation.methods.{method}.{name}", unit, bare=True)
                for name, (_, unit) in NUMBERS.items()
            ),
        )
        for method in ("root_time", "log_time", "fit")
    ]
    rows.append(
        (
            "taken, after the standard",
            *(
                writer.value(f"consolidation.{name}", unit, bare=True)
                for name, (_, unit) in NUMBERS.items()
            ),
        )
    )
    source = found["headline_from"]
    methods = found["methods"]
    taken = ", ".join(
        f"{NUMBERS[name][0]} by {METHOD_WORDS[by]}"
        for name, by in source.items()
        if found[name] is not None
    )
    remarks = [f"Taken are {taken}."] if taken else []
    remarks += [
        f"{METHOD_WORDS[method].capitalize()}: {sanitise(why)}."
        for method in ("root_time", "log_time", "fit")
        if (why := methods[method]["why"])
    ]
    return Table(
        "By method",
        ("", *(writer.head(label, unit) for label, unit in NUMBERS.values())),
        tuple(rows),
        " ".join(remarks),
    )


def _readings(writer: Writer, x: Any, curve: Curve) -> Line:
    by = writer.scale("ml")
    return Line("readings", "readings", line_points(x, curve.volume_ml * by), dots=True)


def _marks(
    writer: Writer, found: Mapping[str, Any], curve: Curve, names: tuple[str, ...], root: bool
) -> tuple[Mark, ...]:
    """The times that a construction gave, on the curve."""
    by = writer.scale("ml")
    method = "root_time" if root else "log_time"
    marks = []
    for name in names:
        minutes = found["methods"][method][name]
        if minutes is not None and curve.times_min[0] <= minutes <= curve.times_min[-1]:
            at = float(np.interp(minutes, curve.times_min, curve.volume_ml)) * by
            marks.append(Mark(name.removesuffix("_min"), minutes**0.5 if root else minutes, at))
    return tuple(marks)


def _root_chart(writer: Writer, found: Mapping[str, Any], curve: Curve) -> Chart:
    by = writer.scale("ml")
    method = found["methods"]["root_time"]
    lines = [_readings(writer, np.sqrt(curve.times_min), curve)]
    fit = found["methods"]["fit"]["curve"]
    if fit:
        points = tuple((minutes**0.5, out * by) for minutes, out in fit)
        lines.append(Line("exact series for the drainage", "fit", points))
    lines += [
        Line(name, "construction", tuple((x, y * by) for x, y in one["points"]))
        for name, one in zip(_names_of(method["lines"]), method["lines"], strict=True)
    ]
    return Chart(
        "Volume change against root time",
        writer.axis("√t", "√min"),
        writer.axis("volume drained", "ml", downwards=True),
        tuple(lines),
        _marks(writer, found, curve, ("t90_min", "t100_min"), root=True),
        source=_source(method, "Taylor's root-time construction; t100 after BS 1377-8"),
    )


def _names_of(lines: Sequence[Mapping[str, Any]]) -> list[str]:
    """Taylor's lines stand before those that lead to t100, and both begin with an early line."""
    names: list[str] = []
    whose = "t90"
    for line in lines:
        if f"{whose}: {line['name']}" in names:
            whose = "t100"
        names.append(f"{whose}: {sanitise(line['name'])}")
    return names


def _log_chart(writer: Writer, found: Mapping[str, Any], curve: Curve) -> Chart:
    by = writer.scale("ml")
    method = found["methods"]["log_time"]
    later = curve.times_min > 0.0
    readings = line_points(curve.times_min[later], curve.volume_ml[later] * by)
    lines = [Line("readings", "readings", readings, dots=True)]
    fit = [(minutes, out * by) for minutes, out in found["methods"]["fit"]["curve"] if minutes > 0]
    if fit:
        lines.append(Line("exact series for the drainage", "fit", tuple(fit)))
    lines += [
        Line(
            sanitise(one["name"]),
            "construction",
            tuple((10.0**x, y * by) for x, y in one["points"]),
        )
        for one in method["lines"]
    ]
    return Chart(
        "Volume change against log time",
        writer.axis("t", "min", log=True),
        writer.axis("volume drained", "ml", downwards=True),
        tuple(lines),
        _marks(writer, found, curve, ("t50_min", "t100_min"), root=False),
        source=_source(method, "Casagrande's log-time construction"),
    )


def _source(method: Mapping[str, Any], whose: str) -> str:
    assumed = method["assumption"]
    return f"{whose}. {sanitise(assumed).capitalize()}." if assumed else f"{whose}."


def _volumes(writer: Writer, curve: Curve) -> Table:
    times = curve.times_min
    rows = spread_rows(np.log10(np.maximum(times, 1e-3)), MOST_ROWS)
    cells = [
        (
            writer.plain(float(times[row]), "min", bare=True),
            writer.plain(float(curve.volume_ml[row]), "ml", bare=True),
        )
        for row in rows
    ]
    # Four stretches beside each other: a long thin table would be mostly paper
    per = -(-len(cells) // 4)
    stretches = [cells[start : start + per] for start in range(0, len(cells), per)] if cells else []
    lines = tuple(
        tuple(
            one
            for stretch in stretches
            for one in (stretch[number] if number < len(stretch) else ("", ""))
        )
        for number in range(per)
    )
    heads = (writer.head("t", "min"), writer.head("ΔV", "ml")) * len(stretches)
    left = len(times) - len(rows)
    thinned = f"{len(rows)} of {len(times)} readings, evenly over log time; all" if left else "All"
    return Table(
        "Volume drained against time",
        heads,
        lines,
        f"{thinned} are in readings.csv of porewatch reduce --out.",
        words=(),
    )
