"""The load that the specimen carries: a reading freed of cell pressure and friction.

Compression is positive. The load is that beyond cell pressure, which acts on the specimen from all
sides and makes no deviator.
"""

from dataclasses import dataclass

import numpy as np

from reduce.columns import Values
from reduce.errors import ReductionError
from reduce.record import Piston
from reduce.specimen import cylinder_area


@dataclass(frozen=True, slots=True)
class Freeing:
    """What is to be taken from a reading: (cell pressure − zeroed_at) · N_per_kPa + friction."""

    N_per_kPa: float = 0.0
    """Of cell pressure on the piston; zero where the load cell does not feel it."""
    zeroed_at_kPa: float = 0.0
    friction_N: float = 0.0


def freeing(piston: Piston | None) -> Freeing:
    """What frees the readings of this load cell.

    An internal load cell feels neither the lifted piston nor its friction. An external one feels
    all of the cell pressure ("computed"), or only what came after it was zeroed ("zeroed at
    pressure"): it is never corrected for what its zero already contains. Friction that was part
    of that zero, because the piston ran in while the load cell was zeroed, is not to be stated.

    Args:
        piston: None: not described, taken as an internal load cell.

    Returns:
        The coefficients.

    Raises:
        ReductionError: an external load cell of which it is not said how it is freed of the
            uplift, or a piston without a diameter.

    Source:
        Statics; Liu and Evett, Soil Properties: Testing, Measurement and Evaluation, p. 351: zero
        uplift and friction at test pressure, or measure and correct.

    Example:
        >>> freeing(Piston(20.0, "internal"))
        Freeing(N_per_kPa=0.0, zeroed_at_kPa=0.0, friction_N=0.0)
    """
    if piston is None or piston.load_cell == "internal":
        return Freeing()
    if piston.uplift is None:
        raise ReductionError(
            "an external load cell feels cell pressure lift the piston; its uplift must be "
            '"zeroed at pressure" or "computed"'
        )
    zeroed_at = piston.zeroed_at_kPa if piston.uplift == "zeroed at pressure" else 0.0
    return Freeing(piston_uplift(1.0, piston.diameter_mm), zeroed_at, piston.friction_N)


def piston_uplift(pressure: Values, diameter: float) -> Values:
    """Force with which cell pressure lifts a piston: pressure times the piston's area.

    Args:
        pressure: one number or (n,). [kPa]
        diameter: of the piston. [mm]

    Returns:
        The force. [N]

    Raises:
        ReductionError: the diameter is not above zero.

    Source:
        Statics.

    Example:
        >>> round(piston_uplift(500.0, 19.0), 1)
        141.8
    """
    return pressure * (cylinder_area(diameter) / 1000.0)


def uplift(cell_pressure: Values, piston: Piston | None) -> Values:
    """The part of a load reading that is only cell pressure lifting the piston.

    Args:
        cell_pressure: one number or (n,); NaN stays NaN where the load cell feels it. [kPa]
        piston: as in `freeing`.

    Returns:
        To be taken from the reading. [N]

    Raises:
        ReductionError: as `freeing`.

    Source:
        As `freeing`.

    Example:
        >>> outside = Piston(20.0, "external", "zeroed at pressure", zeroed_at_kPa=450.0)
        >>> uplift(450.0, outside), round(uplift(460.0, outside), 2)
        (0.0, 3.14)
    """
    of = freeing(piston)
    if of.N_per_kPa == 0.0:
        return np.zeros_like(cell_pressure) if isinstance(cell_pressure, np.ndarray) else 0.0
    return (cell_pressure - of.zeroed_at_kPa) * of.N_per_kPa


def specimen_load(load: Values, cell_pressure: Values, piston: Piston | None) -> Values:
    """Axial load that the specimen carries: reading − uplift − friction.

    Friction is that of a piston that goes in; nothing is known of it when the ram turns back.

    Args:
        load: reading, one number or (n,). [N]
        cell_pressure: likewise. [kPa]
        piston: as in `freeing`.

    Returns:
        The load beyond cell pressure; NaN where a reading it needs is. [N]

    Raises:
        ReductionError: as `freeing`.

    Source:
        As `freeing`.

    Example:
        >>> outside = Piston(20.0, "external", "computed", friction_N=8.0)
        >>> round(specimen_load(300.0, 500.0, outside), 2)
        134.92
        >>> specimen_load(300.0, 500.0, Piston(20.0, "internal"))
        300.0
    """
    return load - uplift(cell_pressure, piston) - freeing(piston).friction_N
