"""The plots of a shear: against strain, the stress path, Mohr's circles of the one specimen."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from reduce.shearing.table import ShearTable
from reduce.strength.specimens import Criterion
from tui.bench.failed_specimens import STATE_OF
from tui.papers.report.circles import circle_chart, circle_of
from tui.papers.report.said import Axis, Chart, Charts, Line, Mark, Part, Style
from tui.papers.report.thinning import line_points
from tui.papers.report.writing import Writer
from tui.papers.subject import Subject
from tui.words.reduced import CRITERION_WORDS


def shear_charts(
    subject: Subject,
    writer: Writer,
    table: ShearTable,
    found: Mapping[str, Any],
    criterion: Criterion,
) -> tuple[Part, ...]:
    """What a reviewer looks at first, with failure by each criterion marked.

    Args:
        subject: a test that was sheared.
        writer: of its numbers.
        table: of the shear.
        found: the shear in the results.
        criterion: what counts as failure.
    """
    assert subject.found is not None
    kind = subject.found.record.kind
    kPa = writer.scale("kPa")
    strain = 100.0 * table.axial_strain
    states = {one: found[STATE_OF[one]] for one in (criterion, *CRITERION_WORDS)}

    def marks(x: str, y: str, x_by: float, y_by: float) -> tuple[Mark, ...]:
        return tuple(
            Mark(CRITERION_WORDS[one], state[x] * x_by, state[y] * y_by)
            for one, state in states.items()
            if state is not None and state[x] is not None and state[y] is not None
        )

    def against_strain(title: str, label: str, name: str, unit: str, by: float) -> Chart:
        return Chart(
            title,
            Axis("axial strain ε1", "%"),
            writer.axis(label, unit),
            (Line("", "readings", line_points(strain, by * getattr(table, name)), dots=True),),
            marks("axial_strain", name, 100.0, by),
        )

    stress = against_strain("Deviator against strain", "deviator q", "deviator_kPa", "kPa", kPa)
    if kind == "UU":
        return (Charts((stress,)), *_one_circle(writer, found, criterion, kind))
    if kind == "CU":
        second = against_strain(
            "Excess pore pressure against strain", "Δu", "excess_pore_kPa", "kPa", kPa
        )
    else:
        second = against_strain(
            "Volumetric strain against strain", "εv, shrinking +", "volumetric_strain", "%", 100.0
        )
    ratio = against_strain("Stress ratio against strain", "σ′1/σ′3", "ratio", "", 1.0)
    centre, top = kPa * table.centre_effective_kPa, kPa * table.shear_stress_kPa
    path = Chart(
        "Stress path",
        writer.axis("s′ = (σ′1 + σ′3)/2", "kPa"),
        writer.axis("t′ = (σ′1 − σ′3)/2", "kPa"),
        (Line("effective stress", "readings", line_points(centre, top), dots=True),),
        marks("centre_effective_kPa", "shear_stress_kPa", kPa, kPa),
        square=True,
    )
    if kind == "CU" and subject.found.stages.shear is not None:
        total = _total_path(writer, table, subject.found.stages.shear.pore_pressure_kPa)
        path = _with_line(path, total)
    shown = [chart for chart in (stress, second, ratio, path) if chart.lines[0].points]
    pairs = tuple(Charts(tuple(shown[start : start + 2])) for start in range(0, len(shown), 2))
    return (*pairs, *_one_circle(writer, found, criterion, kind))


def _total_path(writer: Writer, table: ShearTable, back: float | None) -> Line | None:
    """Total stress less the pore pressure at zero strain: what is no part of the soil's stress."""
    if back is None:
        return None
    kPa = writer.scale("kPa")
    centre = kPa * (table.sigma3_kPa - back + table.shear_stress_kPa)
    points = line_points(centre, kPa * table.shear_stress_kPa)
    return Line("total stress less u at zero strain", "second", points)


def _with_line(chart: Chart, line: Line | None) -> Chart:
    if line is None or not line.points:
        return chart
    return replace(chart, lines=(*chart.lines, line))


def _one_circle(
    writer: Writer, found: Mapping[str, Any], criterion: Criterion, kind: str
) -> tuple[Part, ...]:
    """Mohr's circles of this specimen at failure, total and effective."""
    state = found[STATE_OF[criterion]]
    if state is None:
        return ()
    # Back pressure is no part of the soil's total stress: it is taken off CU, as for an envelope
    off = found["pore_pressure_kPa"] if kind == "CU" else 0.0
    kPa = writer.scale("kPa")
    lines = []
    total = "total stress less u at zero strain" if kind == "CU" else "total stress"
    circles: tuple[tuple[str, Style, str, float | None], ...] = (
        ("effective stress", "readings", "_effective_kPa", 0.0),
        (total, "second", "_kPa", off),
    )
    apart = {"CD": circles[:1], "UU": circles[1:]}  # one of the two says nothing new, or nothing
    for name, style, ending, less in apart.get(kind, circles):
        minor, major = state[f"sigma3{ending}"], state[f"sigma1{ending}"]
        if None not in (minor, major, less) and major > minor:
            lines.append(circle_of(name, style, (minor - less) * kPa, (major - less) * kPa))
    if not lines:
        return ()
    at = CRITERION_WORDS[criterion]
    return (Charts((circle_chart(f"Mohr's circles, {at}", writer, tuple(lines)),)),)
