"""Clocks that jump, and a pressure that falls quickly. Limits: contract section 7."""

from datetime import UTC
from pathlib import Path

import numpy as np
import pytest
from scripted import as_rows
from told_alarms import Script, followed, of, settings

from tui.bench.alarms.shared import shared_spells
from tui.bench.alarms.watched import watched_over
from tui.bench.cell_fold import CellFold
from tui.bench.readings import Reading
from tui.feed.rows import Arrivals, Rows
from tui.settings.alarm_limits import Limits
from tui.settings.bench_toml import Supply
from tui.settings.places import read_layout

STEADY = settings(log={"rows": "steady"})


def steady(count: int = 80, every_s: float = 60.0) -> list[Reading]:
    """Steady rows of a set-up under pressure."""
    script = Script(cell=20.0, back=10.0, pore=12.0)
    for _ in range(count):
        script.row(every_s)
    return script.rows


@pytest.mark.parametrize(("ahead_s", "raised"), [(50.0, False), (150.0, True), (9000.0, True)])
def test_times_that_go_ahead(ahead_s: float, raised: bool) -> None:
    rows = steady()
    rows[50:] = [row._replace(time=row.time + ahead_s) for row in rows[50:]]
    told = of(followed(rows, None, STEADY), "clock-jump")
    assert [(one.priority, one.raised_at) for one in told] == [("note", rows[50].time)] * raised


def test_a_row_that_is_missing_in_a_schedule_is_no_jump() -> None:
    rows = steady()
    del rows[50:55]
    assert of(followed(rows, None, settings(log={"rows": "scheduled"})), "clock-jump") == []


def test_a_clock_that_was_set_back_is_heard_of_from_the_feed() -> None:
    rows = as_rows(steady())
    stamps = rows.times.copy()
    stamps[:50] += 1500.0  # as the feed counts rows before the clock was set
    fold = CellFold("C1", "C1", STEADY, (), UTC)
    told_rows = Rows(rows.times, rows.channels, rows.words, stamps)
    cell = fold.take(Arrivals("C1", told_rows)).picture(float(rows.times[-1]), ())
    (told,) = of(cell, "clock-jump")
    assert told.since == rows.times[50]
    assert "back by 20 min" in told.message
    assert np.isclose(stamps[49] - rows.times[49], 1500.0)


def falling(fall: float, within_s: float, every_s: float, after_s: float = 0.0) -> list[Reading]:
    """A fall that begins so long after a reading."""
    rows = steady(40, every_s)
    begun = rows[20].time + after_s
    return [
        row._replace(
            cell_pressure=row.cell_pressure
            - fall * min(max(row.time - begun, 0.0) / max(within_s, 1e-9), 1.0)
        )
        for row in rows
    ]


@pytest.mark.parametrize(
    ("fall", "within_s", "every_s", "after_s", "raised"),
    [
        (5.0, 50.0, 10.0, 0.0, True),
        (5.0, 50.0, 900.0, 0.0, True),  # between two rows, where rows are rarer
        (2.4, 110.0, 60.0, 35.0, True),  # the window begins and ends in the midst of it
        (2.6, 110.0, 180.0, 130.0, True),  # a rare row in its midst: 1.2 and 1.4 kPa
        (2.6, 110.0, 3600.0, 3550.0, True),
        (1.5, 50.0, 10.0, 0.0, False),
        (1.8, 110.0, 180.0, 130.0, False),
        (5.0, 600.0, 10.0, 0.0, False),  # 1 kPa in two minutes
        (8.0, 900.0, 180.0, 90.0, False),  # 1.6 kPa from row to row
    ],
)
def test_two_cells_of_a_supply_fall(
    fall: float, within_s: float, every_s: float, after_s: float, raised: bool
) -> None:
    cells = {}
    for name in ("C1", "C2"):
        fold = CellFold(name, name, STEADY, (), UTC)
        rows = falling(fall, within_s, every_s, after_s)
        fold = fold.take(Arrivals(name, as_rows(rows)))
        cells[name] = of_parts(fold)
    supply = Supply.model_validate({"name": "main", "feeds": ["C1", "C2"]})
    shared, _ = shared_spells(cells, [(supply, ("C1", "C2"))], Limits())
    assert [one.kind for one in shared] == ["supply-lost"] * raised
    alone, left = shared_spells({"C1": cells["C1"]}, [(supply, ("C1",))], Limits())
    assert (alone, [one.kind for one in left["C1"]]) == ((), [])


def of_parts(fold: CellFold):  # type: ignore[no-untyped-def]
    """The parts of a lost supply that a cell shows."""
    cell = fold.picture(fold.newest_time or 0.0, ())
    return tuple(of(cell, "supply-lost"))


def test_it_clears_when_pressure_is_back_within_a_kilopascal() -> None:
    rows = falling(5.0, 50.0, 10.0)
    back = [
        rows[-1]._replace(time=rows[-1].time + 10.0 * k, cell_pressure=15.0 + min(k, 5))
        for k in range(1, 9)
    ]
    (told,) = of(followed([*rows, *back], None, STEADY), "supply-lost")
    assert told.cleared_at == back[3].time  # 19 kPa, of 20


@pytest.mark.parametrize(
    ("cells", "supply", "unjudged"),
    [
        (("C1",), "", []),
        (("C1", "C2"), "", ["C1", "C2"]),
        (("C1", "C2"), '[[supply]]\nname = "main"\nfeeds = ["C1", "C2"]\n', []),
        (("C1", "C2"), '[[supply]]\nname = "own"\nfeeds = ["C1"]\n', ["C2"]),
    ],
)
def test_a_cell_that_shares_nothing_leaves_nothing_unjudged(
    tmp_path: Path, cells: tuple[str, ...], supply: str, unjudged: list[str]
) -> None:
    (tmp_path / "bench.toml").write_text(f'[bench]\nname = "b"\n{supply}')
    for name in cells:
        folder = tmp_path / name
        folder.mkdir()
        (folder / "cell.toml").write_text(f'[cell]\nname = "{name}"\n')
    rows = steady()
    pictures = []
    for name in cells:
        fold = CellFold(name, name, STEADY, (), UTC).take(Arrivals(name, as_rows(rows)))
        pictures.append(fold.picture(rows[-1].time, ()))
    found = watched_over(tuple(pictures), read_layout(tmp_path), (), rows[-1].time, None)
    told = [one.folder for one in found.cells if any(b.kind == "supply-lost" for b in one.blind)]
    assert told == unjudged
