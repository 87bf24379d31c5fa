"""What the demo lays out before and while the dashboard shows it."""

from pathlib import Path

import pytest

from tui.bench.clock import HandClock
from tui.bench.look import look
from tui.commands import demo
from tui.rehearsed.growing import Growth


def test_every_cell_has_history_when_the_show_begins_and_all_of_it_at_the_end(
    tmp_path: Path,
) -> None:
    source = demo.finished_bench(tmp_path / "unused")
    assert source == demo.SAMPLES
    assert not (tmp_path / "unused").exists()
    growth = Growth(source, tmp_path / "bench")
    demo.go_by_the_clock(growth.target)
    start = demo.begin_of_show(source, growth)
    assert growth.first_time < start < growth.last_time
    growth.advance_to(start)

    bench = look(growth.target, clock=HandClock(start))
    assert bench.follows_clock
    assert len(bench.cells) == 6
    for cell in bench.cells:
        assert cell.told, cell.problems
        assert cell.rows_used >= 2
        assert cell.live is not None
        assert cell.live.at <= start

    clock = HandClock(start)
    with demo.growing(growth, clock) as loggers:
        clock.set(growth.last_time)
        loggers.join(20.0)
        assert not loggers.is_alive()
    for log in source.glob("C*/*"):
        if log.suffix != ".toml":
            assert (growth.target / log.parent.name / log.name).read_bytes() == log.read_bytes()


def test_without_the_checkout_the_bench_comes_from_the_model(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(demo, "SAMPLES", tmp_path / "no such folder")
    made = demo.finished_bench(tmp_path / "made")
    assert made == tmp_path / "made"
    assert len(list(made.glob("C*/cell.toml"))) == 6
    assert Growth(made, tmp_path / "bench").next_time() is not None


def test_the_show_stops_with_the_block_although_rows_are_left(tmp_path: Path) -> None:
    growth = Growth(demo.SAMPLES, tmp_path / "bench")
    with demo.growing(growth, HandClock(growth.first_time)) as loggers:
        assert loggers.is_alive()
    assert not loggers.is_alive()
    assert growth.next_time() is not None
