"""The words: what people read must not lie, tick or carry anything from a log but its letters."""

import unicodedata
from dataclasses import replace
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import made_benches
import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tui.bench.picture import Plot
from tui.settings.problems import Problem
from tui.words import (
    Manner,
    age,
    b_value,
    coarse,
    countdown,
    event_wordings,
    force,
    interval,
    length,
    measured,
    moment,
    percent,
    plain,
    pressure,
    pressure_short,
    problem_words,
    readings,
    result_unit,
    sanitise,
    state,
    temperature,
    volume,
)
from tui.words.plots import x_words

US = Manner(units="US")
OSLO = ZoneInfo("Europe/Oslo")


@given(st.text(max_size=200))
def test_nothing_invisible_comes_through(text: str) -> None:
    clean = sanitise(text)
    assert "\n" not in clean
    assert all(unicodedata.category(sign)[0] != "C" for sign in clean)
    assert sanitise(clean) == clean


@pytest.mark.parametrize(
    ("text", "clean"),
    (
        ("\x1b]0;title\x07cell", "cell"),
        ("\x1b[2J\x1b[1;1Hcell", "cell"),
        ("\x9b31mcell", "cell"),
        ("a\r\nb\tc", "a b c"),
        ("Pc [kPa]", "Pc [kPa]"),
        ("\u202ecell\u200b", "cell"),
        ("Prüfung e\u0301", "Prüfung é"),
    ),
)
def test_escapes_go_and_letters_stay(text: str, clean: str) -> None:
    assert sanitise(text) == clean


@given(st.text(max_size=80))
def test_ascii_is_ascii(text: str) -> None:
    assert plain(sanitise(text), Manner(ascii=True)).isascii()


@given(st.integers(1, 10_000), st.floats(0, 59.9))
def test_above_a_minute_nothing_ticks_by_the_second(minutes: int, seconds: float) -> None:
    assert countdown(60.0 * minutes + seconds) == countdown(60.0 * minutes)
    assert age(60.0 * minutes + seconds) == age(60.0 * minutes)


@given(st.floats(-1e7, 1e7))
def test_a_coarse_countdown_is_the_largest_unit_of_the_exact_one(seconds: float) -> None:
    exact, rough = countdown(seconds), coarse(seconds)
    assert exact.startswith(rough.removesuffix(" late"))
    assert rough.endswith("late") == exact.endswith("late")


def test_the_last_minute_counts_down_by_seconds() -> None:
    assert [countdown(s) for s in (60.0, 59.9, 31.2, 1.0, 0.0, -59.0, -60.0)] == [
        "1 min", "59 s", "31 s", "1 s", "now", "now", "1 min late",
    ]  # fmt: skip


def test_moments_are_on_the_benchs_clock() -> None:
    """The clock goes from 02:00 to 03:00 on 30 March 2031 in Oslo."""
    before = datetime(2031, 3, 30, 0, 30, tzinfo=UTC).timestamp()
    assert moment(before, OSLO, before) == "today 01:30"
    assert moment(before + 3600, OSLO, before) == "today 03:30"
    assert moment(before + 86_400, OSLO, before) == "Mon 02:30"
    assert moment(before + 20 * 86_400, OSLO, before) == "19 Apr 02:30"
    assert interval(before, before + 3600, OSLO, before) == "today 01:30–03:30"


def test_us_units() -> None:
    """NIST SP 811 appendix B.8: 1 psi = 6.894757 kPa, 1 in = 25.4 mm, 1 lbf = 4.448222 N,
    1 in³ = 16.38706 ml."""
    assert pressure(6.894757 * 50, US) == "50.00 psi"
    assert length(25.4 * 0.5, US) == "0.500 in"
    assert force(4.448222 * 100, US) == "100.00 lbf"
    assert volume(16.38706 * 2, US) == "2.000 in³"
    assert temperature(20.0, US) == "68.0 °F"


PINT: pint.UnitRegistry[float] = pint.UnitRegistry()


@pytest.mark.parametrize(
    ("unit", "symbol", "by_pint"),
    [
        ("m²/year", "ft²/year", PINT.Quantity(1.0, "m**2/year").to("ft**2/year")),
        ("m²/MN", "1/ksf", PINT.Quantity(1.0, "m**2/MN").to("ft**2/kip")),
        ("m/s", "cm/s", PINT.Quantity(1.0, "m/s").to("cm/s")),
        ("MPa", "psi", PINT.Quantity(1.0, "MPa").to("psi")),
        ("Mg/m³", "pcf", PINT.Quantity(1.0, "Mg/m**3").to("lb/ft**3")),
        ("mm²", "in²", PINT.Quantity(1.0, "mm**2").to("in**2")),
    ],
)
def test_results_in_us_units_as_pint_converts_them(
    unit: str, symbol: str, by_pint: pint.Quantity[float]
) -> None:
    """Somebody else's code; written with four digits, the uncertainty with two."""
    assert result_unit(unit, US) == symbol
    number, shown = measured(2.0, None, unit, US).rsplit(" ", maxsplit=1)
    assert shown == symbol
    assert float(number) == pytest.approx(2.0 * by_pint.magnitude, rel=5e-4)
    doubted = measured(2.0, 0.02, unit, US, bare=True).split(" ± ")
    assert [float(one) for one in doubted] == pytest.approx(
        [2.0 * by_pint.magnitude, 0.02 * by_pint.magnitude], rel=0.05
    )
    assert measured(2.0, None, unit) == f"2.000 {unit}"


def test_no_value_is_a_dash_without_a_unit() -> None:
    for write in (pressure, volume, length, force, temperature, percent, b_value):
        assert write(None) == "–"


def test_b_below_its_target_is_not_rounded_to_it() -> None:
    assert b_value(0.949) == "0.949"


def test_zero_has_no_sign() -> None:
    assert pressure(-0.01) == "0.0 kPa"
    assert pressure_short(-0.2) == "0"
    assert pressure(-2.0) == "−2.0 kPa"


def test_states() -> None:
    cell = made_benches.saturating("C1")
    assert state(cell).word == "runs"
    assert state(replace(cell, blind=())).word == "well"
    assert state(made_benches.broken()).word == "broken"
    assert state(made_benches.shearing("C4")).word == "doubtful"
    assert state(replace(cell, phase=None)).word == "no phase"
    assert state(replace(cell, phase=None, being_read=True)).word == "reading"
    assert state(replace(cell, being_read=True)).word == state(cell).word
    assert cell.phase is not None
    ended = replace(cell, phase=replace(cell.phase, name="ended"))
    assert state(ended).word == "ended"
    warned = replace(cell, problems=(Problem("warning", "w", "r"),))
    assert state(warned).word == "doubtful"
    noted = replace(cell, problems=(Problem("note", "w", "r"),))
    assert state(noted).word == "runs"
    signs = {state(c).sign for c in (cell, replace(cell, blind=()), ended, warned)}
    assert len(signs) == 4


def test_readings() -> None:
    schedule = made_benches.saturating("C1").schedule
    assert schedule is not None
    assert readings(schedule, made_benches.AT, Manner()) == "17 of 40, next in 4 min, 1 missed"
    late = replace(schedule, next_at=made_benches.AT - 300.0, missed=0)
    assert readings(late, made_benches.AT, Manner()) == "17 of 40, next 5 min late"
    over = replace(schedule, next_at=None, missed=0)
    assert readings(over, made_benches.AT, Manner()) == "17 of 40, none left"


def test_an_event_behind_us_is_reached_or_late() -> None:
    coming = made_benches.saturating("C1").projection
    at = made_benches.AT
    past = replace(coming, at=at - 2280.0, progress=1.0)
    assert event_wordings(past, OSLO, at, Manner())[0] == "B ≥ 0.95 reached today 13:42"
    late = replace(past, progress=0.9)
    assert event_wordings(late, OSLO, at, Manner())[0] == "B ≥ 0.95 today 13:42, 38 min late"
    assert event_wordings(coming, OSLO, at, Manner())[0] == "B ≥ 0.95 today 23:32, 9 h 12 min"


def test_a_problem_names_place_and_remedy() -> None:
    problem = Problem("error", "unit 'x' is unknown", "write kPa", "C1/cell.toml", 7, "log.u")
    assert problem_words(problem) == "C1/cell.toml:7 log.u: unit 'x' is unknown → write kPa"


@pytest.mark.parametrize(
    ("unit", "x", "said"),
    [
        ("√min", 2.1, "t 2.10 √min (4.41 min)"),
        ("√min", 21.3, "t 21.30 √min (7 h 33 min)"),
        ("min", 15.52, "t 15.52 min"),
        ("min", 453.7, "t 453.70 min (7 h 33 min)"),
        ("%", 4.321, "t 4.32 %"),
    ],
)
def test_a_place_on_a_time_axis_is_told_in_time_as_well(unit: str, x: float, said: str) -> None:
    plot = Plot("V", "t", unit, "V", "ml", ())
    assert x_words(plot, x, OSLO, Manner()) == said


def test_a_negative_share_has_the_sign_that_every_number_has() -> None:
    assert percent(-0.0205, digits=2) == "−2.05 %"
    assert percent(-0.0205, Manner(ascii=True), 2) == "-2.05 %"
    assert percent(-0.00001, digits=2) == "0.00 %"
