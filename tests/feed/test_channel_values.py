"""From columns to channels: value = sign × (raw × gain − zero), several gauges, ranges, tables."""

import math
from collections.abc import Callable
from typing import Any

import pytest

from tui.feed.channels import unit_named

Cells = Callable[..., Any]
POUND_FORCE_N = 0.45359237 * 9.80665
PSI_KPA = POUND_FORCE_N / 0.0254**2 / 1000


def values(make_cell: Cells, channels: str, header: str, *rows: str) -> Any:
    cell = make_cell(f"[log.channels]\n{channels}\n")
    lines = [f"2031-02-03 08:{minute:02d},{row}" for minute, row in enumerate(rows)]
    cell.write("a.csv", "\n".join([f"Time,{header}", *lines, ""]))
    return cell.read()


def test_sign_gain_and_zero_stand_in_the_unit_given(make_cell: Cells) -> None:
    told = values(
        make_cell,
        'cell_pressure = { column = "P", unit = "psi", gain = 2.0, zero = "0.3 psi", sign = -1 }',
        "P",
        "10",
    )
    # −(10 × 2 − 0.3) psi
    assert told.values["cell_pressure"] == pytest.approx([-19.7 * PSI_KPA], rel=1e-14)


def test_a_zero_in_another_unit_is_converted(make_cell: Cells) -> None:
    told = values(
        make_cell, 'cell_pressure = { column = "P", unit = "bar", zero = "20 kPa" }', "P", "3"
    )
    assert told.values["cell_pressure"] == pytest.approx([280.0], rel=1e-14)


def test_temperatures_shift_and_scale(make_cell: Cells) -> None:
    told = values(make_cell, 'temperature = { column = "T", unit = "degF" }', "T", "68", "212")
    # 68 °F is 20 °C and water boils at 212 °F, 100 °C, by definition of the scale.
    assert told.values["temperature"] == pytest.approx([20.0, 100.0], rel=1e-14)


@pytest.mark.parametrize(("combine", "expected"), [("sum", 70.0), ("mean", 35.0)])
def test_several_gauges_make_one(make_cell: Cells, combine: str, expected: float) -> None:
    told = values(
        make_cell,
        f'back_volume = {{ columns = ["V1", "V2"], combine = "{combine}", unit = "ml" }}',
        "V1,V2",
        "30,40",
        "30,OVER",
    )
    first, second = told.values["back_volume"]
    assert first == expected
    assert math.isnan(second), "half of a sum, or a mean of fewer, would be a jump"
    assert [(one.field, one.reason) for one in told.unused] == [("V2", "OVER")]


def test_the_finest_load_cell_in_range_wins(make_cell: Cells) -> None:
    told = values(
        make_cell,
        'axial_load = [ { column = "F2", unit = "kN", range = "0 to 10 kN" },\n'
        '  { column = "F1", unit = "N", range = "0 to 500 N" } ]',
        "F1,F2",
        "250.5,0.3",  # both in range
        "500,0.7",  # the fine one at its stop
        "-0.4,0.02",  # nothing on it: a fine gauge may show a little less than nothing
        "OVER,0.8",
        "480,---",
        "500,12.5",  # beyond both: the coarse one tells
    )
    assert told.values["axial_load"] == [250.5, 700.0, -0.4, 800.0, 480.0, 12500.0]


def test_a_table_is_read_between_its_points_and_straight_on_beyond(make_cell: Cells) -> None:
    told = values(
        make_cell,
        'axial_displacement = { column = "d", unit = "mm", zero = "1 mm", '
        "table = [[0, 0.0], [1, 10.0], [3, 20.0]] }",
        "d",
        "0.5",
        "2",
        "4",
        "-1",
    )
    assert told.values["axial_displacement"] == pytest.approx([4.0, 14.0, 24.0, -11.0])


def test_one_transducer_behind_a_valve_serves_two_channels(make_cell: Cells) -> None:
    told = values(
        make_cell,
        'pore_pressure = { column = "u", unit = "kPa", zero = "2 kPa" }\n'
        'back_pressure = { same_as = "pore_pressure" }',
        "u",
        "302",
    )
    assert told.values["pore_pressure"] == told.values["back_pressure"] == [300.0]


def test_the_head_of_water_up_to_the_transducer_is_added(make_cell: Cells) -> None:
    told = values(
        make_cell, 'pore_pressure = { column = "u", unit = "kPa", datum = "1 m" }', "u", "300"
    )
    # 1000 kg/m³ × 9.80665 m/s² × 1 m: conventional metre of water (NIST SP 811, B.8).
    assert told.values["pore_pressure"] == pytest.approx([309.80665], rel=1e-12)


def test_a_missing_column_is_named_with_those_that_are_there(make_cell: Cells) -> None:
    told = values(
        make_cell,
        'cell_pressure = { column = "Pcell", unit = "kPa" }\n'
        'pore_pressure = { column = "u", unit = "kPa" }',
        "Pcel,u",
        "1,2",
    )
    assert told.values == {"pore_pressure": [2.0]}
    problem = told.said("Pcell")
    assert (problem.severity, problem.file, problem.key) == ("error", "C1/a.csv", "Pcell")
    assert 'did you mean "Pcel"' in problem.remedy
    assert '"u"' in problem.remedy


def test_two_units_for_one_column_are_told(make_cell: Cells) -> None:
    told = values(make_cell, 'cell_pressure = { column = "P", unit = "kPa" }', "P [psi]", "7")
    assert told.values["cell_pressure"] == [7.0]
    assert told.said("psi").severity == "warning"


def test_two_columns_of_one_name_are_told(make_cell: Cells) -> None:
    told = values(make_cell, 'cell_pressure = { column = "P", unit = "kPa" }', "P,P", "7,8")
    assert told.values["cell_pressure"] == [7.0]
    assert told.said("2 columns").key == "P"


def test_columns_that_name_no_unit_are_not_guessed(make_cell: Cells) -> None:
    cell = make_cell("")
    cell.write("a.csv", "Time,cell_pressure,u\n2031-02-03 08:00,1,2\n")
    told = cell.read()
    assert told.values == {}
    assert "cell_pressure" in told.said("no channel is known").what


@pytest.mark.parametrize(
    ("text", "channel", "expected"),
    [
        ("KPA", "cell_pressure", "kPa"),
        ("PSI", "pore_pressure", "psi"),
        ("C", "temperature", "C"),
        ("ML", "back_volume", "ml"),
        ("lbf", "axial_load", "lbf"),
        ("mm", "cell_pressure", None),
        ("MN", "axial_load", "MN"),
        ("furlong", "axial_displacement", None),
    ],
)
def test_unit_in_a_column_name(text: str, channel: str, expected: str | None) -> None:
    found = unit_named(text, channel)
    assert (found or "").casefold() == (expected or "").casefold()
