"""One look at a bench: everything read at once, the picture of one moment."""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from pathlib import Path

from tui.bench.advance import advance, empty_bench, fold_of
from tui.bench.cell_fold import CellFold
from tui.bench.clock import Clock, WallClock
from tui.bench.disks import measured
from tui.bench.picture import Bench
from tui.bench.readings import picked
from tui.feed.rows import Arrivals
from tui.feed.watch import read_all
from tui.journal.location import checkpoint_folders
from tui.journal.store import Journal
from tui.settings.places import Layout, read_layout


def look(root: Path, *, at: float | None = None, clock: Clock | None = None) -> Bench:
    """The bench as it stands, or as of a moment.

    Args:
        root: the bench's folder.
        at: rows whose own time is later are ignored, acts count by the time they hold.
        clock: tells now; the wall clock by default.
    """
    layout = read_layout(root)
    if at is not None or not any(folder.is_dir() for folder in checkpoint_folders(root)):
        return look_at(layout, read_all(layout), at=at, clock=clock)
    from tui.bench.checkpoints import load_checkpoints  # noqa: PLC0415 (where there are any)

    kept = load_checkpoints(layout)
    arrivals = read_all(layout, {folder: one.source for folder, one in kept.items()})
    folds = {folder: one.fold for folder, one in kept.items()}
    seen = look_at(layout, arrivals, clock=clock, folds=folds)
    told = (fold_of(seen, place.folder) for place in layout.places)
    if any(fold is not None and not fold.is_whole for fold in told):
        # What was kept does not reach back far enough for what has come since.
        return look_at(layout, read_all(layout), clock=clock)
    return seen


def look_at(
    layout: Layout,
    arrivals: Iterable[Arrivals],
    *,
    at: float | None = None,
    clock: Clock | None = None,
    folds: Mapping[str, CellFold] | None = None,
) -> Bench:
    """The same from a bench that was read already, onto folds that go on from a checkpoint."""
    now = (clock or WallClock()).now() if at is None else at
    if at is not None:
        arrivals = (until(arrived, at) for arrived in arrivals)
    finished = at is None and layout.bench.now == "last row"
    if finished:
        arrivals = tuple(arrivals)
        known = [fold.newest_time for fold in (folds or {}).values()]
        times = [time for time in (newest_of(arrivals), *known) if time is not None]
        now = max(times, default=now)
    journal = Journal.open(layout.root)
    acts = journal.acts(until=now)
    bench = advance(
        empty_bench(layout, now, folds),
        now=now,
        arrivals=arrivals,
        acts=acts,
        problems=journal.problems,
        disks=() if finished or at is not None else measured(layout.root),
    )
    return replace(bench, follows_clock=not finished and at is None)


def newest_of(arrivals: Iterable[Arrivals]) -> float | None:
    """Time of the newest row among them. [s]"""
    times = [
        float(arrived.rows.times.max())
        for arrived in arrivals
        if arrived.rows is not None and len(arrived.rows)
    ]
    return max(times, default=None)


def until(arrived: Arrivals, moment: float) -> Arrivals:
    """What had arrived by a moment, by the rows' own time."""
    rows = arrived.rows
    live = arrived.live if arrived.live is None or arrived.live.time <= moment else None
    if rows is not None and len(rows) and bool((rows.times > moment).any()):
        rows = picked(rows, rows.times <= moment)
    unused = tuple(one for one in arrived.unused if one.time is None or one.time <= moment)
    return replace(arrived, rows=rows, live=live, unused=unused)
