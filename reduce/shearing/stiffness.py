"""Moduli of the deviator against axial strain, as the gauge outside the cell tells them.

Strain measured outside holds the bedding of the ends and the give of the frame: these moduli lie
below those of local gauges, most of all at small strains.
"""

from math import inf
from typing import NamedTuple

import numpy as np

from reduce.columns import GREATEST, Column
from reduce.shearing.failure import FailureState, compressed
from reduce.shearing.table import ShearTable

AROUND = (0.4, 0.6)
"""Shares of the greatest deviator between which the tangent at one half is laid. [-]"""
BEGIN = 0.2
"""Share of the greatest deviator up to which the initial tangent is laid. [-]"""
FEWEST = 5
"""Readings that an initial tangent needs (common practice, no source)."""
STRAIGHT = 0.98
"""Least coefficient of correlation of an initial tangent (common practice, no source). [-]"""
RESOLVED = 1e-9
"""A strain below this is none: nothing that measures it resolves it. [-]"""


class _Half(NamedTuple):
    """Where the deviator first reaches half of its greatest value."""

    strain: Column
    """(n,) up to the peak, without gaps. [-]"""
    deviator: Column
    """(n,) [kPa]"""
    after: int
    """The first reading at or above the half."""
    half_kPa: float
    at: float
    """Strain there, between two readings. [-]"""


def secant_modulus_50(table: ShearTable, peak: FailureState | None) -> float | None:
    """Secant modulus from zero strain to half of the greatest deviator: E50 = (q/2)/ε50.

    Args:
        table: of the shear.
        peak: the greatest deviator, of `reduce.shearing.failure.failure_states`.

    Returns:
        E50; None without a peak, or where the readings begin above the half. [MPa]

    Source:
        Common definition, for instance Schanz, Vermeer and Bonnier (1999), The hardening soil
        model (from memory).

    Example:
        >>> from reduce.shearing.failure import failure_states
        >>> from reduce.shearing.table import ShearSetting, shear_table
        >>> setting = ShearSetting("UU", "ASTM D2850", 1000.0, 100.0, 100.0)
        >>> table = shear_table(setting, {
        ...     "axial_displacement": np.array([0.0, 1.0, 2.0, 3.0]),
        ...     "axial_load": np.array([0.0, 60.0, 110.0, 100.0])})
        >>> round(secant_modulus_50(table, failure_states(table, 0.15).peak_deviator), 2)
        5.94
    """
    found = _half(table, peak)
    return None if found is None else found.half_kPa / found.at / 1000.0


def strain_at_half(table: ShearTable, peak: FailureState | None) -> float | None:
    """Axial strain at which the deviator first reaches half of its greatest value: ε50.

    Args, returns: as `secant_modulus_50`; between two readings on the straight line. [-]

    Source:
        As `secant_modulus_50`: ε50 is the strain that E50 is laid to.

    Example:
        >>> from reduce.shearing.failure import failure_states
        >>> from reduce.shearing.table import ShearSetting, shear_table
        >>> setting = ShearSetting("UU", "ASTM D2850", 1000.0, 100.0, 100.0)
        >>> table = shear_table(setting, {
        ...     "axial_displacement": np.array([0.0, 1.0, 2.0, 3.0]),
        ...     "axial_load": np.array([0.0, 60.0, 110.0, 100.0])})
        >>> round(strain_at_half(table, failure_states(table, 0.15).peak_deviator), 5)
        0.00907
    """
    found = _half(table, peak)
    return None if found is None else found.at


def tangent_modulus_50(table: ShearTable, peak: FailureState | None) -> float | None:
    """Tangent modulus where the deviator first reaches half of its greatest value: dq/dε1.

    Least squares through the readings around it from 0.4 to 0.6 of the greatest deviator; with
    fewer than three of them the line between the two readings on either side.

    Args, returns: as `secant_modulus_50`; None also where the line does not rise. [MPa]

    Source:
        Common practice, no source.

    Example:
        >>> from reduce.shearing.failure import failure_states
        >>> from reduce.shearing.table import ShearSetting, shear_table
        >>> setting = ShearSetting("UU", "ASTM D2850", 1000.0, 100.0, 100.0)
        >>> table = shear_table(setting, {
        ...     "axial_displacement": np.array([0.0, 1.0, 2.0, 3.0]),
        ...     "axial_load": np.array([0.0, 60.0, 110.0, 100.0])})
        >>> round(tangent_modulus_50(table, failure_states(table, 0.15).peak_deviator), 2)
        5.94
    """
    found = _half(table, peak)
    if found is None:
        return None
    low, high = (2.0 * share * found.half_kPa for share in AROUND)
    inside = (found.deviator >= low) & (found.deviator <= high)
    first, last = found.after, found.after
    while first > 0 and inside[first - 1]:
        first -= 1
    while last < len(inside) and inside[last]:
        last += 1
    if last - first < 3:
        first, last = found.after - 1, found.after + 1
    line = _line(found.strain[first:last], found.deviator[first:last])
    return None if line is None or line.slope <= 0.0 else line.slope / 1000.0


def initial_modulus(table: ShearTable, peak: FailureState | None) -> float | None:
    """Tangent modulus at the begin: the line through readings below a fifth of the peak.

    Args, returns: as `secant_modulus_50`; None also with fewer than `FEWEST` readings there, or
        where they lie on no straight line (`STRAIGHT`), as while the ends bed in. [MPa]

    Source:
        Common practice, no source.
    """
    found = _half(table, peak)
    if found is None:
        return None
    above = np.flatnonzero(found.deviator > 2.0 * BEGIN * found.half_kPa)
    begin = int(above[0]) if len(above) else 0
    if begin < FEWEST:
        return None
    line = _line(found.strain[:begin], found.deviator[:begin])
    if line is None or line.slope <= 0.0 or line.correlation < STRAIGHT:
        return None
    return line.slope / 1000.0


def _half(table: ShearTable, peak: FailureState | None) -> _Half | None:
    if peak is None or peak.row is None or peak.deviator_kPa is None:
        return None
    strain, q = table.axial_strain[: peak.row + 1], table.deviator_kPa[: peak.row + 1]
    known = compressed(strain, inf) & (np.abs(q) <= GREATEST)
    strain, q = strain[known], q[known]
    half = peak.deviator_kPa / 2.0
    after = int(np.argmax(q >= half))
    if after == 0:
        return None
    share = (half - q[after - 1]) / (q[after] - q[after - 1])
    at = float(strain[after - 1] + share * (strain[after] - strain[after - 1]))
    return _Half(strain, q, after, half, at) if at > RESOLVED else None


class _Line(NamedTuple):
    slope: float
    correlation: float


def _line(x: Column, y: Column) -> _Line | None:
    across, along = x - x.mean(), y - y.mean()
    spread, rise = float(across @ across), float(along @ along)
    if not (spread > RESOLVED**2 and rise > 0.0):
        return None
    together = float(across @ along)
    return _Line(together / spread, together / (spread * rise) ** 0.5)
