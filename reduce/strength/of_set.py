"""Strength of a set of specimens of one soil: c and φ from their stresses at failure.

Consolidated specimens (CU, CD) have effective strength, CU ones total strength beside it;
unconsolidated ones (UU) total strength alone. Compression is positive.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from reduce.columns import Column
from reduce.errors import ReductionError
from reduce.strength.cautions import (
    COMMON_PRACTICE,
    Pair,
    about_cohesion,
    about_lines,
    about_set,
    about_undrained,
)
from reduce.strength.envelope import (
    Envelope,
    line_through_tops_pq,
    line_through_tops_st,
    tangent_to_circles,
    weighted_line_pq,
)
from reduce.strength.interval import CONFIDENCE, Interval, confidence_interval
from reduce.strength.misfit import Misfit, find_misfit
from reduce.strength.mohr_coulomb import phi_at_zero_cohesion
from reduce.strength.specimens import (
    Criterion,
    FailedSpecimen,
    check_set,
    stresses_of,
    uncertainties_of,
)

_BY_TOTAL = "plain least squares of q on p, total stresses"
_BY_TOTAL_LESS = f"{_BY_TOTAL} less the pore pressure at zero strain"
"""Of CU, whose specimens are handed over so: back pressure is no part of a soil's stress."""


@dataclass(frozen=True, slots=True)
class SpecimenStrength:
    """What one specimen says by itself."""

    name: str
    phi_effective_deg_c0: float | None
    """φ′ if c′ is 0; None for UU."""
    sigma1_effective_kPa: float | None
    sigma3_effective_kPa: float | None


@dataclass(frozen=True, slots=True)
class Methods:
    """The same specimens by three lines; of total stresses where all are UU."""

    mohr_tangent: Envelope | None
    stress_points: Envelope | None
    """t on s."""
    weighted: Envelope | None
    """q on p, by the uncertainties of the specimens where all are known."""


@dataclass(frozen=True, slots=True)
class SetStrength:
    """Strength of a set. None is "could not be told"; the cautions say why."""

    criterion: Criterion
    c_effective_kPa: float | None
    phi_effective_deg: float | None
    c_total_kPa: float | None
    phi_total_deg: float | None
    total_by: str | None
    """How the total strength was found, in words."""
    undrained_strength_kPa: float | None
    """Mean q/2 of UU specimens: cu of a soil with φu = 0."""
    r: float | None
    """Correlation coefficient of the headline; None for fewer than three specimens."""
    interval: Interval | None
    """Of the effective strength."""
    weighted: bool
    """Whether the specimens were weighted by their uncertainties."""
    methods: Methods
    specimens: tuple[SpecimenStrength, ...]
    misfit: Misfit | None
    cautions: tuple[Pair, ...]
    """What, and the clause or "common practice"."""


@dataclass(frozen=True, slots=True)
class _Options:
    cohesionless: bool
    c_not_negative: bool

    @property
    def fewest(self) -> int:
        return 1 if self.cohesionless else 2


def strength_of_set(
    specimens: Sequence[FailedSpecimen],
    *,
    criterion: Criterion,
    cohesionless: bool = False,
    c_not_negative: bool = False,
    confidence: float = CONFIDENCE,
) -> SetStrength:
    """Strength of specimens of one soil.

    Effective strength is that of the CU and CD specimens: weighted least squares on p′ and q,
    plain where not all have uncertainties. Total strength of CU is plain least squares on their
    p and q. Of UU it is the same line where its slope allows one, else φu = 0 with the mean of
    q/2; that mean is given in any case. `cohesionless` and `c_not_negative` are about c′ alone.

    Args:
        specimens: in any order, each by a name of its own.
        criterion: what counted as failure; carried through.
        cohesionless: c′ = 0 exactly.
        c_not_negative: c′ = 0 where a free line would have it below 0.
        confidence: of the interval. [-]

    Returns:
        The strength, with what it doubts.

    Raises:
        ReductionError: no specimen, a name twice, an unknown criterion, a confidence not between
            0 and 1, or a specimen whose stresses are missing, no numbers, or not those of
            compression.

    Source:
        ASTM D4767, D7181; BS 1377-8; ISO 17892-9; number of tests after EN 1997-2, annex P.

    Example:
        >>> stresses = ((262.0, 70.0), (487.0, 146.0), (732.0, 228.0))
        >>> drained = [FailedSpecimen(f"C{i}", "CD", *pair) for i, pair in enumerate(stresses)]
        >>> found = strength_of_set(drained, criterion="peak_deviator")
        >>> round(found.c_effective_kPa, 1), round(found.phi_effective_deg, 1)
        (15.5, 29.8)
    """
    check_set(specimens, criterion, confidence)
    options = _Options(cohesionless, c_not_negative)
    consolidated = [one for one in specimens if one.kind != "UU"]
    alone = tuple(_by_itself(one) for one in specimens)
    cautions = about_set([one.kind for one in specimens])

    if not consolidated:
        return _undrained(specimens, criterion, confidence, alone, cautions)

    major, minor = stresses_of(consolidated, "effective")
    u_p, u_q = uncertainties_of(consolidated)
    methods, failed = _methods(major, minor, options, u_p, u_q)
    if u_p is None and any(one.u_q_kPa is not None for one in consolidated):
        cautions.append(("not all specimens have uncertainties: not weighted", COMMON_PRACTICE))
    headline = methods.weighted
    interval = None if headline is None else confidence_interval(headline, confidence)
    cautions += about_lines(minor, headline, failed)
    cautions += about_cohesion(headline, interval)
    misfit = None
    if headline is not None:
        p, q = (major + 2.0 * minor) / 3.0, major - minor
        names = [one.name for one in consolidated]
        misfit = find_misfit(names, p, q, _weighted_of(p, q, u_p, u_q, options))
        if misfit is not None:
            cautions.append((misfit.what, COMMON_PRACTICE))

    total = None
    if all(one.kind == "CU" for one in consolidated):
        total, failed = _told(
            lambda: (
                line_through_tops_pq(*stresses_of(consolidated, "total"))
                if len(consolidated) > 1
                else None
            )
        )
        if failed:
            cautions.append((f"no total strength: {failed}", COMMON_PRACTICE))
    return SetStrength(
        criterion=criterion,
        c_effective_kPa=None if headline is None else headline.c_kPa,
        phi_effective_deg=None if headline is None else headline.phi_deg,
        c_total_kPa=None if total is None else total.c_kPa,
        phi_total_deg=None if total is None else total.phi_deg,
        total_by=None if total is None else _BY_TOTAL_LESS,
        undrained_strength_kPa=None,
        r=None if headline is None else headline.r,
        interval=interval,
        weighted=u_p is not None,
        methods=methods,
        specimens=alone,
        misfit=misfit,
        cautions=tuple(cautions),
    )


def _undrained(
    specimens: Sequence[FailedSpecimen],
    criterion: Criterion,
    confidence: float,
    alone: tuple[SpecimenStrength, ...],
    cautions: list[Pair],
) -> SetStrength:
    """Strength of UU specimens, by total stresses."""
    major, minor = stresses_of(specimens, "total")
    p, q = (major + 2.0 * minor) / 3.0, major - minor
    methods, _ = _methods(major, minor, _Options(False, False), None, None)
    mean = float(np.mean(q)) / 2.0
    line = methods.weighted
    c, phi, by = mean, None, "cu the mean of q/2; φu not told"
    if line is not None:
        c, phi, by = line.c_kPa, line.phi_deg, _BY_TOTAL
    elif len(q) > 1 and np.ptp(minor) > 0.0 and np.cov(p, q)[0, 1] < 0.0:
        c, phi, by = mean, 0.0, "cu the mean of q/2, φu = 0: the line of q on p falls"
    interval = None if line is None else confidence_interval(line, confidence)
    return SetStrength(
        criterion=criterion,
        c_effective_kPa=None,
        phi_effective_deg=None,
        c_total_kPa=c,
        phi_total_deg=phi,
        total_by=by,
        undrained_strength_kPa=mean,
        r=None if line is None else line.r,
        interval=None,
        weighted=False,
        methods=methods,
        specimens=alone,
        misfit=None,
        cautions=(*cautions, *about_undrained(q / 2.0, interval)),
    )


def _weighted_of(
    p: Column, q: Column, u_p: Column | None, u_q: Column | None, options: _Options
) -> Callable[[Sequence[int]], Envelope]:
    """The headline line of the specimens with given indices."""

    def of(indices: Sequence[int]) -> Envelope:
        pick = list(indices)
        given = {}
        if u_p is not None and u_q is not None:
            # p′ = σ′3 + q/3 takes a third of the error of q with it
            shared = np.minimum(u_q**2 / 3.0, u_p * u_q)
            given = {"u_p": u_p[pick], "u_q": u_q[pick], "covariance": shared[pick]}
        return weighted_line_pq(
            p[pick],
            q[pick],
            **given,
            cohesionless=options.cohesionless,
            c_not_negative=options.c_not_negative,
        )

    return of


def _methods(
    major: Column, minor: Column, options: _Options, u_p: Column | None, u_q: Column | None
) -> tuple[Methods, str | None]:
    """The three lines, and why there is no headline."""
    if len(major) < options.fewest:
        return Methods(None, None, None), None
    cohesionless, c_not_negative = options.cohesionless, options.c_not_negative
    p, q = (major + 2.0 * minor) / 3.0, major - minor
    tangent, _ = _told(
        lambda: tangent_to_circles(
            major, minor, cohesionless=cohesionless, c_not_negative=c_not_negative
        )
    )
    points, _ = _told(
        lambda: line_through_tops_st(
            major, minor, cohesionless=cohesionless, c_not_negative=c_not_negative
        )
    )
    weighted, why = _told(lambda: _weighted_of(p, q, u_p, u_q, options)(range(len(p))))
    return Methods(tangent, points, weighted), why


def _told(fit: Callable[[], Envelope | None]) -> tuple[Envelope | None, str | None]:
    """A line, or why there is none."""
    try:
        return fit(), None
    except ReductionError as why:
        return None, str(why)


def _by_itself(one: FailedSpecimen) -> SpecimenStrength:
    if one.kind == "UU":
        return SpecimenStrength(one.name, None, None, None)
    major, minor = (float(stress[0]) for stress in stresses_of([one], "effective"))
    return SpecimenStrength(one.name, phi_at_zero_cohesion(major, minor), major, minor)
