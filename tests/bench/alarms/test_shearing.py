"""The ram, and what tells of it: contract section 7; rates after the standards, from memory."""

from dataclasses import replace

import pytest
from told_alarms import SCHEDULED, Script, followed, of, settings, sheared

from reduce.forecast import ConsolidationForecast
from reduce.shearing.rates import advised_rate
from tui.bench.alarms.too_fast import advice_for, too_fast
from tui.bench.readings import Reading

STEADY = settings(log={"rows": "steady"})
RANGED = settings(
    log={
        "rows": "scheduled",
        "channels": {
            "axial_displacement": {"column": "d", "unit": "mm", "range": "0 to 10 mm"},
            "axial_load": {"column": "l", "unit": "N", "range": "0 to 2000 N"},
        },
    }
)


def on(rows: list[Reading], number: int, per_min_mm: float, every_s: float = 30.0) -> list[Reading]:
    """More rows of a shear whose ram goes on at a rate."""
    last = rows[-1]
    return [
        last._replace(
            time=last.time + every_s * k,
            axial_displacement=last.axial_displacement + per_min_mm * every_s * k / 60.0,
        )
        for k in range(1, number + 1)
    ]


def test_a_ram_that_stands_for_five_minutes_has_stopped() -> None:
    rows = sheared(0.05).rows
    stood = on(rows, 40, 0.0)
    (told,) = of(followed([*rows, *stood]), "shear-stopped")
    assert (told.priority, told.since) == ("urgent", stood[0].time)
    assert told.raised_at == stood[0].time + 300.0
    assert told.cleared_at is None
    assert "mm/min" in told.message and "50%" in told.message


def test_it_is_raised_though_no_further_row_comes() -> None:
    rows = sheared(0.05).rows
    stood = on(rows, 1, 0.0, 120.0)
    by = stood[0].time + 300.0
    assert of(followed([*rows, *stood], by - 1.0), "shear-stopped") == []
    assert [s.raised_at for s in of(followed([*rows, *stood], by), "shear-stopped")] == [by]


@pytest.mark.parametrize("stood_rows", [4, 8])
def test_a_pause_is_no_stop(stood_rows: int) -> None:
    rows = sheared(0.05).rows
    paused = [*rows, *on(rows, stood_rows, 0.0)]
    assert of(followed([*paused, *on(paused, 60, 0.05)]), "shear-stopped") == []


@pytest.mark.parametrize(("share", "raised"), [(0.3, True), (0.7, False)])
def test_half_of_its_own_rate_is_the_limit(share: float, raised: bool) -> None:
    rows = sheared(0.05).rows
    told = of(followed([*rows, *on(rows, 60, 0.05 * share)]), "shear-stopped")
    assert [one.kind for one in told] == ["shear-stopped"] * raised


def test_it_clears_when_the_ram_runs() -> None:
    rows = sheared(0.05).rows
    stood = [*rows, *on(rows, 30, 0.0)]
    (told,) = of(followed([*stood, *on(stood, 20, 0.05)]), "shear-stopped")
    assert told.cleared_at is not None
    assert stood[-1].time < told.cleared_at <= stood[-1].time + 120.0


def test_at_the_limit_a_ram_may_stand() -> None:
    rows = sheared(0.15).rows
    assert of(followed([*rows, *on(rows, 40, 0.0)]), "shear-stopped") == []


def test_the_strain_limit_is_a_note_until_the_end() -> None:
    script = sheared(0.16)
    (told,) = of(followed(script.rows), "strain-limit")
    step = script.rows[-1].time - script.rows[-2].time
    assert told.priority == "note"
    # 15 % of the height after consolidation, which is a little below that at set-up.
    assert script.rows[-1].time - 7.0 * step <= told.since <= script.rows[-1].time - 4.0 * step
    assert of(followed(sheared(0.145).rows), "strain-limit") == []
    script.let_go()
    (over,) = of(followed(script.rows), "strain-limit")
    assert over.by_phase and over.cleared_at is not None


def test_travel_and_load_near_the_end_of_their_ranges() -> None:
    script = sheared(0.09)
    cell = followed(script.rows, None, RANGED)
    told = of(cell, "travel-limit")
    assert [(one.about, one.priority) for one in told] == [
        ("axial_displacement", "warning"), ("axial_displacement", "urgent")
    ]  # fmt: skip
    above = [row.time for row in script.rows if row.axial_displacement > 9.0]
    assert (told[0].since, told[0].raised_at) == (above[0], above[1])
    beyond = [row.time for row in script.rows if row.axial_displacement > 9.5]
    assert told[1].raised_at == beyond[1]
    assert of(followed(sheared(0.05).rows, None, RANGED), "travel-limit") == []


def test_without_a_range_travel_is_not_judged() -> None:
    blind = {one.kind: one.why for one in followed(sheared(0.05).rows).blind}
    assert blind["travel-limit"] == "needs the range of axial_displacement or axial_load"


@pytest.mark.parametrize(("taken", "raised"), [(False, True), (True, False)])
def test_load_that_is_not_taken(taken: bool, raised: bool) -> None:
    # Contract: deviator < 2 kPa after 0.2 % strain.
    script = sheared(0.0)
    script.phase_word = "shear/shear"
    begun = script.travel
    for k in range(1, 12):
        script.travel = begun + 0.05 * k
        script.load += 8.0 if taken else 0.0
        script.row(60.0)
    told = of(followed(script.rows), "load-not-taken")
    assert [one.kind for one in told] == ["load-not-taken"] * raised
    if raised:
        said = [row for row in script.rows if row.phase == "shear/shear"]
        assert said[1].time <= told[0].raised_at <= said[5].time
        assert "limit 2.0 kPa" in told[0].message


def docked(way: list[float], every_s: float = 60.0) -> Script:
    """A ram that goes on by so much from row to row, and takes no load; nobody names a phase."""
    script = sheared(0.0)
    script.rows = [row for row in script.rows if row.time < script.begins[-2][2]]
    script.now, script.travel = script.rows[-1].time, script.rows[-1].axial_displacement
    for gone in way:
        script.travel += gone
        script.row(every_s)
    return script


PLANNED = settings(log={"rows": "steady"}, plan={"strain_rate": "0.05 %/min"})


@pytest.mark.parametrize("last", [0.3, 0.15])
def test_strain_counts_from_where_a_ram_slows_down_though_nothing_touches(last: float) -> None:
    # 0.3 mm/min, then the shear's own 0.05 mm/min; the slowing may fall between two rows.
    script = docked([0.3] * 5 + [last] + [0.05] * 8)
    (told,) = of(followed(script.rows, None, PLANNED), "load-not-taken")
    # 0.2 % of a little less than 100 mm are four rows; of the mixed one 0.6 passed slowly.
    assert told.raised_at == script.rows[-9].time + 240.0


def test_a_dock_as_slow_as_the_shear_is_given_longer() -> None:
    # Common practice, no source: by its pace nobody tells it from the shear.
    short, long = (docked([0.05] * number) for number in (8, 11))
    assert of(followed(short.rows, None, PLANNED), "load-not-taken") == []
    assert len(of(followed(long.rows, None, PLANNED), "load-not-taken")) == 1


def test_the_end_of_the_dock_makes_no_rate() -> None:
    # The advice is 0.033 %/min (BS 1377-8, see below); the ram keeps to it after a fast dock.
    script = docked([0.3] * 5)
    for gone in [0.2, *[0.033] * 30]:
        script.travel += gone
        script.load += 15.0
        script.row(60.0)
    assert of(followed(script.rows, None, PLANNED), "rate-too-fast") == []


def test_a_rate_above_the_advice_of_the_standard() -> None:
    # BS 1377-8 (from memory): F t100 to failure, at least 120 min, so 2 %/h at most.
    least = advised_rate("BS 1377-8", "CU", drainage="one end", t100_min=1.0)
    assert least.rate_percent_per_min == pytest.approx(4.0 / 120.0)
    fast = sheared(0.05, per_min=0.0005)  # 0.05 %/min
    (told,) = of(followed(fast.rows), "rate-too-fast")
    zero = fast.begins[-1][2] - 240.0
    assert zero + 600.0 <= told.since <= zero + 900.0  # half a percent takes ten minutes
    assert told.cleared_at is None
    assert "BS 1377-8" in told.message
    slow = of(followed(sheared(0.05, per_min=0.00002).rows), "rate-too-fast")
    assert slow == []


def test_too_fast_is_what_is_so_at_the_end_of_the_range_of_cv() -> None:
    # One end drained, 4 % in 10 t50 after ASTM D4767 (from memory): 0.004 %/min for 100 min.
    specimen = settings(test={"standard": "ASTM D4767", "kind": "CU"})
    fit = ConsolidationForecast(
        at=0.0, earliest=0.0, latest=0.0, confidence=0.8, progress=1.0, basis="a fit",
        cv_m2_year=1.0, cv_range_m2_year=(0.9, 1.4), t50_s=6000.0, t90_s=26000.0,
    )  # fmt: skip
    surely = advice_for(specimen, fit)
    plainly = advice_for(specimen, replace(fit, cv_range_m2_year=None))
    assert plainly.rate_percent_per_min == pytest.approx(0.004)
    assert surely.rate_percent_per_min == pytest.approx(1.4 * 0.004)
    told = [
        too_fast(((0.0, times * 0.004 / 6000.0),), surely, 1.1, 0.005, None) for times in (1.5, 1.6)
    ]
    assert [len(one) for one in told] == [0, 1]


def test_without_a_consolidation_no_rate_is_judged() -> None:
    unknown = settings(log={"rows": "scheduled"}, specimen={"drainage": None})
    cell = followed(sheared(0.05).rows, None, unknown)
    assert of(cell, "rate-too-fast") == []
    assert "drainage" in {one.kind: one.why for one in cell.blind}["rate-too-fast"]


def test_looks_decide_nothing() -> None:
    script = sheared(0.16)
    rows = [*script.rows[:-10], *on(script.rows[:-10], 30, 0.0)]
    whole, rowwise = (followed(rows, None, SCHEDULED, every=n).spells for n in (10_000, 1))
    assert whole == rowwise
    assert isinstance(script, Script) and STEADY is not None
