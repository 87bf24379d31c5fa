"""Faults laid into drawn tests are told in time, and clean ones raise hardly anything.

The short form, whose bounds tell of breakage alone; the long one is `tests/benchmarks/alarms.py`.
"""

from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from alarm_cases import Found
from alarm_clean import clean_days
from alarm_grades import KINDS, followed
from click.testing import CliRunner

from tui.bench.look import look
from tui.bench.picture import Bench
from tui.commands.rehearse import command as rehearse
from tui.rehearsed.faults import FAULTS

SEEDS = (9, 14)
"""Scheduled rows and steady ones; short tests."""
TOLD = (
    "over-pressure", "effective-stress-low", "membrane-burst", "saturation-stalled",
    "pressure-drift", "volume-gauge-end", "temperature-swing",
)  # fmt: skip
"""Kinds of which a handful of cases is told in time."""
OFTEN = 0.6
"""Of a handful of cases: less is no bad luck."""
SELDOM = 0.34
CLEAN = (2, 5, 7)
FALSE = 3
"""Of three clean tests, five days, whose seeds were chosen for being short."""


@cache
def found() -> tuple[Found, ...]:
    return tuple(one for seed in SEEDS for one in followed(seed, TOLD, times=2))


@pytest.mark.parametrize("kind", TOLD)
def test_faults_are_told_within_their_delay_and_one_reading(kind: str) -> None:
    faults = [one for one in found() if one.kind == kind and one.is_fault]
    missed = [one for one in faults if not one.raised]
    assert len(faults) >= 2
    assert len(missed) <= (1.0 - OFTEN) * len(faults), missed


@pytest.mark.parametrize("kind", TOLD)
def test_what_only_looks_like_a_fault_is_not_told(kind: str) -> None:
    near = [one for one in found() if one.kind == kind and not one.is_fault]
    raised = [one for one in near if one.raised]
    assert len(raised) <= SELDOM * len(near), raised


def test_clean_benches_raise_hardly_anything() -> None:
    every = [days for seed in CLEAN if (days := clean_days(seed)) is not None]
    false = [one for days in every for one in days.found if not one.explained]
    assert len(every) == len(CLEAN)
    assert len(false) <= FALSE, false


def test_every_kind_that_a_log_can_show_is_graded() -> None:
    assert set(FAULTS) <= set(KINDS)


BENCHES = (
    ("over-pressure", "effective-stress-low", "volume-gauge-end"),
    ("membrane-burst", "effective-stress-high", "leak-membrane"),
    ("pressure-drift", "saturation-stalled", "leak-cell"),
    ("pressure-unsteady", "leak-drainage", "zero-offset"),
    ("shear-stopped", "drainage-state", "sensor-fault:C1"),
    ("travel-limit", "consolidation-overdue", "log-silent:C1"),
    ("rate-too-fast", "temperature-swing:C3", "clock-jump:C2"),
    ("load-not-taken", "schedule-ends-early:C3", "reading-missed:C1"),
    ("supply-lost",),
)
"""Faults that are rehearsed together, each on a cell of its own."""
REHEARSED = {fault.partition(":")[0]: bench for bench in BENCHES for fault in bench}


@cache
def rehearsed(faults: tuple[str, ...]) -> Bench:
    """The finished bench with these faults."""
    asked = [word for fault in faults for word in ("--fault", fault)]
    with TemporaryDirectory() as folder:
        result = CliRunner().invoke(rehearse, ["--out", f"{folder}/bench", *asked])
        assert result.exit_code == 0, result.output
        return look(Path(folder) / "bench")


@pytest.mark.parametrize("kind", FAULTS)
def test_a_rehearsed_fault_raises_its_kind(kind: str) -> None:
    bench = rehearsed(REHEARSED[kind])
    raised = {spell.kind for cell in bench.cells for spell in cell.spells}
    raised |= {spell.kind for spell in bench.spells}
    assert kind in raised, sorted(raised)
