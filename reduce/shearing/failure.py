"""Failure of a specimen by each criterion, from the table of its shear."""

from dataclasses import dataclass, fields
from math import isfinite

import numpy as np
from numpy.typing import NDArray

from reduce.columns import GREATEST, Column
from reduce.errors import require_positive
from reduce.shearing.area import deviator
from reduce.shearing.table import COLUMNS, ShearTable
from reduce.stresses import LEAST_EFFECTIVE_KPA, centre_stress

Rows = NDArray[np.intp]

LEAST_DEVIATOR_KPA = 2.0
"""A deviator that stays below has not loaded the specimen (common practice, no source)."""
LEAST_MINOR_SHARE = 0.10
"""A ratio counts while σ′3 is above this share of what it was at the begin of shear: soil that
liquefies passes through any ratio (common practice, no source). [-]"""
MINOR_BOUNDS_KPA = (1.0, 10.0)
"""That floor is never below and never above: where u may be wrong by a kilopascal, a ratio over
1 kPa is noise and one over 10 kPa is good to a tenth (common practice, no source)."""
LAST_PART = 0.05
"""A greatest deviator in this last share of the strain is at the end. [-]"""
RISE = 0.01
"""Of the greatest deviator, over the last fifth of the strain: less is a plateau. [-]"""
BACK = -0.002
"""A strain below this is no compression: the ram went back (common practice, no source). [-]"""
ROUNDING = 1e-9
"""Relative: a strain this little below the limit has reached it."""


@dataclass(frozen=True, slots=True)
class FailureState:
    """One state of the specimen; None is what could not be told."""

    axial_strain: float | None
    deviator_kPa: float | None
    """q, net of everything."""
    pore_kPa: float | None
    excess_pore_kPa: float | None
    """Since zero strain."""
    sigma1_effective_kPa: float | None
    sigma3_effective_kPa: float | None
    A: float | None
    """Δu/q; None where q is too small."""
    volumetric_strain: float | None
    membrane_kPa: float | None
    side_drains_kPa: float | None
    uplift_N: float | None
    sigma1_kPa: float | None
    sigma3_kPa: float | None
    ratio: float | None
    """σ′1/σ′3; None where σ′3 is too small."""
    mean_effective_kPa: float | None
    """p′."""
    centre_effective_kPa: float | None
    """s′."""
    shear_stress_kPa: float | None
    """t′."""
    area_mm2: float | None
    load_N: float | None
    row: int | None
    """Of the table; None where it lies between two readings."""
    mean_kPa: float | None
    """p, of total stresses."""
    centre_kPa: float | None
    """s = (σ1 + σ3)/2: centre of Mohr's circle of total stresses; its radius is t′, as that of the
    effective one, whose centre is s′."""
    uncorrected_deviator_kPa: float | None
    """Load over corrected area, before membrane and side drains are taken off."""


@dataclass(frozen=True, slots=True)
class Failures:
    """Failure by each criterion; None is a criterion that was not met."""

    peak_deviator: FailureState | None
    """The greatest deviator up to the strain limit."""
    peak_ratio: FailureState | None
    """The greatest σ′1/σ′3 up to the strain limit."""
    at_strain_limit: FailureState | None
    """Between the two readings around the limit."""
    still_rising: bool
    """The deviator rose up to the limit or the last reading: what is called peak is none."""
    why: str | None
    """What is None, and why."""


def failure_states(table: ShearTable, strain_limit: float) -> Failures:
    """Find failure by the greatest deviator, by the greatest stress ratio and at the strain limit.

    The greatest of the readings are taken, nothing is smoothed. A stress ratio counts while q is
    above `LEAST_DEVIATOR_KPA` and σ′3 above `LEAST_MINOR_SHARE` of what it was at the first
    reading, within `MINOR_BOUNDS_KPA`.

    Args:
        table: of the shear; rows that are NaN, or no stress (`reduce.columns.GREATEST`), are passed
            over.
        strain_limit: up to which failure is looked for, among readings that are `compressed`. [-]

    Returns:
        The states; never an error for readings that show no failure.

    Raises:
        ReductionError: the strain limit is not above zero.

    Source:
        ASTM D4767, D7181, D2850 (from memory): the greatest deviator or that at 15 % strain,
        whichever comes first; the greatest stress ratio as the alternative.

    Example:
        >>> from reduce.shearing.table import ShearSetting, shear_table
        >>> setting = ShearSetting("UU", "ASTM D2850", 1000.0, 100.0, 100.0)
        >>> table = shear_table(setting, {
        ...     "axial_displacement": np.array([0.0, 2.0, 4.0]),
        ...     "axial_load": np.array([0.0, 100.0, 90.0])})
        >>> found = failure_states(table, 0.15)
        >>> round(found.peak_deviator.deviator_kPa, 3), found.still_rising
        (98.0, False)
        >>> found.why
        'no peak_ratio: no pore pressure; no at_strain_limit: strain reached 4 % of 15 %'
    """
    require_positive("strain limit", strain_limit, "")
    known = _known(table)
    back = known[table.axial_strain[known] < BACK]
    upto = known[compressed(table.axial_strain[known], strain_limit)]
    peak = _peak_deviator(table, upto, back)
    ratio = _peak_ratio(table, upto)
    limit = _at_limit(table, known, strain_limit)
    found = {"peak_deviator": peak, "peak_ratio": ratio, "at_strain_limit": limit}
    missing = [f"no {name}: {state}" for name, state in found.items() if isinstance(state, str)]
    rising = isinstance(peak, FailureState) and _still_rising(table, upto, peak)
    return Failures(
        peak_deviator=None if isinstance(peak, str) else peak,
        peak_ratio=None if isinstance(ratio, str) else ratio,
        at_strain_limit=None if isinstance(limit, str) else limit,
        still_rising=rising,
        why="; ".join(missing) or None,
    )


def minutes_to(table: ShearTable, times_s: Column, state: FailureState | None) -> float | None:
    """Time from zero strain to a state of failure, tf.

    Args:
        table: of the shear, from the reading of zero strain on.
        times_s: (n,) of its rows. [s]
        state: one of `failure_states` of this table, or None.

    Returns:
        tf; between two readings on the straight line from one to the other, as the state itself;
        None without a state. [min]

    Source:
        Definition; the standards ask for it beside the rate (ASTM D4767, BS 1377-8, from memory).

    Example:
        >>> from reduce.shearing.table import ShearSetting, shear_table
        >>> setting = ShearSetting("UU", "ASTM D2850", 1000.0, 100.0, 100.0)
        >>> table = shear_table(setting, {
        ...     "axial_displacement": np.array([0.0, 2.0, 4.0]),
        ...     "axial_load": np.array([0.0, 100.0, 90.0])})
        >>> found, times = failure_states(table, 0.03), np.array([60.0, 180.0, 300.0])
        >>> minutes_to(table, times, found.peak_deviator)
        2.0
        >>> round(minutes_to(table, times, found.at_strain_limit), 9)
        3.0
    """
    if state is None or state.axial_strain is None:
        return None
    if state.row is not None:
        return float(times_s[state.row] - times_s[0]) / 60.0
    known = _known(table)
    after = int(np.argmax(table.axial_strain[known] >= state.axial_strain))
    low, high = (table.axial_strain[known[row]] for row in (after - 1, after))
    begin, end = (times_s[known[row]] for row in (after - 1, after))
    at = begin + (state.axial_strain - low) / (high - low) * (end - begin)
    return float(at - times_s[0]) / 60.0


def _known(table: ShearTable) -> Rows:
    """Rows with a strain, and a deviator that is one."""
    return np.flatnonzero(
        np.isfinite(table.axial_strain) & (np.abs(table.deviator_kPa) <= GREATEST)
    )


def compressed(strain: Column, upto: float) -> NDArray[np.bool_]:
    """Which readings belong to the compression from zero strain up to a limit.

    Strain counts from the end of dock. A reading a little below zero is the noise of its gauge and
    a reading like any other; below `BACK` the ram had not arrived yet, or went back, and what the
    load cell shows there (a piston that sticks, a cap that seats) is no strength of the specimen.

    Args:
        strain: (n,) axial strain; NaN is none of them. [-]
        upto: the limit, reached within `ROUNDING`. [-]

    Example:
        >>> compressed(np.array([-0.03, -0.0001, 0.02, 0.16]), 0.15).tolist()
        [False, True, True, False]
    """
    inside: NDArray[np.bool_] = (strain >= BACK) & (strain <= upto * (1.0 + ROUNDING))
    return inside


def _peak_deviator(table: ShearTable, upto: Rows, back: Rows) -> FailureState | str:
    if len(back) > len(upto):
        worst = 100.0 * float(table.axial_strain[back].min())
        return f"axial strain is negative (down to {worst:.3g} %): the ram went back"
    if len(upto) == 0:
        return "no reading up to the strain limit gives a strain and a deviator"
    q = table.deviator_kPa[upto]
    at = int(np.argmax(q))
    if q[at] < LEAST_DEVIATOR_KPA:
        if q.min() < -LEAST_DEVIATOR_KPA:
            return f"the deviator is negative (down to {q.min():.1f} kPa): no compression"
        return f"the deviator stays below {LEAST_DEVIATOR_KPA:g} kPa: no load was taken"
    if len(upto) == 1:
        return "there is only one reading"
    return _state_of_row(table, int(upto[at]))


def _peak_ratio(table: ShearTable, upto: Rows) -> FailureState | str:
    minor = table.sigma3_effective_kPa[upto]
    known = minor[np.isfinite(minor)]
    if len(known) == 0:
        return "no pore pressure" if len(upto) else "no reading up to the strain limit"
    if len(known) == 1:
        return "there is only one reading"
    low, high = MINOR_BOUNDS_KPA
    floor = min(max(LEAST_MINOR_SHARE * float(known[0]), low), high)
    usable = (minor > floor) & (table.deviator_kPa[upto] > LEAST_DEVIATOR_KPA)
    ratio = np.where(usable, table.ratio[upto], np.nan)
    if np.isnan(ratio).all():
        return (
            f"no reading has σ′3 above {floor:.3g} kPa and a deviator above "
            f"{LEAST_DEVIATOR_KPA:g} kPa"
        )
    return _state_of_row(table, int(upto[np.nanargmax(ratio)]))


def _at_limit(table: ShearTable, known: Rows, limit: float) -> FailureState | str:
    strain = table.axial_strain[known]
    if len(strain) == 0:
        return "no reading gives a strain and a deviator"
    reached = strain >= limit * (1.0 - ROUNDING)
    if not reached.any():
        return f"strain reached {strain.max() * 100:.3g} % of {limit * 100:.3g} %"
    after = int(np.argmax(reached))
    if strain[after] <= limit * (1.0 + ROUNDING):
        return _state_of_row(table, int(known[after]))
    if after == 0:
        return f"readings begin at {strain[0] * 100:.3g} %, beyond {limit * 100:.3g} %"
    return _state_between(table, int(known[after - 1]), int(known[after]), limit)


def _still_rising(table: ShearTable, upto: Rows, peak: FailureState) -> bool:
    strain, q = table.axial_strain[upto], table.deviator_kPa[upto]
    end = float(strain.max())
    assert peak.axial_strain is not None
    assert peak.deviator_kPa is not None
    if end <= 0.0 or peak.axial_strain < (1.0 - LAST_PART) * end:
        return False
    last = strain >= 0.8 * end
    along = strain[last] - strain[last].mean()
    if last.sum() < 3 or not along.any():
        return True
    slope = float(np.sum(along * q[last]) / np.sum(along * along))
    return slope * 0.2 * end > RISE * peak.deviator_kPa


def _state_of_row(table: ShearTable, row: int) -> FailureState:
    values = {name: float(getattr(table, name)[row]) for name in _FROM_TABLE}
    return _state(values | {"uncorrected_deviator_kPa": _uncorrected(table, row)}, row)


def _uncorrected(table: ShearTable, row: int) -> float:
    one = slice(row, row + 1)
    return float(deviator(table.load_N[one], table.area_mm2[one])[0])


def _state_between(table: ShearTable, before: int, after: int, strain: float) -> FailureState:
    """On the straight line between two rows; ratios from the stresses there."""
    low, high = table.axial_strain[before], table.axial_strain[after]
    share = float((strain - low) / (high - low))

    def at(column: Column) -> float:
        return float(column[before] + share * (column[after] - column[before]))

    values = {name: at(getattr(table, name)) for name in _FROM_TABLE}
    begin, end = _uncorrected(table, before), _uncorrected(table, after)
    values["uncorrected_deviator_kPa"] = begin + share * (end - begin)
    if np.isfinite(table.A).any():  # a drained test has none
        values["A"] = _over(values["excess_pore_kPa"], values["deviator_kPa"])
    values["ratio"] = (
        _over(values["sigma1_effective_kPa"], values["sigma3_effective_kPa"])
        if values["sigma3_effective_kPa"] > 0.0
        else np.nan
    )
    return _state(values, None)


def _over(above: float, below: float) -> float:
    return above / below if abs(below) > LEAST_EFFECTIVE_KPA else np.nan


def _state(values: dict[str, float], row: int | None) -> FailureState:
    values["centre_kPa"] = centre_stress(values["sigma3_kPa"], values["deviator_kPa"])
    told = {name: value if isfinite(value) else None for name, value in values.items()}
    return FailureState(row=row, **told)


_FROM_TABLE = tuple(one.name for one in fields(FailureState) if one.name in COLUMNS)
