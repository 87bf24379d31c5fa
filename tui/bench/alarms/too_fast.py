"""A shear faster than the standard advises for how long this specimen took to consolidate."""

from reduce.drainage import t100
from reduce.forecast import ConsolidationForecast
from reduce.shearing.rates import AdvisedRate, advised_rate
from tui.bench.alarms.spells import Spell
from tui.bench.rig import at_set_up
from tui.settings.cell_toml import CellToml

KIND = "rate-too-fast"
Rates = tuple[tuple[float, float], ...]
"""(time, strain a second) wherever it has changed."""


def advice_for(settings: CellToml, fit: ConsolidationForecast | None) -> AdvisedRate:
    """What the standard advises, from the fit of the consolidation that went before."""
    start, drainage = at_set_up(settings), settings.specimen.drainage
    t50_s = t90_s = t100_s = None
    if fit is not None:
        t50_s, t90_s = fit.t50_s, fit.t90_s
        if fit.cv_m2_year is not None and drainage is not None and t50_s is not None:
            t100_s = t100(
                drainage,
                cv_m2_year=fit.cv_m2_year,
                height_mm=start.height_mm,
                diameter_mm=start.diameter_mm,
            )
        if fit.cv_m2_year is not None and fit.cv_range_m2_year is not None:
            # Too fast is what is so beyond the doubt of the fit: one cv in ten lies beyond it.
            sure = fit.cv_m2_year / fit.cv_range_m2_year[1]
            t50_s, t90_s, t100_s = (None if t is None else sure * t for t in (t50_s, t90_s, t100_s))
    return advised_rate(
        settings.test.standard or "",
        settings.test.kind,
        drainage=drainage,
        slenderness=start.height_mm / start.diameter_mm,
        t50_min=None if t50_s is None else t50_s / 60.0,
        t90_min=None if t90_s is None else t90_s / 60.0,
        t100_min=None if t100_s is None else t100_s / 60.0,
    )


def too_fast(
    rates: Rates, advice: AdvisedRate, factor: float, over: float, ended: float | None
) -> list[Spell]:
    """Every stretch of the shear that was.

    Args:
        rates: of the shear.
        advice: of the standard.
        factor: times the advice: faster is too fast. [-]
        over: strain over which the rates are told. [-]
        ended: when the shear was over; None while it lasts. [s]
    """
    if advice.rate_percent_per_min is None:
        return []
    most = factor * advice.rate_percent_per_min
    found: list[Spell] = []
    begun: tuple[float, float] | None = None
    for time, per_s in rates:
        rate = 6000.0 * per_s
        if begun is None and rate > most:
            begun = time, rate
        elif begun is not None and rate <= most:
            found.append(_spell(*begun, most, advice, over, time))
            begun = None
    if begun is not None:
        found.append(_spell(*begun, most, advice, over, ended, by_phase=ended is not None))
    return found


def _spell(
    since: float, rate: float, most: float, advice: AdvisedRate, over: float,
    cleared: float | None, *, by_phase: bool = False,
) -> Spell:  # fmt: skip
    said = f"{rate:.4f} %/min over {over:.1%} of strain, limit {most:.4f} %/min ({advice.basis})"
    return Spell(KIND, None, "warning", since, since, cleared, said, by_phase=by_phase)
