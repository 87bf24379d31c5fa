"""Whether water of the cell leaks into the specimen: late volume change against shortening.

Late in consolidation both go with log time. In an isotropic specimen volume strain is three times
axial strain; water that comes through the membrane leaves by the back pressure line and counts as
volume change, but shortens nothing.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from reduce.columns import Column
from reduce.early_line import straight_line
from reduce.errors import require_positive
from reduce.forecast.outcome import columns

_FEWEST = 5
MARKED = 1.5
"""Slope ratio from which the divergence is called marked: common practice, no source. [-]"""
RESOLVED = 0.0005
"""Difference below which no gauge tells: its accuracy after ASTM D4767, from memory. [-]"""


@dataclass(frozen=True, slots=True)
class LateSlopes:
    """How fast volume and height still change, per tenfold time; None where it cannot be told."""

    volume: float | None = None
    """d(ΔV/V0)/d(log10 t). [-]"""
    height: float | None = None
    """3 d(ΔH/H0)/d(log10 t). [-]"""
    standard_uncertainty: float | None = None
    """Of their difference, from the scatter of the readings. [-]"""
    diverge: bool | None = None
    """Volume goes on markedly faster than height: a leak from the cell is suspected."""
    why: str | None = None
    """In words: why it cannot be told."""


def late_slopes(
    times_min: ArrayLike,
    volume_change_ml: ArrayLike,
    shortening_mm: ArrayLike,
    *,
    volume_ml: float,
    height_mm: float,
    from_min: float,
) -> LateSlopes:
    """Compare the late slopes of volume change and axial shortening on log time.

    volume = d(ΔV/V0)/d(log10 t);  height = 3 d(ΔH/H0)/d(log10 t)

    They diverge where the volume slope is over 1.5 times the height slope and lies above it by more
    than three standard deviations and 0.05 % of the volume. Anisotropic soil may shorten by less
    than a third of its volume strain: a ratio that was the same before t100 is no leak.

    Args:
        times_min: (n,) since drainage opened; rows with NaN are left out. [min]
        volume_change_ml: (n,) positive when the specimen shrinks. [ml]
        shortening_mm: (n,) positive when it shortens; the ram must follow the specimen. [mm]
        volume_ml: V0. [ml]
        height_mm: H0. [mm]
        from_min: where the late part begins, such as t100. [min]

    Returns:
        Both slopes and whether they diverge, or `why` not.

    Raises:
        ReductionError: columns of unequal length, or V0 or H0 not above zero.

    Source:
        ASTM D4767, end of consolidation: a marked divergence towards the end indicates leakage from
        the chamber (from memory); the bounds are common practice, no source.

    Example:
        >>> t = [100, 200, 400, 800, 1600]
        >>> flow = [5.0, 5.1, 5.2, 5.3, 5.4]
        >>> late_slopes(t, flow, [1.5, 1.5, 1.5, 1.5, 1.5], volume_ml=86.2, height_mm=76.0,
        ...             from_min=100).diverge
        True
    """
    times, volume, height = columns(times_min, volume_change_ml, shortening_mm)
    volume = volume / require_positive("volume", volume_ml, "ml")
    height = 3.0 * height / require_positive("height", height_mm, "mm")
    late = np.isfinite(times) & np.isfinite(volume) & np.isfinite(height)
    late &= times >= max(from_min, 1e-9)
    if late.sum() < _FEWEST or float(np.ptp(times[late])) <= 0.0:
        return LateSlopes(
            why=f"{int(late.sum())} readings from {from_min:g} min on; {_FEWEST} are needed"
        )
    log = np.log10(times[late])
    flow, flow_deviation = _slope(log, volume[late])
    fall, fall_deviation = _slope(log, height[late])
    deviation = math.hypot(flow_deviation, fall_deviation)
    apart = flow - fall
    return LateSlopes(
        volume=flow,
        height=fall,
        standard_uncertainty=deviation,
        diverge=flow > MARKED * max(fall, 0.0) and apart > max(3.0 * deviation, RESOLVED),
    )


def _slope(log: Column, strain: Column) -> tuple[float, float]:
    """Slope and its standard deviation."""
    at, slope = straight_line(log, strain)
    rest = strain - at - slope * log
    across = float(((log - log.mean()) ** 2).sum())
    return slope, math.sqrt(float(rest @ rest) / (len(log) - 2) / across)
