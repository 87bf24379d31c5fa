"""A finished bench played into another folder: byte for byte, in time, by appends alone."""

from pathlib import Path

import pytest

from tui.rehearsed.bench_folder import write_bench
from tui.rehearsed.compose import Order, compose
from tui.rehearsed.faults import read_fault
from tui.rehearsed.growing import Growth

SAMPLES = Path(__file__).parents[2] / "sample_logs"


def _contents(bench: Path) -> dict[str, bytes]:
    return {
        str(path.relative_to(bench)): path.read_bytes()
        for path in sorted(bench.rglob("*.*"))
        if path.suffix in (".csv", ".txt", ".toml")
    }


@pytest.mark.parametrize("steps", [1, 7, 200])
def test_the_end_is_the_source_whatever_the_steps(tmp_path: Path, steps: int) -> None:
    growth = Growth(SAMPLES, tmp_path / "live")
    for k in range(1, steps + 1):
        growth.advance_to(growth.first_time + (growth.last_time - growth.first_time) * k / steps)
    assert _contents(tmp_path / "live") == _contents(SAMPLES)
    assert growth.next_time() is None


def test_settings_are_there_at_once_and_logs_when_their_first_row_falls(tmp_path: Path) -> None:
    growth = Growth(SAMPLES, tmp_path / "live")
    assert {path.suffix for path in (tmp_path / "live").rglob("*.*")} == {".toml"}
    assert growth.advance_to(growth.first_time - 1.0) == 0
    assert growth.advance_to(growth.first_time) == 1
    logs = list((tmp_path / "live").rglob("*.csv"))
    assert len(logs) == 1
    assert logs[0].parent.name == "C4"
    assert logs[0].read_bytes().count(b"\n") == 2, "the header and one row"


def test_files_only_grow_and_whole_rows_at_a_time(tmp_path: Path) -> None:
    growth = Growth(SAMPLES, tmp_path / "live")
    source, before = _contents(SAMPLES), _contents(tmp_path / "live")
    rows = 0
    moment = growth.first_time
    while moment < growth.last_time + 1.0:
        rows += growth.advance_to(moment)
        now = _contents(tmp_path / "live")
        for name, content in now.items():
            assert content.startswith(before.get(name, b""))
            assert source[name].startswith(content)
            assert content.endswith(b"\n")
        before = now
        moment += 3600.0
    growth.advance_to(growth.last_time)
    assert rows > 1000


def test_no_row_comes_before_its_time(tmp_path: Path) -> None:
    growth = Growth(SAMPLES, tmp_path / "live")
    noon = growth.last_time - 3.0 * 3600.0
    growth.advance_to(noon)
    stamps = [
        line.split(",")[0]
        for line in (tmp_path / "live/C1/2031-02-05.csv").read_text("utf-8").splitlines()[1:]
    ]
    assert stamps
    assert stamps[-1] <= "2031-02-05T09:00"
    following = growth.next_time()
    assert following is not None
    assert following > noon


def test_going_back_writes_nothing(tmp_path: Path) -> None:
    growth = Growth(SAMPLES, tmp_path / "live")
    growth.advance_to(growth.last_time)
    whole = _contents(tmp_path / "live")
    assert growth.advance_to(growth.first_time) == 0
    assert _contents(tmp_path / "live") == whole


@pytest.mark.parametrize("kind", ["clock-jump:C4", "clock-jump:C6", "sensor-fault:C2"])
def test_lines_keep_their_order_with_a_clock_that_jumps(tmp_path: Path, kind: str) -> None:
    write_bench(compose(Order(faults=(read_fault(kind),))), tmp_path / "bench", None)
    growth = Growth(tmp_path / "bench", tmp_path / "live")
    for k in range(101):
        growth.advance_to(growth.first_time + (growth.last_time - growth.first_time) * k / 100)
    assert _contents(tmp_path / "live") == _contents(tmp_path / "bench")
