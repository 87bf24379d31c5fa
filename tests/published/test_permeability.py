"""Permeability from consolidation: units by `pint`, water by `iapws`, answers as printed."""

import pint
import pytest
from iapws import IAPWS95

from reduce.permeability import WATER_UNIT_WEIGHT_20_C, at_20_C, permeability
from reduce.water import ATMOSPHERE_KPA

UNITS: pint.UnitRegistry[float] = pint.UnitRegistry()


def water(temperature: float) -> IAPWS95:
    return IAPWS95(T=temperature + 273.15, P=ATMOSPHERE_KPA / 1000.0)


def test_unit_weight_of_water() -> None:
    theirs = (water(20.0).rho * UNITS("kg/m^3") * UNITS("standard_gravity")).to("kN/m^3")
    assert pytest.approx(theirs.magnitude, rel=5e-6) == WATER_UNIT_WEIGHT_20_C


@pytest.mark.parametrize(("cv", "mv"), [(1.4901, 0.3094), (0.1, 1.5), (40.0, 0.02)])
def test_factor_by_pint(cv: float, mv: float) -> None:
    # the year of the trade has 365 days
    theirs = (
        cv * UNITS("m^2") / (365 * UNITS("day")) * mv * UNITS("m^2/MN") * 9.81 * UNITS("kN/m^3")
    )
    assert permeability(cv, mv, 9.81) == pytest.approx(theirs.to("m/s").magnitude, rel=1e-12)


def test_gate_exam_question() -> None:
    """GATE CE, public answer (printed): 6 m of clay, drained at both faces, t50 2 years.

    Tv 0.196, mv 1.51e-3 m²/kN, γw 9.81 kN/m³: k 0.013 m/year.
    """
    cv = 0.196 * 3.0**2 / 2.0
    k_m_per_year = permeability(cv, 1.51, 9.81) * 365.0 * 86400.0
    assert k_m_per_year == pytest.approx(0.013, abs=0.0005)


def test_synthetic_specimen() -> None:
    """38 mm, both ends and radial, t100 16 min: cv 2.835 mm²/min; mv 0.3094 m²/MN.

    Recomputed, no published answer: k 1.43e-10 m/s.
    """
    assert permeability(2.835 * 0.5256, 0.3094) == pytest.approx(1.43e-10, abs=0.005e-10)


@pytest.mark.parametrize("temperature", [5.0, 12.0, 18.0, 24.0, 35.0])
def test_permeability_at_20_degrees_by_intrinsic_permeability(temperature: float) -> None:
    """k = K ρ g/μ with water by IAPWS; the change of density, up to 0.5 %, is left out."""

    def k(at: float) -> float:
        return 1e-17 * water(at).rho * 9.80665 / water(at).mu

    assert at_20_C(k(temperature), temperature) == pytest.approx(k(20.0), rel=0.005 + 0.005)


@pytest.mark.parametrize("temperature", [15.0, 20.0, 25.0, 30.0])
def test_ratio_after_astm_d5084(temperature: float) -> None:
    """R_T = 2.2902 · 0.9842^T/T^0.1702 (from memory), good to 0.3 % at these temperatures."""
    ratio = 2.2902 * 0.9842**temperature / temperature**0.1702
    assert at_20_C(1.0, temperature) == pytest.approx(ratio, rel=3e-3)
