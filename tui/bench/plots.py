"""The plots of the cell in focus, in numbers; panes only draw them. The first suits the phase."""

from reduce.forecast import ConsolidationForecast
from tui.bench.curves import Curves
from tui.bench.picture import BCheck, Phase, Plot, Series
from tui.settings.cell_toml import CellToml


def plots(
    settings: CellToml,
    phase: Phase,
    checks: tuple[BCheck, ...],
    curves: Curves,
    fit: ConsolidationForecast | None,
    saturation_curve: tuple[tuple[float, float], ...],
) -> tuple[Plot, ...]:
    """All plots that have something to show, the one of the present phase first."""
    by_phase = {
        "saturation": (_b_against_back_pressure(settings, checks, saturation_curve),),
        "consolidation": (_volume_against_root_time(curves, fit), _pore_against_root_time(curves)),
        "shear": _against_strain(settings, curves),
    }
    named = "shear" if phase.name == "ended" else phase.name
    first = by_phase.pop(named, ())
    rest = tuple(plot for group in reversed(by_phase.values()) for plot in group)
    shown = (*first, _pressures(curves), *rest)
    return tuple(plot for plot in shown if any(line.points for line in plot.series))


def _b_against_back_pressure(
    settings: CellToml, checks: tuple[BCheck, ...], curve: tuple[tuple[float, float], ...]
) -> Plot:
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


def _volume_against_root_time(curves: Curves, fit: ConsolidationForecast | None) -> Plot:
    series = [Series("volume out", "readings", curves.volume.points())]
    if fit is not None and fit.curve:
        roots = tuple(((seconds / 60.0) ** 0.5, out) for seconds, out in fit.curve)
        series.append(Series("drainage series", "fit", roots))
    return Plot("Volume change against root time", "√t", "√min", "ΔV out", "ml", tuple(series))


def _pore_against_root_time(curves: Curves) -> Plot:
    series = Series("pore pressure", "readings", curves.pore.points())
    return Plot("Pore pressure against root time", "√t", "√min", "u", "kPa", (series,))


def _against_strain(settings: CellToml, curves: Curves) -> tuple[Plot, ...]:
    def percent(points: tuple[tuple[float, float], ...]) -> tuple[tuple[float, float], ...]:
        return tuple((100.0 * strain, value) for strain, value in points)

    deviator = Plot(
        "Deviator against axial strain",
        "ε₁",
        "%",
        "q",
        "kPa",
        (Series("deviator, corrected", "readings", percent(curves.deviator.points())),),
    )
    if settings.test.kind == "CD":
        volumetric = tuple((100.0 * e, 100.0 * v) for e, v in curves.volumetric.points())
        second = Plot(
            "Volumetric strain against axial strain",
            "ε₁",
            "%",
            "εv",
            "%",
            (Series("εv, shrinking positive", "readings", volumetric),),
        )
    else:
        pore = percent(curves.pore_in_shear.points())
        second = Plot(
            "Pore pressure against axial strain",
            "ε₁",
            "%",
            "u",
            "kPa",
            (Series("pore pressure", "readings", pore),),
        )
    return deviator, second


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
