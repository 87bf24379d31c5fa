"""Phases and steps: from the readings alone, by the log's own column, by marks."""

import itertools

import pytest
from scripted import Script, whole_test

from tui.bench.aims import Aims
from tui.bench.phases import Mark, Phases, phase_of

AIMS = Aims(
    test="CU",
    effective_stress_kPa=150.0,
    cell_step_kPa=50.0,
    excess_kPa=10.0,
    strain_limit=0.15,
    height_mm=100.0,
    volume_ml=196.35,
)


def folded(script: Script, marks: tuple[Mark, ...] = (), aims: Aims = AIMS) -> Phases:
    phases = Phases(aims, marks)
    for reading in script.rows:
        phases.add(reading)
    return phases


def test_every_boundary_of_a_whole_test_is_found_where_it_was() -> None:
    script = whole_test()
    found = [(span.name, span.step or "", span.start) for span in folded(script).spans]
    assert [(name, step) for name, step, _ in found] == [
        (name, step) for name, step, _ in script.begins
    ]
    times = [row.time for row in script.rows]
    for (name, step, start), (_, _, truth) in zip(found, script.begins, strict=True):
        off = abs(times.index(start) - min(range(len(times)), key=lambda i: abs(times[i] - truth)))
        assert off <= 2 or abs(start - truth) <= 120.0, (name, step, start - truth)


def test_spans_follow_each_other_without_gaps() -> None:
    spans = folded(whole_test()).spans
    for earlier, later in itertools.pairwise(spans):
        assert earlier.end == later.start
        assert earlier.start < later.start
    assert spans[-1].end is None


def test_consolidation_counts_from_the_last_reading_before_drainage_opens() -> None:
    script = whole_test()
    opened = next(t for name, step, t in script.begins if step == "drained")
    zero = folded(script).told.zero_consolidation
    assert zero is not None
    assert zero.time == max(row.time for row in script.rows if row.time < opened)


def test_strain_counts_from_the_end_of_the_dock() -> None:
    script = whole_test()
    taken = next(t for _, step, t in script.begins if step == "shear")
    zero = folded(script).told.zero_strain
    assert zero is not None
    assert zero.time == max(row.time for row in script.rows if row.time < taken)


def test_seating_under_cell_pressure_alone_is_set_up() -> None:
    script = Script()
    script.set_up()
    phase = folded(script).phase
    assert phase is not None
    assert (phase.name, phase.step, phase.source) == ("setup", "hold", "inferred")


def test_pressures_that_fall_before_shear_do_not_end_a_test() -> None:
    script = Script()
    script.set_up()
    script.raise_back(10.0)
    script.cell = script.back = script.pore = 2.0
    for _ in range(10):
        script.row(60)
    phase = folded(script).phase
    assert phase is not None
    assert phase.name == "saturation"


def test_a_large_check_that_back_pressure_follows_was_no_build_up() -> None:
    script = Script()
    script.set_up()
    script.raise_back(10.0)
    script.check(0.6, 120.0)
    assert folded(script).phase.name == "consolidation"  # type: ignore[union-attr]
    script.raise_back(130.0)
    names = [(span.name, span.step) for span in folded(script).spans]
    assert names[-3:] == [
        ("saturation", "b-check"),
        ("saturation", "raise"),
        ("saturation", "hold"),
    ]
    assert all(name != "consolidation" for name, _ in names)


def test_a_mark_comes_before_the_readings_and_moves_on_with_them() -> None:
    script = whole_test()
    hold = next(t for name, step, t in script.begins if step == "hold" and name == "saturation")
    phases = folded(script, (Mark(hold, "setup", "flush"),))
    span = next(span for span in phases.spans if span.start == hold)
    assert (span.name, span.step, span.source) == ("setup", "flush", "marks")
    later = [span.name for span in phases.spans if span.start > hold]
    assert later[-1] == "ended"


def test_a_mark_that_the_readings_contradict_says_so() -> None:
    script = Script()
    script.set_up()
    script.raise_back(10.0)
    phases = folded(script, (Mark(script.rows[-12].time, "consolidation", "drained"),))
    assert phases.phase is not None
    assert phases.phase.source == "marks"
    assert phases.phase.contradiction == "the readings say saturation"


def test_the_logs_own_column_comes_before_the_readings() -> None:
    script = Script(phase_word="setup")
    script.set_up()
    script.phase_word = "saturation"
    script.raise_back(10.0)
    script.check(0.7)
    phases = folded(script)
    assert phases.phase is not None
    assert (phases.phase.name, phases.phase.step) == ("saturation", "b-check")
    assert phases.phase.source == "log"
    assert phases.phase.contradiction is None


def test_a_log_column_that_stays_behind_is_contradicted() -> None:
    script = Script(phase_word="saturation")
    script.set_up()
    script.raise_back(10.0)
    script.check(0.97, 140.0)
    script.drain()
    phase = folded(script).phase
    assert phase is not None
    assert phase.name == "saturation"
    assert phase.contradiction == "the readings say consolidation"


def test_a_word_that_names_no_phase_is_kept_for_the_problem_list() -> None:
    script = Script(phase_word="lunch")
    script.set_up()
    phases = folded(script)
    assert phases.unknown_words == ("lunch",)
    assert phases.phase is not None
    assert phases.phase.source == "inferred"


@pytest.mark.parametrize(
    ("word", "found"),
    [
        ("saturation", ("saturation", None)),
        (" Saturation / b-check ", ("saturation", "b-check")),
        ("consolidation/drained", ("consolidation", "drained")),
        ("shear/lunch", ("shear", None)),
        ("", None),
    ],
)
def test_words_of_a_phase_column(word: str, found: tuple[str, str | None] | None) -> None:
    assert phase_of(word) == found


def test_a_regulator_trimmed_while_draining_is_no_new_stage() -> None:
    script = Script()
    script.set_up()
    script.raise_back(10.0)
    script.check(0.97, 140.0)
    script.drain()
    drained = folded(script).told.zero_consolidation
    script.cell += 4.0
    for _ in range(5):
        script.row(300)
    phases = folded(script)
    assert (phases.told.now.name, phases.told.now.step) == ("consolidation", "drained")
    assert phases.told.zero_consolidation == drained


def test_the_logs_own_step_is_not_overruled_by_the_readings() -> None:
    script = Script(phase_word="saturation/raise")
    script.set_up()
    script.raise_back(10.0)
    script.phase_word = "saturation/b-check"
    script.check(0.7)
    script.back += 4.0
    for _ in range(6):
        script.row(300)
    spans = [(span.name, span.step, span.source) for span in folded(script).spans]
    assert spans == [("saturation", "raise", "log"), ("saturation", "b-check", "log")]


def test_a_ram_brought_into_contact_while_draining_is_no_shear() -> None:
    script = Script()
    script.set_up()
    script.raise_back(10.0)
    script.check(0.97, 140.0)
    script.drain()
    script.travel += 0.6
    script.load += 2.0
    for _ in range(12):
        script.volume -= 0.02
        script.travel += 0.002
        script.row(300)
    phase = folded(script).phase
    assert phase is not None
    assert (phase.name, phase.step) == ("consolidation", "drained")
    script.shear()
    assert [s.step for s in folded(script).spans if s.name == "shear"] == ["dock", "shear"]


def test_what_happened_before_a_mark_does_not_set_it_aside() -> None:
    """Flow is understood some rows late; whoever marked in between saw the valve."""
    script = Script()
    script.set_up()
    script.raise_back(10.0)
    script.check(0.97, 140.0, build_up=True)
    script.row(10)
    for k in range(1, 13):
        script.volume -= 0.02
        script.row(15)
        if k == 3:
            marked = script.now
    phases = folded(script, (Mark(marked, "saturation", "hold"),))
    assert [(s.name, s.step, s.start, s.source) for s in phases.spans[-1:]] == [
        ("saturation", "hold", marked, "marks")
    ]
    for _ in range(50):
        script.row(15)
    phase = folded(script, (Mark(marked, "saturation", "hold"),)).phase
    assert phase is not None
    assert phase.contradiction == "the readings say consolidation"


def test_a_mark_in_the_past_is_as_if_it_had_been_made_then() -> None:
    script = whole_test()
    at = next(t for name, _, t in script.begins if name == "consolidation")
    mark = Mark(at, "saturation", "b-check")
    early = folded(script, (mark,))
    late = Phases(AIMS).with_marks((mark,), script.rows[0].time - 1.0)
    for reading in script.rows:
        late.add(reading)
    assert late.spans == early.spans
    assert ("saturation", "b-check", at, "marks") in [
        (s.name, s.step, s.start, s.source) for s in early.spans
    ]


def test_a_mark_to_come_changes_nothing_before_its_time() -> None:
    script = whole_test()
    mark = Mark(script.now + 1000.0, "ended")
    marked, plain = folded(script, (mark,)), folded(script)
    assert marked.spans == plain.spans
    assert marked.phase == plain.phase
    assert marked.marked_since(script.now) is None
    assert marked.marked_since(script.now + 1000.0) == mark


def test_contact_that_was_marked_as_dock_stays_a_dock() -> None:
    script = Script()
    script.set_up()
    script.raise_back(10.0)
    script.check(0.97, 140.0)
    script.drain()
    script.row(60)
    marked = script.now
    for _ in range(20):
        script.row(300)
    phases = folded(script, (Mark(marked, "shear", "dock"),))
    assert phases.phase is not None
    assert (phases.phase.name, phases.phase.step) == ("shear", "dock")
    assert phases.phase.contradiction == "the readings say consolidation"
