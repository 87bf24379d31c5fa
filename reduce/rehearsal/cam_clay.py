"""Modified Cam clay in the triaxial cell, with a smooth approach to yield and fading structure.

Yield surface f = p′ + q²/(M² p′) = R ps. ps hardens with plastic volume change and shrinks while
shearing destroys structure; R < 1 marks an overconsolidated state and grows towards 1 with plastic
strain. With R = 1 and no structure this is the model of the textbooks.
Compression positive, stresses in kPa, strains as ratios.

Source:
    Roscoe & Burland (1968) for the surface and the flow rule; Hashiguchi (1989) for the growth of
    a surface inside it. The fading of structure is an exponential of our own choice.
"""

import math

from reduce.rehearsal.curve import ShearCurve, ShearPoint
from reduce.rehearsal.soils import Soil


def shear_clay(
    soil: Soil,
    effective_kPa: float,
    yield_kPa: float,
    void_ratio: float,
    strain_limit: float,
    drained: bool,
    step: float = 2e-4,
) -> ShearCurve:
    """Axial compression from an isotropic state at constant cell pressure.

    Args:
        soil: its parameters.
        effective_kPa: p′ at the start.
        yield_kPa: size of the yield surface at the start, at least `effective_kPa`.
        void_ratio: at the start. [-]
        strain_limit: axial strain at the end. [-]
        drained: whether water may leave.
        step: axial strain between two points of the answer. [-]

    Returns:
        The curve, from strain 0.
    """
    m2 = soil.critical_ratio**2
    p, q, ps, r = effective_kPa, 0.0, max(yield_kPa, effective_kPa), soil.structure
    volume_strain, strain = 0.0, 0.0
    specific = 1.0 + void_ratio
    points = [ShearPoint(0.0, 0.0, p, 0.0)]
    parts = 8
    small = step / parts
    for _ in range(round(strain_limit / step)):
        for _ in range(parts):
            bulk = specific * (1.0 - volume_strain) * p / soil.kappa
            shear = 1.5 * bulk * (1.0 - 2.0 * soil.poisson) / (1.0 + soil.poisson)
            f = p + q * q / (m2 * p)
            ratio = f / ps
            fp, fq = 1.0 - q * q / (m2 * p * p), 2.0 * q / (m2 * p)
            harden = specific / (soil.lambda_ - soil.kappa) * fp
            fade = soil.structure_decay * (r - 1.0) / r * fq
            growth = -soil.approach * math.log(min(ratio, 1.0)) * math.hypot(fp, fq)
            modulus = f * (harden - fade) + ps * growth
            if drained:
                along = fp + 3.0 * fq
                stiff = modulus * (1.0 + shear / (3.0 * bulk)) / along + shear * along / 3.0
                multiplier = shear * small / stiff
                dp = multiplier * modulus / along
                dq = 3.0 * dp
                volume_strain += dp / bulk + multiplier * fp
            else:
                stiff = modulus + bulk * fp * fp + 3.0 * shear * fq * fq
                multiplier = 3.0 * shear * fq * small / stiff
                dp = -bulk * multiplier * fp
                dq = 3.0 * shear * (small - multiplier * fq)
            ps *= 1.0 + (harden - fade) * multiplier
            r -= soil.structure_decay * (r - 1.0) * multiplier * fq
            p = max(p + dp, 0.5)
            q += dq
        strain += step
        points.append(ShearPoint(strain, q, p, volume_strain))
    return ShearCurve(tuple(points), drained)
