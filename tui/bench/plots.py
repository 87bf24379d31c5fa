"""The plots of the cell in focus, in numbers; panes only draw them. The first suits the phase."""

from collections.abc import Callable, Iterable, Sequence
from functools import partial
from typing import overload

import numpy as np

from reduce.construction import Construction
from reduce.forecast import ConsolidationForecast
from reduce.forecast.endings import ending
from tui.bench.constructed import Constructed
from tui.bench.curves import Curves
from tui.bench.picture import BCheck, Phase, Plot, Series
from tui.bench.projections import consolidation_end, dissipated
from tui.bench.trace import Trace
from tui.settings.cell_toml import CellToml

Points = tuple[tuple[float, float], ...]
_Maker = Callable[[], Plot]


class Plots(Sequence[Plot]):
    """Plots that are made when they are looked at: of most cells nobody looks at one."""

    def __init__(self, makers: Iterable[_Maker]) -> None:
        self._makers = tuple(makers)
        self._made: dict[int, Plot] = {}

    @overload
    def __getitem__(self, index: int) -> Plot: ...

    @overload
    def __getitem__(self, index: slice) -> tuple[Plot, ...]: ...

    def __getitem__(self, index: int | slice) -> Plot | tuple[Plot, ...]:
        if isinstance(index, slice):
            return tuple(self[place] for place in range(*index.indices(len(self))))
        place = range(len(self))[index]
        if place not in self._made:
            self._made[place] = self._makers[place]()
        return self._made[place]

    def __len__(self) -> int:
        return len(self._makers)

    def __eq__(self, other: object) -> bool:
        return tuple(self) == tuple(other) if isinstance(other, (Plots, tuple)) else NotImplemented

    def __hash__(self) -> int:
        return hash(tuple(self))

    def __repr__(self) -> str:
        return repr(tuple(self))


def plots(
    settings: CellToml,
    phase: Phase,
    checks: tuple[BCheck, ...],
    curves: Curves,
    fit: ConsolidationForecast | None,
    saturation_curve: Points,
    constructed: Constructed,
) -> Plots:
    """All plots that have something to show, the one of the present phase first."""
    curves = curves.copy()  # those of the cell grow on before anybody looks
    by_phase = {
        "saturation": _of_saturation(settings, checks, saturation_curve),
        "consolidation": _of_consolidation(settings, curves, fit, constructed),
        "shear": _of_shear(settings, curves),
    }
    named = "shear" if phase.name == "ended" else phase.name
    first = by_phase.pop(named, [])
    rest = [maker for group in reversed(by_phase.values()) for maker in group]
    pressures = [partial(_pressures, curves)] if any(map(len, curves.pressures.values())) else []
    return Plots((*first, *pressures, *rest))


def _of_saturation(settings: CellToml, checks: tuple[BCheck, ...], curve: Points) -> list[_Maker]:
    if not any(check.back_pressure_kPa is not None for check in checks):
        return []
    return [partial(_b_against_back_pressure, settings, checks, curve)]


def _of_consolidation(
    settings: CellToml, curves: Curves, fit: ConsolidationForecast | None, found: Constructed
) -> list[_Maker]:
    makers: list[_Maker] = []
    foreseen = fit is not None and bool(fit.curve)
    if curves.volume or foreseen:
        makers.append(partial(_volume_against_root_time, curves, fit, found.root))
    # The zero reading has no place on a logarithmic axis.
    if foreseen or any(root > 0.0 for root, _ in curves.volume.points()):
        makers.append(partial(_volume_against_log_time, curves, fit, found.log))
    if curves.pore:
        makers.append(partial(_pore_against_root_time, settings, curves))
    return makers


def _of_shear(settings: CellToml, curves: Curves) -> list[_Maker]:
    makers: list[_Maker] = []
    if curves.deviator:
        makers.append(partial(_deviator, curves))
    if settings.test.kind == "CD":
        makers += [partial(_volumetric, curves)] if curves.volumetric else []
    elif curves.pore_in_shear:
        makers.append(partial(_pore_against_strain, curves))
    return [*makers, partial(_stress_path, curves)] if _has_path(curves) else makers


def _has_path(curves: Curves) -> bool:
    """Whether q and s′ are known at one strain at least."""
    q, centre = curves.deviator, curves.centre
    if q.last is None or centre.last is None or q.last[0] == centre.last[0]:
        return q.last is not None and centre.last is not None
    return not {x for x, _ in q.points()}.isdisjoint(x for x, _ in centre.points())


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


def _deviator(curves: Curves) -> Plot:
    return _against_strain("Deviator", "q", "kPa", "deviator, corrected", curves.deviator)


def _volumetric(curves: Curves) -> Plot:
    name = "εᵥ, shrinking positive"
    return _against_strain("Volumetric strain", "εᵥ", "%", name, curves.volumetric, 100.0)


def _pore_against_strain(curves: Curves) -> Plot:
    return _against_strain("Pore pressure", "u", "kPa", "pore pressure", curves.pore_in_shear)


def _against_strain(
    title: str, label: str, unit: str, name: str, trace: Trace, factor: float = 1.0
) -> Plot:
    line = tuple((100.0 * strain, factor * value) for strain, value in trace.points())
    series = (Series(name, "readings", line),)
    return Plot(f"{title} against axial strain", "ε₁", "%", label, unit, series, of_set=True)


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
