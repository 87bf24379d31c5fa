"""Channels as numbers; the unit factors are those of the definitions (1 psi = 6.894757 kPa,
1 in = 25.4 mm, SI brochure and NIST SP 811)."""

from typing import Any

import pytest

from tui.settings.cell_toml import Log
from tui.settings.resolved import ResolvedChannel, resolve_channels, to_internal


def resolved(**channels: Any) -> dict[str, tuple[ResolvedChannel, ...]]:
    return resolve_channels(Log.model_validate({"channels": channels}))


def test_ranges_are_those_of_the_channel_after_zero_and_in_its_internal_unit() -> None:
    (gauge,) = resolved(
        cell_pressure={"column": "Pc", "unit": "psi", "zero": "0.3 psi", "range": "0 to 150 psi"}
    )["cell_pressure"]
    assert gauge.zero_in_unit == 0.3
    assert gauge.range_low == pytest.approx(-0.3 * 6.894757, rel=1e-6)
    assert gauge.range_high == pytest.approx(149.7 * 6.894757, rel=1e-6)
    assert to_internal(gauge, 10.0) == pytest.approx(68.94757, rel=1e-6)


def test_a_zero_may_come_in_another_unit() -> None:
    (gauge,) = resolved(pore_pressure={"column": "u", "unit": "bar", "zero": "2 kPa"})[
        "pore_pressure"
    ]
    assert gauge.zero_in_unit == pytest.approx(0.02)


def test_a_gauge_that_counts_backwards_has_its_stroke_turned_round() -> None:
    (gauge,) = resolved(
        back_volume={
            "column": "V", "unit": "ml", "sign": -1, "zero": "30 ml",
            "stroke": "0 to 100 ml", "refill": "0.2 in3",
        }
    )["back_volume"]  # fmt: skip
    # Value = −(g − 30): a gauge at 100 ml shows −70 ml, an empty one +30 ml.
    assert (gauge.stroke_low, gauge.stroke_high) == (-70.0, 30.0)
    assert gauge.refill == pytest.approx(0.2 * 2.54**3)


def test_a_load_cell_with_compression_negative_keeps_its_capacity_both_ways() -> None:
    (gauge,) = resolved(
        axial_load={"column": "F", "unit": "kN", "sign": -1, "range": "0 to 10 kN"}
    )["axial_load"]
    assert (gauge.range_low, gauge.range_high) == (-10_000.0, 10_000.0)


def test_the_finest_load_cell_comes_first() -> None:
    gauges = resolved(
        axial_load=[
            {"column": "F2", "unit": "kN", "range": "0 to 10 kN"},
            {"column": "F1", "unit": "N", "range": "0 to 500 N"},
        ]
    )["axial_load"]
    assert [gauge.columns for gauge in gauges] == [("F1",), ("F2",)]


def test_a_shared_transducer_is_read_under_both_names() -> None:
    channels = resolved(
        pore_pressure={"column": "u", "unit": "kPa", "measured_at": "base", "datum": "35 mm"},
        back_pressure={"same_as": "pore_pressure"},
    )
    (back,), (pore,) = channels["back_pressure"], channels["pore_pressure"]
    assert (back.name, back.columns, back.unit, back.same_as) == (
        "back_pressure", ("u",), "kPa", "pore_pressure",
    )  # fmt: skip
    assert pore.same_as is None
    assert pore.datum_mm == 35.0


def test_same_as_follows_a_chain_and_a_circle_does_not_hang() -> None:
    chain = resolved(
        pore_pressure={"column": "u", "unit": "kPa"},
        back_pressure={"same_as": "pore_pressure"},
        cell_pressure={"same_as": "back_pressure"},
    )
    assert chain["cell_pressure"][0].columns == ("u",)
    circle = resolved(
        back_pressure={"same_as": "pore_pressure"}, pore_pressure={"same_as": "back_pressure"}
    )
    assert circle["back_pressure"][0].columns == ()


def test_a_falling_calibration_is_sorted_by_raw() -> None:
    (gauge,) = resolved(
        axial_displacement={"column": "d", "unit": "mm", "table": [[5, 0], [3, 10], [1, 25]]}
    )["axial_displacement"]
    assert gauge.table == ((1.0, 25.0), (3.0, 10.0), (5.0, 0.0))


def test_words_have_no_unit_and_temperature_shifts() -> None:
    channels = resolved(
        phase={"column": "Stage"},
        temperature={"column": "T", "unit": "degF", "range": "32 to 212 degF", "zero": "0.9 degF"},
    )
    assert channels["phase"][0].unit is None
    (gauge,) = channels["temperature"]
    assert gauge.range_high == pytest.approx(100.0 - 0.5)


def test_no_channels_means_that_the_header_speaks() -> None:
    assert resolve_channels(Log.model_validate({})) == {}
