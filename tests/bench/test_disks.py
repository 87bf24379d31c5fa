"""Room on the disks: contract section 7, < 1 GiB or < 2 % free for bench or state."""

from pathlib import Path

import pytest
from made_bench import layout

from tui.bench.advance import advance, empty_bench
from tui.bench.disks import Disk, DiskWatch, measured

GIB = 2**30


@pytest.mark.parametrize(
    ("free", "total", "low"),
    [
        (GIB - 1, 20 * GIB, True),
        (GIB + 1, 20 * GIB, False),
        (3 * GIB, 200 * GIB, True),
        (5 * GIB, 200 * GIB, False),
    ],
)
def test_a_disk_that_is_nearly_full(free: int, total: int, low: bool) -> None:
    bench = advance(empty_bench(layout(), 100.0), now=200.0, disks=(Disk("state", free, total),))
    told = [(one.kind, one.about, one.priority, one.since) for one in bench.alarms]
    assert told == [("disk-low", "state", "warning", 200.0)] * low


def test_it_lasts_until_there_is_room() -> None:
    bench = advance(empty_bench(layout(), 100.0), now=200.0, disks=(Disk("bench", 5, 100),))
    bench = advance(bench, now=300.0)
    assert [one.since for one in bench.alarms] == [200.0]
    bench = advance(bench, now=400.0, disks=(Disk("bench", 50 * GIB, 100 * GIB),))
    assert [(one.kind, one.cleared_at) for one in bench.spells] == [("disk-low", 400.0)]


def test_both_folders_are_measured_in_a_thread(tmp_path: Path) -> None:
    found = measured(tmp_path)
    assert [one.about for one in found] == ["bench", "state"]
    assert all(0 < one.free <= one.total for one in found)
    watch = DiskWatch(tmp_path)
    assert watch.news(0.0) is None
    assert watch._thread is not None
    watch._thread.join()
    news = watch.news(1.0)
    assert news is not None
    assert [one.total for one in news] == [one.total for one in found]
    assert watch.news(2.0) is None
