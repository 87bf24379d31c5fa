"""What is marked in a lane stands at its moment, by its own sign, and hides nothing of weight."""

from dataclasses import replace

import made_benches
import pytest
from made_benches import AT, H

from tui.bench.picture import Bench, Cell
from tui.ink.signs import ASCII, FULL
from tui.ink.times import TimeAxis
from tui.panes.lane import Setting, draw_track_of, track_left, track_of
from tui.panes.marks import windows
from tui.panes.pane import View
from tui.words import Manner

FORMS = (("wide", 6), ("wide", 4), ("wide", 1), ("medium", 3), ("medium", 1), ("narrow", 2))
"""Layouts of a lane, with their lines: with a caption and without."""


def drawn(
    cell: Cell, bench: Bench, form: str, rows: int, axis: TimeAxis | None = None, **manner: bool
) -> tuple[list[str], TimeAxis]:
    """The lines of a track, from the first column of its axis on."""
    view = View(Manner(**manner), form=form, lane_rows=rows)
    width = {"wide": 159, "medium": 79, "narrow": 59}[form]
    left = track_left(view)
    axis = axis or TimeAxis.around(bench.at, 60 * H, width - left)
    setting = Setting(
        bench.at, bench.zone, axis, width, rows, view,
        visits=windows(bench.visits), spells=bench.spells,
    )  # fmt: skip
    lines = draw_track_of(cell, track_of(cell, setting), setting).lines()
    return ["".join(line.signs[left:]) for line in lines], axis


def column(axis: TimeAxis, at: float) -> int:
    """Of a moment."""
    return int(axis.place(at) // 1)


def at_column(lines: list[str], x: int) -> str:
    """What stands above each other there."""
    return "".join(line[x] for line in lines)


def test_each_mark_has_a_sign_of_its_own() -> None:
    for signs in (FULL, ASCII):
        marks = (
            signs.change, signs.check, signs.unsettled, signs.urgent, signs.warned,
            signs.visit, signs.hand, signs.event, signs.now, signs.before, signs.beyond,
        )  # fmt: skip
        assert len(set(marks)) == len(marks)
        assert all(len(sign) == 1 for sign in marks)
    assert all(sign.isascii() for sign in ASCII)


@pytest.mark.parametrize("plain", (False, True), ids=("signs", "ascii"))
@pytest.mark.parametrize(("form", "rows"), FORMS)
def test_marks_stand_at_their_moments(form: str, rows: int, plain: bool) -> None:
    bench = made_benches.marked()
    signs = ASCII if plain else FULL
    first, second, third, fourth = bench.cells
    lines, axis = drawn(first, bench, form, rows, ascii=plain)
    assert signs.urgent in at_column(lines, column(axis, AT - 26 * H))
    assert signs.warned in at_column(lines, column(axis, AT - 12 * H))
    assert signs.change in at_column(lines, column(axis, first.lane[1].start))
    last = -9
    for check in first.checks:
        if (x := column(axis, check.at)) >= last + 3:  # nearer ones would hide the curve
            alarms = {signs.urgent, signs.warned}
            assert {signs.check, signs.unsettled, *alarms} & set(at_column(lines, x)), check
            last = x
    (visit,) = (v for v in bench.visits if first.hands[0] in v.hands)
    assert signs.visit in at_column(lines, column(axis, visit.at))
    lines, _ = drawn(second, bench, form, rows, axis, ascii=plain)
    assert signs.warned in at_column(lines, column(axis, AT - 4 * H))
    assert signs.urgent in at_column(lines, column(axis, AT - 3 * H))  # it shares that one
    lines, _ = drawn(third, bench, form, rows, axis, ascii=plain)
    assert signs.urgent in at_column(lines, column(axis, AT - 5.5 * H))
    lines, _ = drawn(fourth, bench, form, rows, axis, ascii=plain)
    assert signs.urgent in at_column(lines, column(axis, AT - 3 * H))


def test_what_is_a_note_or_follows_from_another_alarm_is_not_marked() -> None:
    bench = made_benches.marked()
    lines, axis = drawn(bench.cells[0], bench, "wide", 6)
    for since_h in (18.0, 20.0):
        assert not {FULL.urgent, FULL.warned} & set(
            at_column(lines, column(axis, AT - since_h * H))
        )


def test_a_check_that_has_not_settled_differs_without_colour() -> None:
    bench = made_benches.marked()
    axis = TimeAxis.around(AT, 8 * H, 110)
    cell = bench.cells[0]
    lines, _ = drawn(cell, bench, "wide", 6, axis)
    assert FULL.unsettled in at_column(lines, column(axis, cell.checks[-1].at))
    assert FULL.check in at_column(lines, column(axis, cell.checks[-2].at))


@pytest.mark.parametrize(("form", "rows"), FORMS)
def test_a_check_stands_where_the_curve_has_its_value(form: str, rows: int) -> None:
    bench = made_benches.marked()
    bare = replace(bench.cells[0], checks=(), spells=())
    only_checks = replace(bench.cells[0], spells=())
    without, axis = drawn(bare, bench, form, rows)
    with_checks, _ = drawn(only_checks, bench, form, rows, axis)
    for y, (before, after) in enumerate(zip(without, with_checks, strict=True)):
        for x, (old, new) in enumerate(zip(before, after, strict=True)):
            if new != old:
                assert new in (FULL.check, FULL.unsettled)
                assert "\u2800" <= old <= "\u28ff", (x, y)  # dots of the curve


@pytest.mark.parametrize(("form", "rows"), FORMS)
def test_many_checks_leave_the_curve_readable(form: str, rows: int) -> None:
    bench = made_benches.marked()
    cell = bench.cells[0]
    start = cell.lane[-1].start
    checks = tuple(replace(cell.checks[0], at=start + k * 600.0, B=0.9) for k in range(180))
    points = tuple((check.at, check.B) for check in checks)
    many = replace(cell, checks=checks, spells=(), lane=(replace(cell.lane[-1], points=points),))
    lines, _ = drawn(many, bench, form, rows)
    told = next(line for line in lines if "B" in line.replace(" B ", ""))
    runs = told.split("B")[1:-1]
    assert len(runs) > 3
    assert all(len(run) >= 2 for run in runs[:-2])


@pytest.mark.parametrize(("form", "rows"), FORMS)
def test_no_mark_hides_now_the_event_or_a_word(form: str, rows: int) -> None:
    """Alarms and visits at every moment: words, now, event and band stand as without them."""
    bench = made_benches.marked()
    for cell in bench.cells:
        bare, axis = drawn(
            replace(cell, spells=(), checks=()), replace(bench, visits=()), form, rows
        )
        one = bench.spells[0]
        spells = tuple(
            replace(one, since=axis.first + k * axis.column_s, cleared_at=None)
            for k in range(axis.now_column)
        )
        visit = bench.visits[0]
        hand = replace(visit.hands[0], cell=cell.cell)
        visits = tuple(
            replace(
                visit, at=AT + k * axis.column_s, until=AT + k * axis.column_s + H, hands=(hand,)
            )
            for k in range(axis.width - axis.now_column)
        )
        full, _ = drawn(
            replace(cell, spells=spells), replace(bench, visits=visits), form, rows, axis
        )
        marks = {FULL.urgent, FULL.visit, FULL.lasting, FULL.check, FULL.unsettled, FULL.change}
        may_give_way = {FULL.rule, FULL.path, FULL.hand, FULL.change, FULL.target, " "}
        for y, (before, after) in enumerate(zip(bare, full, strict=True)):
            for x, (old, new) in enumerate(zip(before, after, strict=True)):
                if old == new:
                    continue
                if new in marks:
                    assert old in may_give_way or "\u2800" <= old <= "\u28ff" or (
                        # the scale of a low lane is written only where there is room for it
                        rows < 3 and x < axis.now_column
                    ), (cell.cell, x, y, old, new)  # fmt: skip
                else:
                    assert rows < 3 and x < axis.now_column, (cell.cell, x, y, old, new)


def test_a_visit_that_is_due_stands_beside_now_and_one_behind_it_not_at_all() -> None:
    bench = made_benches.marked()
    cell = bench.cells[1]
    visit = replace(bench.visits[0], at=AT - 7.0, until=AT + H, hands=(cell.hands[0],))
    lines, axis = drawn(cell, replace(bench, visits=(visit,)), "wide", 6)
    assert lines[0][axis.now_column] == FULL.now
    assert lines[0][axis.now_column + 1] == FULL.visit
    held = TimeAxis.around(AT, 8 * H, 110, held=AT + 12 * H)  # now is out of sight to the left
    lines, _ = drawn(cell, replace(bench, visits=(visit,)), "wide", 6, held)
    assert FULL.visit not in "".join(lines)


def test_an_alarm_that_began_out_of_sight_still_shows_how_long_it_stands() -> None:
    bench = made_benches.marked()
    spell = replace(bench.spells[0], since=AT - 90 * H, cleared_at=None, cells=("C4",))
    lines, axis = drawn(bench.cells[3], replace(bench, spells=(spell,)), "wide", 6)
    assert lines[0][0] == FULL.lasting
    assert lines[0][axis.now_column - 1] == FULL.lasting
    assert FULL.lasting not in lines[0][axis.now_column :]
