"""Consolidation of one test: how much drained, the specimen afterwards, how fast, how stiff."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from reduce.consolidation import (
    coefficient_of_compressibility,
    dissipation,
)
from reduce.construction import Construction
from reduce.drainage import DRAINAGES, time_for
from reduce.errors import ReductionError
from reduce.log_time import casagrande
from reduce.permeability import at_20_C, permeability
from reduce.phase_relations import void_ratio_after
from reduce.record import Record
from reduce.reduction.dimensions import AfterConsolidation
from reduce.reduction.drained_curve import Curve, drained
from reduce.reduction.results import ConsolidationReduced, Fit, LogTime, Methods, RootTime
from reduce.root_time import root_time_to_t100, taylor
from reduce.series_fit import fit_series
from reduce.specimen import SpecimenAtSetUp

LEAST_HEAD_KPA = 5.0
"""Excess pore pressure below this is too little to tell its dissipation by. [kPa]"""


def reduce_consolidation(
    record: Record,
    specimen: SpecimenAtSetUp,
    curve: Curve | None,
    after: AfterConsolidation | None,
) -> ConsolidationReduced | None:
    """What consolidation came to; None where it has not begun.

    Args:
        record: the test.
        specimen: at set-up.
        curve: see `curve_of`.
        after: see `dimensions_of`.
    """
    if curve is None:
        return None
    methods, headline = _constructions(record, specimen, curve)
    chosen = None if after is None else after.chosen
    strain = None if chosen is None else 1.0 - chosen.volume_ml / specimen.volume_ml
    first = record.index_at(record.zero_first_stage_s)
    change = None if first is None else drained(record, first, curve.last)
    mv = _compressibility(record, specimen, curve)
    cv20 = _at_20(record, curve, headline.cv)
    voids = specimen.void_ratio
    after_voids = None if voids is None or strain is None else void_ratio_after(voids, strain)
    return ConsolidationReduced(
        volume_change_ml=change,
        volumetric_strain=None if change is None else change / specimen.volume_ml,
        height_mm=None if chosen is None else chosen.height_mm,
        area_mm2=None if chosen is None else chosen.area_mm2,
        volume_ml=None if chosen is None else chosen.volume_ml,
        diameter_mm=None if chosen is None else chosen.diameter_mm,
        dimensions_by=None if after is None else after.headline,
        dimensions={} if after is None else after.by_method,
        void_ratio=after_voids,
        dry_density_Mg_m3=None
        if specimen.dry_mass_g is None or chosen is None
        else specimen.dry_mass_g / chosen.volume_ml,
        effective_stress_kPa=_effective(record, curve.last),
        t50_min=headline.t50,
        t90_min=headline.t90,
        t100_min=headline.t100,
        cv_m2_per_year=headline.cv,
        headline_from=headline.source,
        cv_at_20_C_m2_per_year=cv20,
        mv_m2_per_MN=mv,
        permeability_m_per_s=None
        if headline.cv is None or mv is None or mv <= 0.0
        else permeability(headline.cv, mv),
        dissipation=_dissipated(record, curve),
        ended=record.end_of("consolidation") is not None,
        methods=methods,
    )


@dataclass(frozen=True, slots=True)
class _Headline:
    """The times and cv that the standard goes by."""

    t50: float | None
    t90: float | None
    t100: float | None
    cv: float | None
    source: Mapping[str, str]
    """Which method each is from."""


def _constructions(
    record: Record, specimen: SpecimenAtSetUp, curve: Curve
) -> tuple[Methods, _Headline]:
    stated = record.specimen.drainage
    # Without a drainage the lines can be laid, but no cv be had from them.
    drainage = stated if stated in DRAINAGES else "one end"
    cell = {"height_mm": specimen.height_mm, "diameter_mm": specimen.diameter_mm}
    given = (curve.times_min, curve.volume_ml)
    by_90 = taylor(*given, drainage=drainage, **cell)
    by_100 = root_time_to_t100(*given, drainage=drainage, **cell)
    by_log = casagrande(*given, drainage=drainage, **cell)
    fit = fit_series(*given, drainage=drainage, **cell)
    known = stated is not None

    def cv(found: Construction) -> float | None:
        return found.cv_m2_per_year if known else None

    astm = record.followed_standard.startswith("ASTM")
    root_cv = cv(by_90) if astm else cv(by_100)
    methods = Methods(
        root_time=RootTime(
            t90_min=by_90.t90_min,
            t100_min=by_100.t100_min,
            cv_m2_per_year=root_cv,
            drainage=stated,
            lines=(*by_90.lines, *by_100.lines),
            line_choice=_choice(by_100, "t100_min")
            | _choice(by_90, "t90_min")
            | _choice(by_90 if astm else by_100, "cv_m2_per_year"),
            assumption=(by_90 if astm else by_100).assumption,
            why=by_90.why or by_100.why,
        ),
        log_time=LogTime(
            t50_min=by_log.t50_min,
            t100_min=by_log.t100_min,
            cv_m2_per_year=cv(by_log),
            drainage=stated,
            lines=by_log.lines,
            line_choice=dict(by_log.relative_uncertainty),
            assumption=by_log.assumption,
            why=by_log.why,
        ),
        fit=Fit(
            t50_min=fit.t50_min if known else None,
            t90_min=fit.t90_min if known else None,
            t100_min=fit.t100_min if known else None,
            cv_m2_per_year=fit.cv_m2_per_year if known else None,
            primary_ml=fit.primary if known else None,
            creep_ml=fit.creep if known else None,
            misfit_ml=fit.misfit if known else None,
            drainage=stated,
            curve=fit.curve if known else (),
            scatter=dict(fit.standard_uncertainty) if known else {},
            why=fit.why if known else "needs specimen.drainage",
        ),
    )
    if astm:
        # The rate after D4767 comes from t50, that after D7181 from t90: so does cv.
        by = "root_time" if record.followed_standard == "ASTM D7181" else "log_time"
        times = by_log.t50_min, by_90.t90_min, by_log.t100_min
        source = {"t50_min": "log_time", "t90_min": "root_time", "t100_min": "log_time"}
        rate = root_cv if by == "root_time" else cv(by_log)
        return methods, _Headline(*times, rate, source | {"cv_m2_per_year": by})
    t50 = t90 = None
    if root_cv is not None:
        t50, t90 = (time_for(drainage, U, cv_m2_year=root_cv, **cell) / 60.0 for U in (0.5, 0.9))
    source = dict.fromkeys(("t50_min", "t90_min", "t100_min", "cv_m2_per_year"), "root_time")
    return methods, _Headline(t50, t90, by_100.t100_min, root_cv, source)


def _choice(found: Construction, name: str) -> dict[str, float]:
    share = found.relative_uncertainty.get(name)
    return {} if share is None else {name: share}


def _effective(record: Record, row: int) -> float | None:
    cell = record.value("cell_pressure", row)
    pore = record.value("pore_pressure", row)
    if pore is None:
        pore = record.value("back_pressure", row)
    return None if cell is None or pore is None else cell - pore


def _compressibility(record: Record, specimen: SpecimenAtSetUp, curve: Curve) -> float | None:
    """mv of the last stage, from the pore pressure that it dissipated."""
    change = drained(record, curve.zero, curve.last)
    first = record.value("pore_pressure", curve.zero)
    last = record.value("pore_pressure", curve.last)
    if last is None:
        last = record.value("back_pressure", curve.last)
    if record.end_of("consolidation") is None:
        return None  # while it lasts the gauge has lost more of its excess than the soil
    if change is None or first is None or last is None or first - last < LEAST_HEAD_KPA:
        return None
    if change <= 0.0:
        return None
    return coefficient_of_compressibility(change / specimen.volume_ml, first, last)


def compressibility_per_kPa(
    record: Record, specimen: SpecimenAtSetUp, curve: Curve
) -> float | None:
    """Of the skeleton under isotropic stress, as this consolidation shows it. [1/kPa]"""
    mv = _compressibility(record, specimen, curve)
    return mv / 1000.0 if mv is not None and mv > 0.0 else None


def _dissipated(record: Record, curve: Curve) -> float | None:
    """Share of the excess that has gone at an undrained end."""
    if record.pore_at_drained_end or record.specimen.drainage is None:
        return None
    first, last = (record.value("pore_pressure", row) for row in (curve.zero, curve.last))
    back = record.value("back_pressure", curve.zero)
    if first is None or last is None or back is None or first - back < LEAST_HEAD_KPA:
        return None
    return dissipation(first, last, back)


def _at_20(record: Record, curve: Curve, cv: float | None) -> float | None:
    """cv as it would be at 20 °C, by the viscosity of water."""
    warm = record.column("temperature")[curve.zero : curve.last + 1]
    warm = warm[np.isfinite(warm)]
    if cv is None or len(warm) == 0:
        return None
    try:
        return at_20_C(cv, float(np.mean(warm)))
    except ReductionError:
        return None
