"""Saturation: every B check, what was made of them, and B against back pressure."""

from collections.abc import Mapping
from datetime import datetime, tzinfo
from typing import Any

from tui.papers.report.said import (
    Axis,
    Chart,
    Charts,
    Fact,
    Facts,
    Line,
    Part,
    Section,
    Table,
    Value,
)
from tui.papers.report.writing import Writer
from tui.papers.subject import Subject
from tui.words import NOTHING, date_and_time, sanitise
from tui.words.reduced import BELOW_TARGET, GROUND_WORDS


def saturation(subject: Subject, writer: Writer, zone: tzinfo) -> Section | None:
    """The section; None where nothing was told of a saturation."""
    found: Mapping[str, Any] | None = writer.raw("saturation")
    if found is None:
        return None
    parts: list[Part] = [Facts(_facts(subject, writer, found))]
    if found["checks"]:
        parts += [_checks(writer, found, zone), *_chart(writer, found)]
    return Section("Saturation", tuple(parts), about=subject.name)


def _facts(subject: Subject, writer: Writer, found: Mapping[str, Any]) -> tuple[Fact, ...]:
    assert subject.found is not None
    drained = subject.found.stages.curve is not None
    verdict = "accepted" if found["accepted"] else "not accepted"
    facts = [
        writer.fact(
            "B before consolidation" if drained else "B of the latest check", "saturation.B"
        ),
        Fact("saturation", f"{verdict}: {GROUND_WORDS[found['ground']]}"),
    ]
    taken = found["taken_below_target"]
    if taken is not None and found["ground"] == BELOW_TARGET:
        facts.append(Fact("taken below its target by", sanitise(taken)))
    target = found["b_target"]
    facts.append(Fact("target of B", Value(f"{target:g}", "saturation.b_target", target)))
    facts += writer.facts(
        "saturation",
        {
            "back_pressure_kPa": ("back pressure reached", "kPa"),
            "B_of_saturated_soil": ("B of this soil if saturated, by theory", ""),
            "degree_at_set_up": ("degree of saturation at set-up", "%"),
            "degree_by_B": ("degree of saturation by B, at least", "%"),
            "degree_by_inflow": ("degree of saturation by inflow", "%"),
            "back_pressure_to_saturate_kPa": ("back pressure for S = 1 (Boyle, Henry)", "kPa"),
            "inflow_ml": ("water that flowed in", "ml"),
            "volume_change_ml": ("volume change by height", "ml"),
        },
    )
    if found["solution"]:
        facts.append(Fact("how long gas takes to dissolve", sanitise(found["solution"])))
    return tuple(facts)


def _checks(writer: Writer, found: Mapping[str, Any], zone: tzinfo) -> Table:
    rows = []
    for number, check in enumerate(found["checks"]):
        key = f"saturation.checks.{number}"
        at = datetime.fromisoformat(check["at"]).timestamp() if check["at"] else None
        rows.append(
            (
                NOTHING if at is None else date_and_time(at, zone),
                writer.value(f"{key}.back_pressure_kPa", "kPa", bare=True),
                writer.value(f"{key}.delta_cell_kPa", "kPa", bare=True),
                writer.value(f"{key}.delta_pore_kPa", "kPa", bare=True),
                writer.value(f"{key}.B"),
                writer.value(f"{key}.B_last"),
                "yes" if check["settled"] else "no",
            )
        )
    return Table(
        "B checks",
        (
            "settled reading",
            writer.head("back pressure", "kPa"),
            writer.head("Δσ3", "kPa"),
            writer.head("Δu", "kPa"),
            "B",
            "B, last reading",
            "settled",
        ),
        tuple(rows),
        "B = Δu/Δσ3, from the last reading before cell pressure moved to the settled one. A check "
        "in which pore pressure did not settle is never accepted.",
        words=(0, 6),
    )


def _chart(writer: Writer, found: Mapping[str, Any]) -> tuple[Part, ...]:
    known = [one for one in found["checks"] if one["back_pressure_kPa"] is not None]
    if not known:
        return ()
    by = writer.scale("kPa")
    lines = [
        Line(name, "readings" if settled else "second", points, dots=True)
        for name, settled in (("settled", True), ("not settled", False))
        if (
            points := tuple(
                (one["back_pressure_kPa"] * by, one["B"])
                for one in known
                if one["settled"] is settled
            )
        )
    ]
    ends = [one["back_pressure_kPa"] * by for one in known]
    target = found["b_target"]
    lines.append(Line(f"target {target:g}", "limit", ((min(ends), target), (max(ends), target))))
    chart = Chart(
        "B against back pressure",
        writer.axis("back pressure", "kPa"),
        Axis("B", ""),
        tuple(lines),
    )
    return (Charts((chart,)),)
