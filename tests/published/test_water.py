"""Water against IAPWS-95, by somebody else's code (`iapws`), at 101.325 kPa."""

import numpy as np
import pytest
from iapws import IAPWS95

from reduce.water import ATMOSPHERE_KPA, COMPRESSIBILITY_PER_KPA, viscosity_ratio, water_density

TEMPERATURES = (0.5, 5.0, 10.0, 15.0, 20.0, 25.0, 30.0, 39.5)


def theirs(temperature: float) -> IAPWS95:
    return IAPWS95(T=temperature + 273.15, P=ATMOSPHERE_KPA / 1000.0)


@pytest.mark.parametrize("temperature", TEMPERATURES)
def test_density(temperature: float) -> None:
    # The two formulations state 0.001 kg/m³ each
    assert water_density(temperature) * 1000.0 == pytest.approx(theirs(temperature).rho, abs=2e-3)


@pytest.mark.parametrize("temperature", TEMPERATURES)
def test_viscosity_ratio(temperature: float) -> None:
    ratio = theirs(temperature).mu / theirs(20.0).mu
    assert viscosity_ratio(temperature) == pytest.approx(ratio, rel=5e-3)


def test_compressibility() -> None:
    # iapws gives it per MPa; three digits are ours
    assert pytest.approx(theirs(20.0).kappa / 1000.0, rel=2e-3) == COMPRESSIBILITY_PER_KPA


def test_density_is_greatest_at_four_degrees() -> None:
    temperatures = np.arange(0.0, 10.01, 0.01)
    assert temperatures[np.argmax(water_density(temperatures))] == pytest.approx(3.98, abs=0.01)
