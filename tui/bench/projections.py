"""What comes next in each phase and when, from the reduction's forecasts."""

from itertools import pairwise

import numpy as np

from reduce.forecast import ConsolidationForecast, Forecast, SaturationForecast, ending
from reduce.forecast import consolidation as forecast_consolidation
from tui.bench.aims import aims_of
from tui.bench.curves import Curves
from tui.bench.picture import BCheck, Projection
from tui.bench.surroundings import Sibling, cv_of
from tui.bench.unmeasured import borne_out
from tui.settings.cell_toml import CellToml

DEFAULT_END = "dissipation 95 %"
"""Of consolidation, after BS 1377-8 and ISO 17892-9 (from memory)."""
ASTM_END = "t100 + 1 log cycle"
"""Of consolidation, after ASTM D4767 and D7181 (from memory)."""

SAME_LEVEL_KPA = 5.0
"""Checks nearer in back pressure than this are repeats. [kPa]"""
LEAST_HEAD_KPA = 5.0
"""Excess pore pressure below this is too little to tell its dissipation by. [kPa]"""


def consolidation_end(settings: CellToml) -> str:
    """The criterion that ends consolidation: the plan's, else the standard's."""
    if settings.plan.consolidation_end is not None:
        return settings.plan.consolidation_end
    astm = settings.test.standard is not None and settings.test.standard.startswith("ASTM")
    return ASTM_END if astm else DEFAULT_END


def untold(event: str, why: str) -> Projection:
    """A projection without times."""
    return Projection(event, None, None, None, None, None, why)


def projection_of(event: str, found: Forecast, now: float, basis: str | None = None) -> Projection:
    """A forecast as the picture shows it.

    Args:
        event: what is foreseen.
        found: of the reduction.
        now: of the reading that it was made of. [s]
        basis: other words for what it rests on.
    """
    met = found.progress is not None and found.progress >= 1.0

    def ahead(moment: float | None) -> float | None:
        """What has not happened yet cannot lie before now."""
        return moment if moment is None or met else max(moment, now)

    return Projection(
        event,
        ahead(found.at),
        ahead(found.earliest),
        ahead(found.latest),
        found.confidence if found.at is not None else None,
        found.progress,
        basis or found.basis,
    )


def saturation_event(settings: CellToml) -> str:
    """Such as "B ≥ 0.95"."""
    return f"B ≥ {settings.plan.b_target:.2f}"


def shear_event(settings: CellToml) -> str:
    """Such as "strain 15 %"."""
    return f"strain {settings.plan.strain_limit * 100:g} %"


def step_durations(checks: tuple[BCheck, ...]) -> tuple[float, ...]:
    """From a check to the one at the next back pressure: this cell's own pace. [s]

    A check repeated at the same back pressure is no step.
    """
    return tuple(
        b.began - a.began
        for a, b in pairwise(checks)
        if a.back_pressure_kPa is None
        or b.back_pressure_kPa is None
        or b.back_pressure_kPa - a.back_pressure_kPa > SAME_LEVEL_KPA
    )


def project_saturation(
    settings: CellToml, found: SaturationForecast | None, now: float
) -> Projection:
    """When the first passing check will have its settled reading."""
    event = saturation_event(settings)
    if settings.test.kind == "UU":
        return untold(event, "a UU test is not saturated")
    if found is None:
        return untold(event, "cannot say yet: back pressure has not been raised")
    return projection_of(event, found, now)


def fit_consolidation(
    settings: CellToml, curves: Curves, now: float, siblings: tuple[Sibling, ...] = ()
) -> ConsolidationForecast | None:
    """Drainage theory fitted to the readings since drainage opened.

    Args:
        settings: of the cell.
        curves: volume and pore pressure since then.
        now: readings after it are not looked at. [s]
        siblings: whose cv is expected of this specimen, before its own readings tell.
    """
    zero = curves.zero_consolidation
    head_kPa, measured = dissipated(settings, curves)
    volume = dict(curves.volume.points())
    if zero is None or not (volume or measured):
        return None
    roots = sorted(volume.keys() | measured.keys())
    end = consolidation_end(settings)
    found = forecast_consolidation(
        zero.time,
        zero.time + 60.0 * np.array(roots) ** 2,
        np.array([volume.get(root, np.nan) for root in roots]),
        dissipation=np.array([measured.get(root, np.nan) for root in roots]),
        now=now,
        drainage=settings.specimen.drainage,
        height_mm=curves.set_up.height_mm,
        diameter_mm=curves.set_up.diameter_mm,
        volume_ml=curves.set_up.volume_ml,
        end=end,
        head_kPa=head_kPa,
        cv_of_set_m2_year=cv_of(siblings),
    )
    if measured and ending(end).kind == "dissipation":
        return found  # by a gauge at an undrained end
    pore = () if aims_of(settings).one_transducer else curves.pore.points()
    return borne_out(
        found, end, zero, curves.volume.points(), pore, now, least_head_kPa=LEAST_HEAD_KPA
    )


def dissipated(settings: CellToml, curves: Curves) -> tuple[float, dict[float, float]]:
    """Excess pore pressure [kPa] and its dissipation by √minutes, measured at an undrained end.

    Nothing is measured where both ends drain, by a transducer that reads the regulator as well,
    or of too little excess.
    """
    zero, drainage = curves.zero_consolidation, settings.specimen.drainage
    if zero is None or drainage is None or "both ends" in drainage:
        return LEAST_HEAD_KPA, {}
    if aims_of(settings).one_transducer:  # with the valve open it reads the regulator
        return LEAST_HEAD_KPA, {}
    head = zero.pore_pressure - zero.back_pressure
    if not head > LEAST_HEAD_KPA:  # NaN is no head
        return LEAST_HEAD_KPA, {}
    return head, {root: (zero.pore_pressure - u) / head for root, u in curves.pore.points()}


def degree_now(fit: ConsolidationForecast, last: tuple[float, float] | None) -> float | None:
    """Average degree of consolidation by volume; by pore pressure where none is measured. [-]"""
    if last is None or fit.v100 is None or fit.v100 <= 0.0:
        return fit.U_now
    return (last[1] - (fit.v0 or 0.0)) / fit.v100


def project_consolidation(
    settings: CellToml, curves: Curves, fit: ConsolidationForecast | None, now: float
) -> Projection:
    """When consolidation meets its criterion, once drainage is open."""
    event = consolidation_end(settings)
    if fit is None:
        return untold(event, "needs back_volume since drainage opened")
    met = fit.progress is not None and fit.progress >= 1.0
    if not curves.stress_kept and not met:
        why = "cell or back pressure has left the stress of this consolidation"
        return untold(event, f"cannot say yet, because {why}: it must stand as it was set")
    return projection_of(event, fit, now)
