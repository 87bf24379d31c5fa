"""Advised rates: words, what is lacking, limits; times by theory: laws. Values: tests/published."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as some

from reduce.drainage import DRAINAGES
from reduce.errors import ReductionError
from reduce.shearing.pore_pressure_times import drainage_eta, drained_time, equalised_time
from reduce.shearing.rates import AdvisedRate, advised_rate, bs_factor

TIMES = {"t50_min": 20.0, "t90_min": 86.0, "t100_min": 80.0}


@pytest.mark.parametrize(
    ("standard", "kind", "basis"),
    [
        ("ASTM D4767", "CU", "after ASTM D4767: 4 % in 10 t50"),
        ("ASTM D7181", "CD", "after ASTM D7181: 4 % in 16 t90"),
        ("BS 1377-8", "CU", "after BS 1377-8: 4 % in 2.1 t100"),
        ("BS 1377-8", "CD", "after BS 1377-8: 4 % in 8.5 t100"),
        ("ISO 17892-9", "CU", "after ISO 17892-9: 4 % in 8.4 t50"),
        ("ISO 17892-9", "CD", "after ISO 17892-9: 4 % in 34 t50"),
        ("ASTM D2850", "UU", "after ASTM D2850: about 1 %/min"),
        ("ISO 17892-8", "UU", "after ISO 17892-8: about 1 %/min"),
    ],
)
def test_the_rule_in_words(standard: str, kind: str, basis: str) -> None:
    advice = advised_rate(standard, kind, drainage="both ends", **TIMES)
    assert advice.basis == basis
    assert advice.rate_percent_per_min is not None
    assert advice.time_to_failure_min is not None
    assert advice.rate_percent_per_min * advice.time_to_failure_min == pytest.approx(4.0)


def test_the_least_time_is_said() -> None:
    advice = advised_rate("BS 1377-8", "CU", drainage="one end", t100_min=10.0)
    assert advice == AdvisedRate(4.0 / 120.0, 120.0, "after BS 1377-8: 4 % in no less than 120 min")


@pytest.mark.parametrize(
    ("given_", "basis"),
    [
        (("ASTM D4767", "CU", {"t90_min": 9.0}), "10 t50; t50 is not known"),
        (("ASTM D7181", "CD", {"t50_min": 9.0}), "16 t90; t90 is not known"),
        (("ASTM D4767", "CU", {"t50_min": math.nan}), "t50 is not known"),
        (("ASTM D4767", "CU", {"t50_min": 0.0}), "t50 is not known"),
        (("BS 1377-8", "CU", {"drainage": "radial"}), "t100 is not known"),
        (("BS 1377-8", "CU", {"t100_min": 9.0}), "needs the drainage"),
        (("ISO 17892-9", "CD", {"drainage": "upwards", "t50_min": 9.0}), "needs the drainage"),
        (("ISO 17892-9", "CD", {"drainage": "radial"}), "t50 is not known"),
        (("BS 1377-8", "UU", {}), "no rate of an unconsolidated test is known"),
        (("house rules", "CU", TIMES), "no rate is known after house rules"),
        (("ASTM D4767", "oedometer", TIMES), "no rate is known of a test oedometer"),
    ],
)
def test_what_is_lacking_is_said(given_: tuple[str, str, dict[str, float]], basis: str) -> None:
    standard, kind, more = given_
    advice = advised_rate(standard, kind, **more)  # type: ignore[arg-type]
    assert advice.rate_percent_per_min is None
    assert advice.time_to_failure_min is None
    assert basis in advice.basis


def test_brittle_soil_is_sheared_slower() -> None:
    slow = advised_rate("ASTM D2850", "UU", brittle=True)
    assert slow.basis.endswith("of brittle soil")


def test_values_out_of_bounds() -> None:
    with pytest.raises(ReductionError, match="failure strain is 0"):
        advised_rate("ASTM D4767", "CU", t50_min=9.0, failure_strain=0.0)
    with pytest.raises(ReductionError, match="H/D is 0"):
        bs_factor("CU", "radial", 0.0)
    with pytest.raises(ReductionError, match="no factor is known"):
        bs_factor("UU", "radial")
    with pytest.raises(ReductionError, match="drainage is 'upwards'"):
        drainage_eta("upwards", 2.0)
    with pytest.raises(ReductionError, match="cv is 0"):
        drained_time("radial", cv_m2_year=0.0, height_mm=76.0, diameter_mm=38.0)
    with pytest.raises(ReductionError, match="degree of dissipation is 1"):
        drained_time("radial", cv_m2_year=1.0, height_mm=76.0, diameter_mm=38.0, dissipated=1.0)
    with pytest.raises(ReductionError, match="diameter is -1"):
        equalised_time(True, cv_m2_year=1.0, height_mm=76.0, diameter_mm=-1.0)


@given(
    some.sampled_from(["ASTM D4767", "BS 1377-8", "ISO 17892-9"]),
    some.sampled_from(["CU", "CD"]),
    some.sampled_from(DRAINAGES),
    some.floats(1.7, 2.6),
    some.floats(1.0, 5000.0),
    some.floats(0.01, 0.2),
)
def test_slower_soil_is_sheared_slower(
    standard: str, kind: str, drainage: str, slenderness: float, minutes: float, strain: float
) -> None:
    def rate(longer: float) -> float:
        time = minutes * longer
        found = advised_rate(
            standard,
            kind,
            drainage=drainage,
            slenderness=slenderness,
            t50_min=time,
            t90_min=4.3 * time,
            t100_min=4.0 * time,
            failure_strain=strain,
        ).rate_percent_per_min
        assert found is not None
        return found

    assert rate(2.0) <= rate(1.0)
    if standard != "BS 1377-8":
        assert rate(2.0) == pytest.approx(rate(1.0) / 2.0)


@given(some.sampled_from(DRAINAGES), some.floats(0.5, 6.0))
def test_more_surface_drains_faster(drainage: str, slenderness: float) -> None:
    eta = drainage_eta(drainage, slenderness)
    radial = "radial" in drainage
    assert eta >= (32.0 if radial else 0.0) * (1 - 1e-6)
    if "one end" in drainage:
        both = drainage.replace("one end", "both ends")
        assert drainage_eta(both, slenderness) > eta
        # two drained ends are one at half of the height
        assert drainage_eta(both, 2.0 * slenderness) == pytest.approx(eta, rel=1e-9)
        assert drainage_eta(drainage, 2.0 * slenderness) < eta
