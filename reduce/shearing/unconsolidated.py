"""Undrained shear strength of one unconsolidated specimen, in total stresses."""

from dataclasses import dataclass

from reduce.shearing.failure import Failures
from reduce.stresses import shear_stress


@dataclass(frozen=True, slots=True)
class UndrainedStrength:
    """Failure of a UU specimen."""

    strength_kPa: float
    """su = q/2."""
    deviator_kPa: float
    """q at failure."""
    axial_strain: float
    """ε1 at failure. [-]"""
    sigma1_kPa: float | None
    """Major total stress; None where cell pressure was not read."""
    sigma3_kPa: float | None
    """Minor total stress."""
    at_strain_limit: bool
    """Taken at the strain limit, because the deviator still rose there."""
    still_rising: bool
    """The deviator rose up to the limit or the last reading: the specimen can carry more."""


def undrained_strength(failures: Failures) -> UndrainedStrength | None:
    """Undrained shear strength: half of the greatest deviator up to the strain limit.

    It is the radius of one circle in total stresses, a strength of the soil as it was sampled, at
    the rate of the test. Where the deviator still rises at the limit, that between the two
    readings around it counts, if it is the greatest.

    Args:
        failures: from `failure_states`, whose strain limit counts.

    Returns:
        The strength; None where no reading shows a failure, see `failures.why`.

    Source:
        ASTM D2850 (greatest deviator or that at 15 % strain, whichever comes first, from memory);
        ISO 17892-8; cu of a φ = 0 soil: NPTEL course 105103097, chapter 9.

    Example:
        >>> import numpy as np
        >>> from reduce.shearing.failure import failure_states
        >>> from reduce.shearing.table import ShearSetting, shear_table
        >>> setting = ShearSetting("UU", "ASTM D2850", 1000.0, 100.0, 100.0)
        >>> table = shear_table(setting, {
        ...     "axial_displacement": np.array([0.0, 2.0, 4.0]),
        ...     "axial_load": np.array([0.0, 100.0, 90.0]),
        ...     "cell_pressure": np.full(3, 200.0)})
        >>> found = undrained_strength(failure_states(table, 0.15))
        >>> found.strength_kPa, found.sigma1_kPa, found.sigma3_kPa
        (49.0, 298.0, 200.0)
    """
    state, limit = failures.peak_deviator, failures.at_strain_limit
    if state is None or state.deviator_kPa is None:
        return None
    q_limit = None if limit is None else limit.deviator_kPa
    beyond = q_limit is not None and q_limit > state.deviator_kPa
    if beyond and limit is not None:
        state = limit
    assert state.deviator_kPa is not None
    assert state.axial_strain is not None
    return UndrainedStrength(
        strength_kPa=shear_stress(state.deviator_kPa),
        deviator_kPa=state.deviator_kPa,
        axial_strain=state.axial_strain,
        sigma1_kPa=state.sigma1_kPa,
        sigma3_kPa=state.sigma3_kPa,
        at_strain_limit=beyond,
        still_rising=failures.still_rising,
    )
