"""From phase to phase until the end of the test: each begins when the one before is over.

Between two phases somebody has to act, so a begin is moved to attended hours. How long hands take
is common practice, no source.
"""

from dataclasses import replace
from functools import lru_cache
from math import hypot, inf, isfinite

from reduce.drainage import t100, time_for
from reduce.errors import ReductionError
from reduce.forecast import CONFIDENCE, ConsolidationForecast
from reduce.forecast import consolidation as forecast_consolidation
from reduce.shearing.rates import advised_rate
from tui.bench.attended import Attended
from tui.bench.picture import Phase, Projection
from tui.bench.projections import consolidation_end, shear_event, untold
from tui.bench.rig import at_set_up
from tui.bench.surroundings import Sibling, Surroundings, cv_of
from tui.settings.cell_toml import CellToml

Span = tuple[float, float, float]
"""Earliest, even bet, latest. [s]"""

BUILD_UP_S: Span = (1200.0, 2700.0, 7200.0)
"""From the passed check until drainage is opened: cell pressure up, pore pressure settled."""
DOCK_S: Span = (900.0, 1800.0, 4500.0)
"""From the end of consolidation until the ram moves on a docked specimen."""
LET_DOWN_S: Span = (600.0, 1800.0, 5400.0)
"""From the strain limit until the pressures are let down."""
END = "end of the test"


def chain(
    settings: CellToml,
    phase: Phase,
    projection: Projection,
    fit: ConsolidationForecast | None,
    surroundings: Surroundings,
) -> tuple[Projection, ...]:
    """What comes after the event of the present phase; the last is the end of the test.

    Args:
        settings: of the cell.
        phase: the present one.
        projection: of its event.
        fit: of consolidation, where drainage has been opened.
        surroundings: when somebody is there, and what siblings came to.

    Returns:
        A projection for each phase to come; one without times, and why, where the chain breaks.
    """
    if phase.name in ("setup", "ended", "interrupted") or settings.test.kind == "UU":
        return ()
    so_far = _span_of(projection)
    if so_far is None:
        return (untold(END, f"cannot say yet: it is not known when {projection.event}"),)
    attended, found = surroundings.attended, []
    try:
        if phase.name == "saturation" or phase.step == "build-up":
            fit = prior = _before_any_flow(settings, surroundings.siblings)
            lasts = _span_of_forecast(prior)
            if lasts is None:
                return (untold(END, prior.basis),)
            if phase.name == "saturation":
                so_far = _after(_by_hand(so_far, BUILD_UP_S, attended), lasts)
                found.append(_told(consolidation_end(settings), so_far, prior.basis))
        if phase.name != "shear":
            shear, basis = _shear_s(settings, fit)
            if shear is None:
                return (*found, untold(END, f"cannot say yet: {basis}"))
            so_far = _after(_by_hand(so_far, DOCK_S, attended), shear)
            found.append(_told(shear_event(settings), so_far, basis))
    except ReductionError as error:
        return (*found, untold(END, f"cannot say: {error}"))
    so_far = _by_hand(so_far, LET_DOWN_S, attended)
    return (*found, _told(END, so_far, "pressures let down by hand"))


def before_drainage_opens(
    settings: CellToml, phase: Phase, surroundings: Surroundings, now: float
) -> Projection:
    """When consolidation will meet its criterion, while drainage is still closed.

    Args:
        settings: of the cell.
        phase: its build-up.
        surroundings: when somebody is there, and what siblings came to.
        now: drainage has not been opened by then. [s]
    """
    event = consolidation_end(settings)
    prior = _before_any_flow(settings, surroundings.siblings)
    lasts = _span_of_forecast(prior)
    if lasts is None:
        return untold(event, prior.basis)
    begun = phase.step_since
    opens = _by_hand((begun, begun, begun), BUILD_UP_S, surroundings.attended)
    opens = (max(opens[0], now), max(opens[1], now + 300.0), max(opens[2], now + BUILD_UP_S[1]))
    return replace(
        _told(event, _after(opens, lasts), f"drainage is still closed; {prior.basis}"), progress=0.0
    )


def _before_any_flow(settings: CellToml, siblings: tuple[Sibling, ...]) -> ConsolidationForecast:
    """Consolidation counted from its begin at 0, by what is known before it."""
    start = at_set_up(settings)
    return _by_priors(
        settings.specimen.drainage,
        start.height_mm,
        start.diameter_mm,
        start.volume_ml,
        consolidation_end(settings),
        cv_of(siblings),
    )


@lru_cache(maxsize=256)  # no reading changes it, and every picture of a saturation asks for it
def _by_priors(
    drainage: str | None,
    height_mm: float,
    diameter_mm: float,
    volume_ml: float,
    end: str,
    cv_of_set_m2_year: tuple[float, ...],
) -> ConsolidationForecast:
    return forecast_consolidation(
        0.0,
        (),
        (),
        now=0.0,
        drainage=drainage,
        height_mm=height_mm,
        diameter_mm=diameter_mm,
        volume_ml=volume_ml,
        end=end,
        cv_of_set_m2_year=cv_of_set_m2_year,
    )


def _told(event: str, span: Span, basis: str) -> Projection:
    return Projection(event, span[1], span[0], span[2], CONFIDENCE, None, basis)


def _span_of(projection: Projection) -> Span | None:
    if projection.at is None or projection.earliest is None or projection.latest is None:
        return None
    return projection.earliest, projection.at, projection.latest


def _span_of_forecast(found: ConsolidationForecast) -> Span | None:
    if found.at is None or found.earliest is None or found.latest is None:
        return None
    return found.earliest, found.at, found.latest


def _after(begins: Span, lasts: Span) -> Span:
    """Two doubts that have nothing to do with each other, one after the other."""
    at = begins[1] + lasts[1]
    return (
        at - hypot(begins[1] - begins[0], lasts[1] - lasts[0]),
        at,
        at + hypot(begins[2] - begins[1], lasts[2] - lasts[1]),
    )


def _by_hand(so_far: Span, takes: Span, attended: Attended | None) -> Span:
    """Something that somebody does after it, once somebody is there."""
    if attended is not None:
        so_far = (attended.next(so_far[0]), attended.next(so_far[1]), attended.next(so_far[2]))
    return _after(so_far, takes)


def _shear_s(settings: CellToml, fit: ConsolidationForecast | None) -> tuple[Span | None, str]:
    """How long shear takes to its strain limit, and what that rests on."""
    plan = settings.plan
    planned = plan.strain_rate_percent_min
    if planned is not None:
        lasts = 60.0 * 100.0 * plan.strain_limit / planned
        return (0.95 * lasts, lasts, 1.08 * lasts), f"planned {planned:g} %/min"
    if fit is None or fit.cv_m2_year is None or fit.cv_range_m2_year is None:
        return None, "it needs plan.strain_rate, or cv, to know how fast it may be sheared"
    low, high = fit.cv_range_m2_year
    durations = [_advised_s(settings, cv) for cv in (high, fit.cv_m2_year, low)]
    if not all(isfinite(one) for one in durations):
        return None, "it needs plan.strain_rate, or the drainage and a standard that advises one"
    words = f"at the rate after {settings.test.standard} for cv {fit.cv_m2_year:.2g} m²/year"
    return (durations[0], durations[1], durations[2]), words


def _advised_s(settings: CellToml, cv_m2_year: float) -> float:
    """To the strain limit at the rate that the standard advises; infinite where it does not. [s]"""
    start, drainage = at_set_up(settings), settings.specimen.drainage
    if drainage is None:
        return inf
    size = {
        "cv_m2_year": cv_m2_year,
        "height_mm": start.height_mm,
        "diameter_mm": start.diameter_mm,
    }
    rate = advised_rate(
        settings.test.standard or "",
        settings.test.kind,
        drainage=drainage,
        slenderness=start.height_mm / start.diameter_mm,
        t50_min=time_for(drainage, 0.5, **size) / 60.0,
        t90_min=time_for(drainage, 0.9, **size) / 60.0,
        t100_min=t100(drainage, **size) / 60.0,
    ).rate_percent_per_min
    return inf if not rate else 6000.0 * settings.plan.strain_limit / rate
