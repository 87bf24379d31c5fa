"""The soils that can be rehearsed: all invented, each with the parameters of its models.

Stresses in kPa, compression positive. Skeleton compressibility is the small-strain one that
governs Skempton's B; compression during consolidation follows λ and κ.
"""

import math
from dataclasses import dataclass, replace
from random import Random
from typing import Literal


@dataclass(frozen=True, slots=True)
class Soil:
    """What a specimen is made of."""

    name: str
    title: str
    """Description for reports."""
    model: Literal["cam clay", "sand"]
    particle_density_Mg_m3: float
    void_ratio: float
    """At set-up. [-]"""
    saturation: float
    """Degree of saturation when back pressure first rises. [-]"""
    skeleton_per_kPa: float
    """Bulk compressibility of the skeleton at small strain. [1/kPa]"""
    dissolving_h: float
    """Time constant with which pore gas goes into solution. [h]"""
    settling_s: float
    """Time constant with which the pressure at the base follows that of the pores. [s]"""
    friction_deg: float
    """φ′ at critical state. [°]"""
    poisson: float
    cv_m2_year: float
    """Coefficient of consolidation. [m²/year]"""
    secondary: float
    """Volumetric strain per log cycle of secondary compression. [-]"""
    lambda_: float
    """Slope of the normal compression line in v - ln p′. [-]"""
    kappa: float
    """Slope of a swelling line in v - ln p′. [-]"""
    preconsolidation_kPa: float
    """Isotropic yield stress at set-up."""
    structure: float = 1.0
    """Size of the yield surface over that of the same soil remoulded; 1 = none. [-]"""
    structure_decay: float = 0.0
    """How fast shearing destroys structure, per plastic shear strain. [-]"""
    approach: float = 60.0
    """How fast an overconsolidated state approaches the yield surface. [-]"""
    liquid_limit: float | None = None
    plastic_limit: float | None = None
    critical_void_ratio: float = 0.0
    """Of sand, extrapolated to p′ = 0. [-]"""
    critical_slope: float = 0.0
    """Of sand: drop of the critical void ratio at p′ = 100 kPa. [-]"""
    shear_constant: float = 0.0
    """Of sand: G = constant · pa · f(e) · √(p′/pa). [-]"""

    @property
    def critical_ratio(self) -> float:
        """M = 6 sin φ′ / (3 - sin φ′), q over p′ at critical state in compression. [-]"""
        sine = math.sin(math.radians(self.friction_deg))
        return 6.0 * sine / (3.0 - sine)

    @property
    def porosity(self) -> float:
        return self.void_ratio / (1.0 + self.void_ratio)


SOILS: dict[str, Soil] = {
    soil.name: soil
    for soil in (
        Soil(
            "soft-clay",
            "soft grey marine CLAY with shell fragments",
            "cam clay",
            particle_density_Mg_m3=2.74,
            void_ratio=1.32,
            saturation=0.965,
            skeleton_per_kPa=1.5e-4,
            dissolving_h=9.0,
            settling_s=200.0,
            friction_deg=26.5,
            poisson=0.25,
            cv_m2_year=1.3,
            secondary=0.004,
            lambda_=0.17,
            kappa=0.028,
            preconsolidation_kPa=55.0,
            structure=1.35,
            structure_decay=9.0,
            liquid_limit=0.52,
            plastic_limit=0.25,
        ),
        Soil(
            "silty-clay",
            "firm grey silty CLAY",
            "cam clay",
            particle_density_Mg_m3=2.71,
            void_ratio=0.88,
            saturation=0.972,
            skeleton_per_kPa=1.1e-4,
            dissolving_h=14.0,
            settling_s=150.0,
            friction_deg=29.0,
            poisson=0.25,
            cv_m2_year=2.4,
            secondary=0.0025,
            lambda_=0.10,
            kappa=0.017,
            preconsolidation_kPa=80.0,
            structure=1.2,
            structure_decay=9.0,
            liquid_limit=0.36,
            plastic_limit=0.20,
        ),
        Soil(
            "stiff-clay",
            "stiff brown fissured CLAY",
            "cam clay",
            particle_density_Mg_m3=2.70,
            void_ratio=0.62,
            saturation=0.985,
            skeleton_per_kPa=0.6e-4,
            dissolving_h=20.0,
            settling_s=260.0,
            friction_deg=24.0,
            poisson=0.22,
            cv_m2_year=4.5,
            secondary=0.001,
            lambda_=0.07,
            kappa=0.014,
            preconsolidation_kPa=900.0,
            approach=40.0,
            liquid_limit=0.48,
            plastic_limit=0.22,
        ),
        Soil(
            "silt",
            "grey sandy SILT",
            "cam clay",
            particle_density_Mg_m3=2.68,
            void_ratio=0.78,
            saturation=0.955,
            skeleton_per_kPa=1.3e-4,
            dissolving_h=12.0,
            settling_s=60.0,
            friction_deg=32.0,
            poisson=0.25,
            cv_m2_year=25.0,
            secondary=0.001,
            lambda_=0.06,
            kappa=0.009,
            preconsolidation_kPa=60.0,
            liquid_limit=0.26,
            plastic_limit=0.21,
        ),
        Soil(
            "loose-sand",
            "loose fine SAND",
            "sand",
            particle_density_Mg_m3=2.65,
            void_ratio=0.86,
            saturation=0.968,
            skeleton_per_kPa=1.2e-4,
            dissolving_h=30.0,
            settling_s=12.0,
            friction_deg=32.0,
            poisson=0.15,
            cv_m2_year=1800.0,
            secondary=0.0,
            lambda_=0.02,
            kappa=0.006,
            preconsolidation_kPa=120.0,
            critical_void_ratio=0.88,
            critical_slope=0.024,
            shear_constant=110.0,
        ),
        Soil(
            "dense-sand",
            "dense medium SAND",
            "sand",
            particle_density_Mg_m3=2.65,
            void_ratio=0.66,
            saturation=0.974,
            skeleton_per_kPa=0.9e-4,
            dissolving_h=30.0,
            settling_s=10.0,
            friction_deg=32.5,
            poisson=0.12,
            cv_m2_year=2600.0,
            secondary=0.0,
            lambda_=0.008,
            kappa=0.004,
            preconsolidation_kPa=400.0,
            critical_void_ratio=0.87,
            critical_slope=0.022,
            shear_constant=130.0,
        ),
    )
}
"""By the name that the command line takes."""


def varied(soil: Soil, seed: int, spread: float = 1.0) -> Soil:
    """A neighbour of the soil: the same ground, another sample.

    Args:
        seed: 0 gives the soil itself; the same seed gives the same neighbour.
        spread: how far the neighbour may lie, over the spread of a ground's samples. [-]

    Returns:
        The soil with its void ratio, saturation, stiffness, friction and cv moved by a few
        per cent (cv: up to a quarter).

    Example:
        >>> varied(SOILS["silt"], 7) == varied(SOILS["silt"], 7) != SOILS["silt"]
        True
    """
    if seed == 0:
        return soil
    dice = Random(f"{soil.name} {seed}")

    def about(value: float, most: float) -> float:
        return value * (1.0 + spread * most * (2.0 * dice.random() - 1.0))

    return replace(
        soil,
        void_ratio=about(soil.void_ratio, 0.03),
        saturation=1.0 - about(1.0 - soil.saturation, 0.15),
        skeleton_per_kPa=about(soil.skeleton_per_kPa, 0.10),
        friction_deg=about(soil.friction_deg, 0.03),
        cv_m2_year=about(soil.cv_m2_year, 0.25),
        preconsolidation_kPa=about(soil.preconsolidation_kPa, 0.10),
    )
