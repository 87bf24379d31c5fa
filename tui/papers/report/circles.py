"""Mohr's circles and the line that touches them."""

import math

from tui.papers.report.said import Chart, Line, Style
from tui.papers.report.writing import Writer

POINTS = 73


def circle_of(name: str, style: Style, minor: float, major: float) -> Line:
    """The upper half of a circle.

    Args:
        name: for the legend.
        style: of the line.
        minor: σ3. [any unit]
        major: σ1. [the same]
    """
    centre, radius = (major + minor) / 2.0, (major - minor) / 2.0
    angles = [math.pi * number / (POINTS - 1) for number in range(POINTS)]
    return Line(
        name,
        style,
        tuple((centre - radius * math.cos(angle), radius * math.sin(angle)) for angle in angles),
    )


def tangent_of(name: str, style: Style, c: float, phi_deg: float, to: float) -> Line:
    """τ = c + σ tan φ from where it begins to σ = `to`; c as the stresses."""
    slope = math.tan(math.radians(phi_deg))
    start = max(0.0, -c / slope) if slope > 0.0 and c < 0.0 else 0.0
    return Line(name, style, ((start, c + start * slope), (to, c + to * slope)))


def circle_chart(title: str, writer: Writer, lines: tuple[Line, ...], source: str = "") -> Chart:
    """A chart on which circles are circles; its axis is that of the stresses in their names."""
    stresses = {
        sign: any(line.name.startswith(of) for line in lines)
        for sign, of in (("σ", "total"), ("σ′", "effective"))
    }
    return Chart(
        title,
        writer.axis(", ".join(sign for sign, shown in stresses.items() if shown), "kPa"),
        writer.axis("τ", "kPa"),
        lines,
        square=True,
        from_origin=all(point[0] >= 0.0 for line in lines for point in line.points),
        source=source,
    )
