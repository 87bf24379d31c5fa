"""Sand whose peak and dilation follow the distance of its void ratio from the critical one.

ψ = e - e_critical(p′). The ratio η = q/p′ strives for M exp(-1.1 ψ); the volume shrinks while η is
below M exp(2.6 ψ) and grows above it. Dense sand (ψ < 0) peaks and dilates and loses ψ on the way;
loose sand contracts, and undrained it may lose most of its strength.
Compression positive, stresses in kPa, strains as ratios.

Source:
    Been & Jefferies (1985) for ψ; the two ratios as exponentials of ψ after Li & Dafalias (2000)
    and Dafalias & Manzari (2004), triaxial and monotonic only. Constants invented.
"""

import math

from reduce.rehearsal.curve import ShearCurve, ShearPoint
from reduce.rehearsal.pores import ATMOSPHERE_KPA
from reduce.rehearsal.soils import Soil

_BOUND = 1.1
_TURN = 2.6
_DILATION = 0.62
_HARDENING = 1.1


def critical_void_ratio(soil: Soil, mean_effective_kPa: float) -> float:
    """Void ratio at which sand shears without changing volume. [-]"""
    return soil.critical_void_ratio - soil.critical_slope * math.pow(
        mean_effective_kPa / 100.0, 0.7
    )


def shear_sand(
    soil: Soil,
    effective_kPa: float,
    void_ratio: float,
    strain_limit: float,
    drained: bool,
    step: float = 2e-4,
    lowest_excess_kPa: float = -math.inf,
) -> ShearCurve:
    """Axial compression from an isotropic state at constant cell pressure.

    Args:
        soil: its parameters.
        effective_kPa: p′ at the start.
        void_ratio: at the start. [-]
        strain_limit: axial strain at the end. [-]
        drained: whether water may leave.
        step: axial strain between two points of the answer. [-]
        lowest_excess_kPa: change of pore pressure at which the water cavitates; from there on the
            pores grow at constant pressure though the valve is closed.

    Returns:
        The curve, from strain 0.
    """
    critical = soil.critical_ratio
    p, q, e = effective_kPa, 0.0, void_ratio
    strain, volume_strain = 0.0, 0.0
    points = [ShearPoint(0.0, 0.0, p, 0.0)]
    parts = 8
    small = step / parts
    for _ in range(round(strain_limit / step)):
        for _ in range(parts):
            shear = (
                soil.shear_constant
                * ATMOSPHERE_KPA
                * (2.97 - e) ** 2
                / (1.0 + e)
                * math.sqrt(p / ATMOSPHERE_KPA)
            )
            bulk = shear * 2.0 * (1.0 + soil.poisson) / (3.0 * (1.0 - 2.0 * soil.poisson))
            psi = e - critical_void_ratio(soil, p)
            eta = q / p
            bound = critical * math.exp(-_BOUND * psi)
            # The modulus is that of a path which began at η = 0; 0.05 keeps it finite there.
            hardening = _HARDENING * shear / p * (bound - eta) / (eta + 0.05)
            dilation = _DILATION * (critical * math.exp(_TURN * psi) - eta)
            if drained or effective_kPa + q / 3.0 - p <= lowest_excess_kPa:
                slope = p * hardening / (3.0 - eta)
                plastic = (
                    3.0
                    * shear
                    * small
                    / (3.0 * slope + shear * slope / bulk + shear * dilation + 3.0 * shear)
                )
                dp = slope * plastic
                dq = 3.0 * dp
                change = dp / bulk + dilation * plastic
            else:
                plastic = (
                    3.0 * shear * small / (3.0 * shear + p * hardening - eta * bulk * dilation)
                )
                dp = -bulk * dilation * plastic
                dq = 3.0 * shear * (small - plastic)
                change = 0.0
            e -= (1.0 + void_ratio) * change
            volume_strain += change
            p = max(p + dp, 1.0)
            q = max(q + dq, 0.0)
        strain += step
        points.append(ShearPoint(strain, q, p, volume_strain))
    return ShearCurve(tuple(points), drained)
