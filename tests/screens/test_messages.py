"""Sentences of rules and forecasts in the units that are shown; pint is the reference."""

import re

import made_benches
import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tui.words import Manner, message

US = Manner(units="US")
SAID = {"kPa": ("kPa", "psi"), "ml": ("ml", "in³"), "mm": ("mm", "in"), "N": ("N", "lbf")}
UNITS = pint.UnitRegistry()


@given(st.decimals(-9999, 9999, places=1), st.sampled_from(sorted(SAID)))
def test_a_number_is_converted_to_one_digit_more(number: object, unit: str) -> None:
    told = message(f"effective stress {number} {unit}, limit 5 {unit}", US)
    found = re.fullmatch(r"effective stress (\S+) (\S+), limit (\S+) \2", told)
    assert found is not None, told
    of, to = SAID[unit]
    assert found[2] == to
    want = UNITS.Quantity(float(str(number)), of).to(to.replace("³", "**3")).magnitude
    assert float(found[1]) == pytest.approx(want, abs=0.0051)
    assert float(found[3]) == pytest.approx(
        UNITS.Quantity(5.0, of).to(to.replace("³", "**3")).magnitude, abs=0.051
    )


@pytest.mark.parametrize(
    "text",
    [
        "slot 11 of 44, 2.0 min after the zero reading, was not taken",
        "strain 15.02 %, limit 15 %",
        "no row for 50 min, 3 times the usual gap",
        "B 0.90 after 0.89; target 0.95",
        "cv 2.1 mm²/min, mv 0.3 m²/MN, density 1.9 Mg/m³",
    ],
)
def test_other_numbers_stay(text: str) -> None:
    assert message(text, US) == text


def test_in_si_a_sentence_stays_as_it_was_worded() -> None:
    text = "fell from 210.0 to 60.5 kPa, limit 5 kPa"
    assert message(text, Manner()) == text


def test_ascii_and_untrusted_signs_as_everywhere() -> None:
    told = message("\x1b[31mflow 0.42 ml/h (± 0.12)", Manner(units="US", ascii=True))
    assert told == "flow 0.026 in3/h (+/- 0.007)"


def test_no_alarm_of_a_bench_is_left_in_si() -> None:
    alarms = [alarm for cell in made_benches.alarmed().cells for alarm in cell.alarms]
    pressures = [one for one in alarms if "kPa" in one.message]
    assert pressures
    for one in pressures:
        told = message(one.message, US)
        assert "psi" in told
        assert "kPa" not in told
