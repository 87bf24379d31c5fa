"""A consolidation that is later than was foreseen when half of it was done.

Flow above 0.1 %/h of the volume, or dissipation below 95 %, an hour: contract section 7. The
drainage curve is Terzaghi's for one end, T50 0.197 and T95 1.129 (textbook, from memory).
"""

from datetime import UTC
from math import exp, log10, pi, sqrt

import pytest
from drained_rows import HOUR_S, spells
from scripted import Script, as_rows, settings

from tui.bench.alarms.overdue import refuted
from tui.bench.alarms.rules.drained_course import Course, Drop, Foreseen
from tui.bench.cell_fold import CellFold
from tui.bench.readings import NAN, Reading
from tui.feed.rows import Arrivals

KIND = "consolidation-overdue"
T90_S = 4.0 * HOUR_S
FULL_ML = 12.0


def _degree(seconds: float) -> float:
    t = 0.848 * seconds / T90_S
    return sqrt(4.0 * t / pi) if t < 0.2 else 1.0 - 0.8106 * exp(-2.4674 * t)


def _base(seconds: float) -> float:
    """Share of the excess that is left at the undrained end."""
    t = 0.848 * seconds / T90_S
    return 1.0 if t < 0.05 else max(min(1.0, 4.0 / pi * exp(-2.4674 * t)), 0.0)


def _rows(
    slower: float, clogs_s: float = 6000.0, hours: float = 30.0
) -> tuple[list[Reading], float]:
    script = Script()
    script.set_up()
    script.raise_back(10.0)
    script.check(0.96)
    script.raise_back(60.0)
    script.check(0.97, 140.0, build_up=True)
    script.row(10)
    opened, pore, volume = script.now, script.pore, script.volume
    for k in range(1, round(60.0 * hours / 5.0)):
        passed = 15.0 * 1.15**k if k < 22 else 324.0 + 300.0 * (k - 21)
        gone = min(passed, clogs_s) + max(passed - clogs_s, 0.0) / slower
        script.now = opened + passed
        script.volume = volume - FULL_ML * _degree(gone)
        script.pore = script.back + (pore - script.back) * _base(gone)
        script.row()
    return script.rows, opened


def test_a_stone_that_clogs_is_told_an_hour_after_the_latest_end() -> None:
    rows, opened = _rows(12.0)
    (spell,) = spells(rows, KIND)
    t95 = 1.129 / 0.848 * T90_S
    assert spell.priority == "warning"
    assert opened + t95 < spell.since < opened + 3.0 * t95
    assert spell.raised_at == spell.since + HOUR_S
    assert "dissipation" in spell.message and "limit 95%" in spell.message


def test_a_stone_that_clogs_just_at_half_is_told_by_what_was_foreseen_before() -> None:
    half_s = 0.197 / 0.848 * T90_S
    rows, opened = _rows(12.0, clogs_s=half_s)
    (spell,) = spells(rows, KIND)
    assert opened + half_s < spell.since < opened + 12.0 * HOUR_S


def test_what_flowed_before_the_latest_end_counts_for_nothing() -> None:
    # Where no pore pressure is measured, flow alone tells: of the last hour it is the primary's.
    rows, _ = _rows(1.0, hours=12.0)
    hidden = [row._replace(pore_pressure=NAN) for row in rows]
    assert not spells(hidden, KIND)


def test_a_refill_is_no_flow_and_what_flows_on_behind_it_is() -> None:
    """A gauge refilled by 30 ml long after the end, its settings do not say that it can be."""
    rows, opened = _rows(1.0)
    late = opened + 20.0 * HOUR_S
    seldom = [row for k, row in enumerate(rows) if row.time < late - 4.0 * HOUR_S or k % 30 == 0]

    def refilled(flows_ml_h: float) -> list[Reading]:
        return [
            row._replace(
                back_volume=row.back_volume - 30.0 - flows_ml_h * (row.time - late) / HOUR_S
            )
            if row.time > late
            else row
            for row in seldom
        ]

    assert not spells(refilled(0.0), KIND)
    (spell,) = spells(refilled(1.0), KIND)
    assert late < spell.since
    assert "ml/h still flow" in spell.message
    assert "1.00 ml/h" in spell.message


@pytest.mark.parametrize("begins_h", [0.0, 0.5, 1.0, 1.5])
def test_rare_readings_on_both_sides_of_the_latest_end_tell_no_flow_behind_it(
    begins_h: float,
) -> None:
    rows, opened = _rows(1.0, hours=20.0)
    before = next(row.back_volume for row in reversed(rows) if row.time <= opened)

    def is_kept(row: Reading) -> bool:
        passed_h = (row.time - opened) / HOUR_S
        return passed_h < 2.0 or abs((passed_h - begins_h) % 2.0) < 0.08

    seldom = [
        row._replace(back_volume=before + 3.0 * (row.back_volume - before))
        for row in rows
        if is_kept(row)
    ]
    assert not spells(seldom, KIND)


def test_what_has_met_its_criterion_is_late_for_nothing_though_it_creeps() -> None:
    """At 0.29 ml/h, limit 0.20 ml/h, an hour behind the latest end."""
    rows, opened = _rows(1.0, hours=12.0)
    t95 = 1.129 / 0.848 * T90_S
    creeps = [
        row._replace(back_volume=row.back_volume - 3.0 * log10(1.0 + (row.time - opened) / t95))
        if row.time > opened
        else row
        for row in rows
    ]
    assert not spells(creeps, KIND)


def test_as_foreseen_is_none() -> None:
    assert not spells(_rows(1.0)[0], KIND)
    assert not spells(_rows(1.15)[0], KIND)


@pytest.mark.parametrize("line_ml", [0.5, 1.0, 4.0])
def test_what_more_water_refutes_is_nothing_to_be_late_for(line_ml: float) -> None:
    """Where no pore pressure is measured the water of a line looks like a consolidation."""
    rows, opened = _rows(1.0)
    line = [
        row._replace(
            pore_pressure=NAN,
            back_volume=row.back_volume - line_ml * (1.0 - exp(-(row.time - opened) / 60.0)),
        )
        if row.time > opened
        else row
        for row in rows
    ]
    assert not spells(line, KIND)


def test_it_clears_when_it_is_met() -> None:
    rows, _ = _rows(3.0, hours=60.0)
    (spell,) = spells(rows, KIND)
    assert spell.cleared_at is not None and not spell.by_phase


def test_it_is_the_same_whenever_somebody_looks() -> None:
    rows, _ = _rows(12.0)
    once = spells(rows, KIND)
    fold = CellFold("C1", "C1", settings(), (), UTC)
    for begin in range(0, len(rows), 23):
        some = rows[begin : begin + 23]
        fold = fold.take(Arrivals("C1", as_rows(some)))
        cell = fold.picture(some[-1].time, ())
    assert [spell for spell in cell.spells if spell.kind == KIND] == once


def test_time_by_the_curve_does_not_end_what_has_clogged() -> None:
    """By t100 it would be over, and is not by pore pressure."""
    by_time = settings(plan={"consolidation_end": "t100 + 0 log cycles"})
    rows, opened = _rows(30.0)
    (spell,) = spells(rows, KIND, of=by_time)
    assert opened + HOUR_S < spell.since
    assert "dissipation" in spell.message


@pytest.mark.parametrize(("after_t95", "share", "is_refuted"), [
    (1.0, 1.2, False), (1.0, 1.3, True), (8.0, 1.4, False), (8.0, 1.5, True), (80.0, 1.5, False),
])  # fmt: skip
def test_creep_beyond_t95_does_not_refute_what_was_foreseen(
    after_t95: float, share: float, is_refuted: bool
) -> None:
    """1.25 times the volume foreseen, and 0.2 more per log cycle of time: at 8 times t95 1.43."""
    zero = Reading(0.0)
    stage = Course(zero, (Drop(600.0, 2.5, 0.0), Drop(3000.0 * after_t95, 5.0 * share, 0.0)))
    found = Foreseen(0.5, latest=300_000.0, v0=0.0, v100=5.0, t95_s=3000.0)
    assert refuted(stage, found, 600.0) is is_refuted
