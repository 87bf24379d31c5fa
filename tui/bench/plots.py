"""The plots of the cell in focus, in numbers; panes only draw them. The first suits the phase."""

import numpy as np

from reduce.construction import Construction
from reduce.forecast import ConsolidationForecast
from reduce.forecast.endings import ending
from tui.bench.constructed import Constructed
from tui.bench.curves import Curves
from tui.bench.picture import BCheck, Phase, Plot, Series
from tui.bench.projections import consolidation_end, dissipated
from tui.settings.cell_toml import CellToml

Points = tuple[tuple[float, float], ...]


def plots(
    settings: CellToml,
    phase: Phase,
    checks: tuple[BCheck, ...],
    curves: Curves,
    fit: ConsolidationForecast | None,
    saturation_curve: Points,
    constructed: Constructed,
) -> tuple[Plot, ...]:
    """All plots that have something to show, the one of the present phase first."""
    by_phase = {
        "saturation": (_b_against_back_pressure(settings, checks, saturation_curve),),
        "consolidation": (
            _volume_against_root_time(curves, fit, constructed.root),
            _volume_against_log_time(curves, fit, constructed.log),
            _pore_against_root_time(settings, curves),
        ),
        "shear": _against_strain(settings, curves),
    }
    named = "shear" if phase.name == "ended" else phase.name
    first = by_phase.pop(named, ())
    rest = tuple(plot for group in reversed(by_phase.values()) for plot in group)
    shown = (*first, _pressures(curves), *rest)
    return tuple(plot for plot in shown if any(line.points for line in plot.series))


def _b_against_back_pressure(settings: CellToml, checks: tuple[BCheck, ...], curve: Points) -> Plot:
    points = tuple(
        (check.back_pressure_kPa, check.B)
        for check in checks
        if check.back_pressure_kPa is not None
    )
    target = settings.plan.b_target
    series = [Series("B of the checks", "readings", points)]
    if points and curve:
        series.append(Series("dissolving gas", "fit", curve))
    return Plot(
        "B against back pressure",
        "back pressure",
        "kPa",
        "B",
        "",
        tuple(series),
        (f"target {target:.2f}", target),
    )


def _volume_against_root_time(
    curves: Curves, fit: ConsolidationForecast | None, found: Construction | None
) -> Plot:
    series = [Series("volume out", "readings", curves.volume.points())]
    if fit is not None and fit.curve:
        roots = tuple(((seconds / 60.0) ** 0.5, out) for seconds, out in fit.curve)
        series.append(Series("drainage series", "fit", roots))
    lines = () if found is None else found.lines
    series += [Series(line.name, "construction", line.points) for line in lines]
    marks = tuple((name, minutes**0.5, out) for name, minutes, out in _marks(fit, found))
    return Plot(
        "Volume change against root time", "√t", "√min", "ΔV out", "ml", tuple(series), marks=marks
    )


def _volume_against_log_time(
    curves: Curves, fit: ConsolidationForecast | None, found: Construction | None
) -> Plot:
    points = tuple((root**2, out) for root, out in curves.volume.points() if root > 0.0)
    series = [Series("volume out", "readings", points)]
    if fit is not None and fit.curve:
        minutes = tuple((seconds / 60.0, out) for seconds, out in fit.curve if seconds > 0.0)
        series.append(Series("drainage series", "fit", minutes))
    for line in () if found is None else found.lines:
        ends = tuple((10.0**log, out) for log, out in line.points)
        series.append(Series(line.name, "construction", ends))
    return Plot(
        "Volume change against log time",
        "t",
        "min",
        "ΔV out",
        "ml",
        tuple(series),
        x_is_log=True,
        marks=_marks(fit, found),
    )


def _marks(
    fit: ConsolidationForecast | None, found: Construction | None
) -> tuple[tuple[str, float, float], ...]:
    """Name, minutes and ml of what was constructed; before there is anything, of the fit."""
    marks = []
    if found is not None and found.start_change is not None and found.final_change is not None:
        primary = found.final_change - found.start_change
        for name, minutes, degree in (
            ("t50", found.t50_min, 0.5), ("t90", found.t90_min, 0.9), ("t100", found.t100_min, 1.0),
        ):  # fmt: skip
            if minutes is not None:
                marks.append((name, minutes, found.start_change + degree * primary))
    if not marks and fit is not None and fit.t90_s is not None and fit.curve:
        times, out = np.array(fit.curve).T
        at = float(np.interp(fit.t90_s, times, out))
        marks.append(("t90 foreseen", fit.t90_s / 60.0, at))
    return tuple(marks)


def _pore_against_root_time(settings: CellToml, curves: Curves) -> Plot:
    """With the pressure at which consolidation ends, where its dissipation is measured."""
    series = Series("pore pressure", "readings", curves.pore.points())
    end, zero, target = ending(consolidation_end(settings)), curves.zero_consolidation, None
    head, measured = dissipated(settings, curves)
    if measured and zero is not None and end.kind == "dissipation":
        level = zero.pore_pressure - end.value * head
        target = (f"{100.0 * end.value:g} % dissipated", level)
    return Plot("Pore pressure against root time", "√t", "√min", "u", "kPa", (series,), target)


def _against_strain(settings: CellToml, curves: Curves) -> tuple[Plot, ...]:
    def plot(title: str, label: str, unit: str, name: str, points: Points, factor: float) -> Plot:
        line = tuple((100.0 * strain, factor * value) for strain, value in points)
        series = (Series(name, "readings", line),)
        return Plot(f"{title} against axial strain", "ε₁", "%", label, unit, series, of_set=True)

    deviator = plot("Deviator", "q", "kPa", "deviator, corrected", curves.deviator.points(), 1.0)
    if settings.test.kind == "CD":
        points = curves.volumetric.points()
        second = plot("Volumetric strain", "εᵥ", "%", "εᵥ, shrinking positive", points, 100.0)
    else:
        points = curves.pore_in_shear.points()
        second = plot("Pore pressure", "u", "kPa", "pore pressure", points, 1.0)
    return deviator, second, _stress_path(curves)


def _stress_path(curves: Curves) -> Plot:
    """t′ = q/2 against s′ = (σ′1 + σ′3)/2, in the order of strain."""
    centre = dict(curves.centre.points())
    path = tuple(
        (centre[strain], deviator / 2.0)
        for strain, deviator in curves.deviator.points()
        if strain in centre
    )
    series = (Series("stress path", "readings", path),)
    return Plot(
        "Stress path t′ against s′", "s′", "kPa", "t′", "kPa", series, is_path=True, of_set=True
    )


def _pressures(curves: Curves) -> Plot:
    return Plot(
        "Pressures against time",
        "time",
        "",
        "pressure",
        "kPa",
        tuple(Series(name, "readings", trace.points()) for name, trace in curves.pressures.items()),
        x_is_time=True,
    )
