"""From phase to phase until the end of the test, and what a set's specimens tell each other."""

from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest
from made_bench import arrived, layout, shown
from scripted import START, Script, settings, whole_test

from reduce.forecast import ConsolidationForecast
from tui.bench.advance import advance, empty_bench
from tui.bench.attended import Attended
from tui.bench.chain import END, before_drainage_opens, chain
from tui.bench.picture import Bench, Cell, Phase, Projection
from tui.bench.siblings import came_to, peak_strain, siblings_of
from tui.bench.surroundings import ALONE, Sibling, Surroundings, cv_of
from tui.settings.cell_toml import CellToml
from tui.settings.places import Place

HOUR = 3600.0
MONDAY = datetime(2031, 2, 3, tzinfo=UTC).timestamp()
DRAINED = Phase("consolidation", "drained", MONDAY, MONDAY, "saturation", "inferred")
FIT = ConsolidationForecast(
    None, None, None, None, None, "", cv_m2_year=2.0, cv_range_m2_year=(1.6, 2.5), U_now=0.7
)


def foreseen(at_h: float, either_side_h: float = 0.5) -> Projection:
    """An event so many hours after Monday's midnight."""
    at = MONDAY + at_h * HOUR
    side = either_side_h * HOUR
    return Projection("the event", at, at - side, at + side, 0.8, 0.5, "")


def ahead(
    projection: Projection, around: Surroundings = ALONE, cell: CellToml | None = None
) -> tuple[Projection, ...]:
    return chain(
        cell or settings(plan={"strain_rate": "0.05 %/min"}), DRAINED, projection, FIT, around
    )


def test_shear_follows_consolidation_and_the_end_follows_shear() -> None:
    shear, end = ahead(foreseen(10.0))
    assert (shear.event, end.event) == ("strain 15 %", END)
    # Half an hour to dock, then 15 % at 0.05 %/min are five hours; half an hour to let down.
    assert shear.at == pytest.approx(MONDAY + 15.5 * HOUR)
    assert end.at == pytest.approx(MONDAY + 16.0 * HOUR)
    assert shear.earliest < MONDAY + 15.0 * HOUR < MONDAY + 16.0 * HOUR < shear.latest
    assert "planned 0.05 %/min" in shear.basis


def test_what_begins_by_hand_waits_for_somebody() -> None:
    office = Surroundings(Attended.of("Mon-Fri 08:00-16:00", UTC))
    shear, end = ahead(foreseen(20.0), office)  # ready on Monday evening
    assert shear.at == pytest.approx(MONDAY + (24.0 + 8.0 + 0.5 + 5.0) * HOUR)
    # The limit is reached at 13:30 on Tuesday, with somebody there.
    assert end.at == pytest.approx(shear.at + 0.5 * HOUR)
    night = foreseen(14.0)  # 14:00: shear runs until the evening, pressures stay until morning
    assert ahead(night, office)[1].at == pytest.approx(MONDAY + (24.0 + 8.0 + 0.5) * HOUR)


def test_doubts_of_two_phases_add_up_as_independent_ones_do() -> None:
    sure, doubtful = ahead(foreseen(10.0, 0.0)), ahead(foreseen(10.0, 2.0))
    own = sure[0].latest - sure[0].at
    assert doubtful[0].latest - doubtful[0].at == pytest.approx((own**2 + (2 * HOUR) ** 2) ** 0.5)


def test_without_a_planned_rate_cv_and_the_standard_say_how_fast() -> None:
    slow, fast = (
        chain(settings(), DRAINED, foreseen(10.0), replace(FIT, cv_m2_year=cv), ALONE)[0]
        for cv in (1.0, 4.0)
    )
    assert slow.at > fast.at
    assert "BS 1377-8" in slow.basis
    assert "cv 1 m²/year" in slow.basis


def test_where_the_chain_breaks_it_says_why() -> None:
    untold = Projection("dissipation 95 %", None, None, None, None, None, "a leak?")
    (end,) = ahead(untold)
    assert end.at is None
    assert end.basis == "cannot say yet: it is not known when dissipation 95 %"
    unknown = chain(settings(), DRAINED, foreseen(10.0), None, ALONE)
    assert unknown[-1].at is None
    assert "plan.strain_rate" in unknown[-1].basis


def test_siblings_tell_what_cv_to_expect() -> None:
    known = (Sibling("C1", 2.0, None), Sibling("C2", None, 0.05), Sibling("C3", 1.4, 0.05))
    assert cv_of(known) == (2.0, 1.4)
    cell = settings(plan={"strain_rate": "0.05 %/min"}, specimen={"drainage": "both ends"})
    saturating = replace(DRAINED, name="saturation", step="hold")
    alone, among = (
        chain(cell, saturating, foreseen(10.0), None, Surroundings(siblings=set_))[0]
        for set_ in ((), known)
    )
    assert "cv of soils at large" in alone.basis
    assert "cv of 2 specimens of the set, 1.4 … 2 m²/year" in among.basis
    assert among.latest - among.earliest < alone.latest - alone.earliest


def test_while_drainage_is_closed_the_end_is_that_of_soils_at_large_after_it_opens() -> None:
    cell = settings(plan={"strain_rate": "0.05 %/min"}, specimen={"drainage": "both ends"})
    building = replace(DRAINED, step="build-up")
    told = before_drainage_opens(cell, building, ALONE, MONDAY + 60.0)
    assert told.basis.startswith("drainage is still closed; ")
    assert MONDAY + 60.0 < told.earliest < told.at < told.latest
    # Nobody opened it for hours: what has not happened by now lies ahead.
    later = before_drainage_opens(cell, building, ALONE, MONDAY + 50 * HOUR)
    assert later.earliest > MONDAY + 50 * HOUR
    shear, end = chain(cell, building, told, None, ALONE)
    assert shear.event == "strain 15 %"
    assert told.at < shear.at < end.at


def test_an_expected_cv_is_not_handed_on() -> None:
    expected = replace(FIT, U_now=None)
    assert came_to("C1", replace(DRAINED, name="shear"), expected, None) is None


def test_a_peak_counts_once_it_has_passed() -> None:
    rising = ((0.0005, 300.0), (0.01, 100.0), (0.03, 200.0))
    assert peak_strain(rising, over=False) is None
    assert peak_strain((*rising, (0.05, 190.0)), over=False) == 0.03
    assert peak_strain(rising, over=True) == 0.03  # not that of the contact
    young = replace(FIT, U_now=0.4)
    assert came_to("C1", DRAINED, young, None) is None
    assert came_to("C1", DRAINED, FIT, None) == Sibling("C1", 2.0, None)


def test_siblings_are_others_of_the_same_set() -> None:
    one = Sibling("C1", 2.0, None)
    cells = (
        Cell("C1", "C1", set_name="A", came_to=one),
        Cell("C2", "C2", set_name="A"),
        Cell("C3", "C3", set_name="B", came_to=Sibling("C3", 7.0, None)),
        Cell("C4", "C4"),
    )
    assert [siblings_of(cell, cells) for cell in cells] == [(), (one,), (), ()]


def two_cells(first: Script, second: Script) -> Bench:
    """Two specimens of one set on a bench."""
    own = settings(specimen={"set": "A"})
    cells = [
        Place(name, name, Path("bench") / name, own.model_copy(update={})) for name in ("C1", "C2")
    ]
    now = max(first.now, second.now)
    arrivals = [
        replace(arrived(script.rows), folder=name)
        for name, script in (("C1", first), ("C2", second))
    ]
    return advance(empty_bench(layout(*cells), now), now=now, arrivals=arrivals)


def test_the_peak_of_a_sibling_is_expected_at_the_first_look() -> None:
    done, young = whole_test(), whole_test()
    young.rows = [row for row in young.rows if row.time < done.begins[-2][2] + 2000.0]
    bench = two_cells(done, young)
    assert bench.cells[0].came_to is not None
    assert bench.cells[0].came_to.peak_strain is not None
    peak = bench.cells[1].ahead[0]
    assert peak.event.startswith("peak about")
    assert "as in C1" in peak.basis
    assert peak.earliest < peak.at < peak.latest


def test_travel_that_ends_before_the_strain_limit_is_foreseen() -> None:
    log = {
        "channels": {
            "axial_displacement": {"column": "d", "unit": "mm", "range": "0 to 15 mm"},
        }
    }
    script = whole_test()
    rows = [row for row in script.rows if row.time < script.begins[-1][2]]
    end = rows[-1].time
    travel = next(
        one for one in shown(rows, end, settings(log=log)).ahead if one.event.startswith("travel")
    )
    # The ram stands at 2 + 1.2 mm when strain is 0; 95 % of 15 mm are 11.05 % of 100 mm later.
    rate = 0.0005 / 60.0
    zero = script.begins[-2][2] - 0.002 / rate
    assert travel.at == pytest.approx(zero + 0.1105 / rate, rel=0.02, abs=600.0)
    assert START < travel.earliest < travel.latest
