"""When saturation passes: what the forecast asks of checks, pressures and the hours of people."""

from functools import lru_cache
from math import isnan

from reduce.forecast import SaturationForecast
from reduce.forecast import saturation as forecast_saturation
from tui.bench.attended import Attended
from tui.bench.picture import BCheck, PhaseSpan
from tui.settings.cell_toml import CellToml

OF_RATING = 0.95
"""Share of the cell's rating that a plan should keep below: common practice, no source."""
DAY_S = 86400.0
AHEAD_DAYS = 21


def foresee_saturation(
    settings: CellToml,
    checks: tuple[BCheck, ...],
    spans: tuple[PhaseSpan, ...],
    moment: float,
    level_kPa: float | None,
    attended: Attended | None,
) -> SaturationForecast | None:
    """When the first passing check will have its settled reading; None before saturation.

    Args:
        settings: of the cell.
        checks: so far.
        spans: of the phases so far.
        moment: the forecast is as of then, or of the newest check if that is later. [s]
        level_kPa: back pressure now.
        attended: when somebody is there.
    """
    since = next((span.start for span in spans if span.name == "saturation"), None)
    if since is None or settings.test.kind == "UU":
        return None
    if spans[-1].name != "saturation":  # what was foreseen last
        moment, level_kPa = max((check.at for check in checks), default=since), None
    usable = [c for c in checks if c.back_pressure_kPa is not None and _counts(c, settings)]
    running = checks[-1] if checks and not checks[-1].finished else None
    if running is not None and usable and usable[-1].began == running.began:
        running = None
    limit, limited_by = _limit(settings)
    return _forecast(
        tuple(c.at for c in usable),
        tuple(c.back_pressure_kPa for c in usable),
        tuple(c.B for c in usable),
        began=tuple(c.began for c in usable),
        now=max(moment, usable[-1].at) if usable else moment,
        target=settings.plan.b_target,
        cell_step_kPa=settings.plan.cell_step_kPa,
        since=since,
        back_pressure_limit_kPa=limit,
        limited_by=limited_by,
        level_kPa=_about(level_kPa, WHOLE_KPA),
        running_since=None if running is None else running.began,
        running_b=None if running is None else _about(running.B, HARDLY_B),
        prior_step_s=settings.plan.step_time_s,
        attended=None
        if attended is None
        else _stretches(attended, since // DAY_S, moment // DAY_S),
    )


_forecast = lru_cache(maxsize=256)(forecast_saturation)
"""Most readings tell nothing new of saturation."""

WHOLE_KPA, HARDLY_B = 1.0, 0.005
"""A pressure and a B that move by less, as by noise, foretell nothing else. [kPa], [-]"""


def _about(value: float | None, step: float) -> float | None:
    return None if value is None or isnan(value) else step * round(value / step)


def _counts(check: BCheck, settings: CellToml) -> bool:
    """Whether a check tells the trend: one that has not settled is still on its way, or no pass."""
    if isnan(check.B):
        return False
    return check.settled or (check.finished and settings.plan.b_target > check.B)


def _limit(settings: CellToml) -> tuple[float | None, str]:
    """How far back pressure may go: by the plan, and so that the cell's rating is kept. [kPa]"""
    plan, rating = settings.plan, settings.cell.rating_kPa
    planned = plan.back_pressure_limit_kPa
    if rating is None:
        return planned, "the back-pressure limit"
    above = max(plan.effective_stress_kPa or 0.0, plan.excess_kPa + plan.cell_step_kPa)
    rated = OF_RATING * rating - above
    if planned is None or rated < planned:
        return rated, f"what the rating of {rating:.0f} kPa leaves,"
    return planned, "the back-pressure limit"


@lru_cache(maxsize=64)
def _stretches(
    attended: Attended, first_day: float, last_day: float
) -> tuple[tuple[float, float], ...]:
    """Stretches of presence from the day before one until days after another. [s]"""
    at, end = (first_day - 1.0) * DAY_S, (last_day + AHEAD_DAYS) * DAY_S
    found = []
    while at < end:
        start = attended.next(at)
        at = start + attended.until_end(start)
        if not at > start:  # beyond the calendar
            break
        found.append((start, at))
    return tuple(found)
